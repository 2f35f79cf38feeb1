using Incubation.Clinic.People;
using Incubation.Service.Settings;
using Incubation.Service.Text;

namespace Incubation.Service.People;

/// <summary>For which domain passkeys are made, as this server was asked.</summary>
/// <param name="Domain">The domain, in small letters; null where nobody has said.</param>
/// <param name="RemoveOf">Whose passkeys are to be removed from the console, or null.</param>
public sealed record PasskeySettings(string? Domain, string? RemoveOf = null)
{
    /// <summary>The name under which browsers take a machine for itself, TLS or not.</summary>
    public const string ThisMachine = "localhost";

    /// <summary>
    /// Reads the setting; a demo, which only its own machine can reach, needs none. A fault is a sentence in
    /// <paramref name="faults"/>.
    /// </summary>
    public static PasskeySettings Read(IConfiguration configuration, ICollection<string> faults)
    {
        var section = configuration.GetSection(ServerSettings.Section);
        var toRemove = section["RemovePasskeysOf"];
        if (section["PasskeyDomain"]?.Trim().ToLowerInvariant() is not { Length: > 0 } domain)
            return new PasskeySettings(string.IsNullOrWhiteSpace(section["Demo"]) ? null : ThisMachine, toRemove);
        if (Uri.CheckHostName(domain) != UriHostNameType.Dns || domain.Length > PasskeysState.LongestDomain)
            faults.Add(Say.Of(PasskeyWords.DomainFault, domain));
        return new PasskeySettings(domain, toRemove);
    }
}
