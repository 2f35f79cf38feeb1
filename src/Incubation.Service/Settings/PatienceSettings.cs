using System.Globalization;
using Incubation.Bench;
using NodaTime;

namespace Incubation.Service.Settings;

/// <summary>For how long hands are believed to be at a step beyond its allowed time, as set and checked.</summary>
public static class PatienceSettings
{
    /// <summary>The most that can be set, in seconds: longer than a window stays open nothing would be saved.</summary>
    public const int MaximumSeconds = 600;

    private const string Name = "Patience";

    private static readonly string[] Known =
        [nameof(StepPatience.Mix), nameof(StepPatience.Load), nameof(StepPatience.Move), nameof(StepPatience.Clear),
            nameof(StepPatience.Discard), nameof(StepPatience.CardChange)];

    /// <summary>
    /// Reads the settings, in seconds for each kind of step; what is not set is as in <see cref="StepPatience.Usual"/>.
    /// Every fault is a sentence in <paramref name="faults"/>.
    /// </summary>
    public static StepPatience Read(IConfiguration configuration, ICollection<string> faults)
    {
        var section = configuration.GetSection(ServerSettings.Section).GetSection(Name);
        if (!string.IsNullOrWhiteSpace(section.Value))
            faults.Add(Text.Say.Of(SettingsWords.PatienceUnknown, section.Path, string.Join(", ", Known)));
        foreach (var member in section.GetChildren())
            if (!Known.Contains(member.Key, StringComparer.OrdinalIgnoreCase))
                faults.Add(Text.Say.Of(SettingsWords.PatienceUnknown, member.Path, string.Join(", ", Known)));
        var usual = StepPatience.Usual;
        return new StepPatience(
            Of(nameof(StepPatience.Mix), usual.Mix), Of(nameof(StepPatience.Load), usual.Load),
            Of(nameof(StepPatience.Move), usual.Move), Of(nameof(StepPatience.Clear), usual.Clear),
            Of(nameof(StepPatience.Discard), usual.Discard), Of(nameof(StepPatience.CardChange), usual.CardChange));

        Duration Of(string kind, Duration otherwise)
        {
            var text = section[kind];
            if (string.IsNullOrWhiteSpace(text))
                return otherwise;
            if (int.TryParse(text, NumberStyles.None, CultureInfo.InvariantCulture, out var seconds)
                && seconds <= MaximumSeconds)
                return Duration.FromSeconds(seconds);
            faults.Add(Text.Say.Of(SettingsWords.PatienceFault, $"{section.Path}:{kind}", text, MaximumSeconds));
            return otherwise;
        }
    }
}
