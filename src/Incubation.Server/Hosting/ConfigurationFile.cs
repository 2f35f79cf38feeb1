using System.Text.Json;
using Incubation.Service.Settings;
using Microsoft.Extensions.Configuration.EnvironmentVariables;
using Microsoft.Extensions.Configuration.Json;

namespace Incubation.Server.Hosting;

/// <summary>
/// The settings' file: JSON, named by <c>--config</c> or the variable <c>INCUBATION_CONFIG</c>. What stands in it gives
/// way to environment variables, and those to the command line.
/// </summary>
internal static class ConfigurationFile
{
    /// <summary>The environment variable that names the file.</summary>
    public const string Variable = "INCUBATION_CONFIG";

    /// <summary>Members that may stand at the top of the file.</summary>
    private static readonly string[] Top = [ServerSettings.Section, "Kestrel", "Urls", "AllowedHosts", "Logging",
        "$schema"];

    /// <summary>
    /// Puts the file, where one is named, below the environment's variables; every fault is a sentence.
    /// </summary>
    public static void Add(IConfigurationBuilder configuration, string? path, ICollection<string> faults)
    {
        if (string.IsNullOrWhiteSpace(path))
            return;
        var before = faults.Count;
        var full = Path.GetFullPath(path);
        Check(full, faults);
        if (faults.Count > before)
            return;
        var source = new JsonConfigurationSource { Path = full, Optional = false, ReloadOnChange = false };
        source.ResolveFileProvider();
        if (!CanBeLoaded(source, full, faults))
            return;
        var at = configuration.Sources.ToList().FindLastIndex(one => one is EnvironmentVariablesConfigurationSource);
        configuration.Sources.Insert(Math.Max(0, at), source);
    }

    /// <summary>What is JSON may still be no settings: half of a pair in a text, a member named twice.</summary>
    private static bool CanBeLoaded(JsonConfigurationSource source, string path, ICollection<string> faults)
    {
        try
        {
            using var loaded = (ConfigurationRoot)new ConfigurationBuilder().Add(source).Build();
            return true;
        }
        catch (InvalidDataException fault)
        {
            faults.Add(Service.Text.Say.Of(HostWords.ConfigUnreadable, path, fault.InnerException?.Message
                ?? fault.Message));
            return false;
        }
    }

    private static void Check(string path, ICollection<string> faults)
    {
        try
        {
            using var document = JsonDocument.Parse(File.ReadAllText(path),
                new JsonDocumentOptions { CommentHandling = JsonCommentHandling.Skip, AllowTrailingCommas = true });
            if (document.RootElement.ValueKind != JsonValueKind.Object)
            {
                faults.Add(Service.Text.Say.Of(HostWords.ConfigNoObject, path));
                return;
            }

            foreach (var member in document.RootElement.EnumerateObject())
                if (!Top.Contains(member.Name.Split(':')[0], StringComparer.OrdinalIgnoreCase))
                    faults.Add(SettingNames.Unknown(member.Name, Top, path));
        }
        catch (JsonException fault)
        {
            faults.Add(Service.Text.Say.Of(HostWords.ConfigNotJson, path, (fault.LineNumber ?? 0) + 1,
                (fault.BytePositionInLine ?? 0) + 1));
        }
        catch (Exception fault) when (fault is IOException or UnauthorizedAccessException)
        {
            faults.Add(Service.Text.Say.Of(HostWords.ConfigUnreadable, path, fault.Message));
        }
    }
}
