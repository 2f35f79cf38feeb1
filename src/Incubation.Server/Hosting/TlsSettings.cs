using System.Globalization;
using System.Net;
using System.Security.Cryptography;
using System.Security.Cryptography.X509Certificates;
using Incubation.Service.Settings;

namespace Incubation.Server.Hosting;

/// <summary>
/// How the lines from other machines are kept secret: by a certificate of this server's own, or by a proxy that is
/// trusted.
/// </summary>
/// <param name="Certificate">The server's own certificate with its key, or null.</param>
/// <param name="Proxies">Addresses of proxies that end TLS in front of this server.</param>
/// <param name="IsGivenToKestrel">Whether the web server's own section of the configuration names certificates.</param>
/// <param name="HasHosts">Whether it is said by which names the server is called.</param>
public sealed record TlsSettings(X509Certificate2? Certificate, IReadOnlyList<IPAddress> Proxies,
    bool IsGivenToKestrel, bool HasHosts)
{
    /// <summary>Reads the settings; every fault is a sentence in <paramref name="faults"/>.</summary>
    public static TlsSettings Read(IConfiguration configuration, DateTimeOffset now, ICollection<string> faults)
    {
        ArgumentNullException.ThrowIfNull(configuration);
        var section = configuration.GetSection(ServerSettings.Section);
        var kestrel = configuration.GetSection("Kestrel");
        var given = kestrel.GetSection("Certificates").GetChildren().Any()
            || kestrel.GetSection("Endpoints").GetChildren()
            .Any(endpoint => endpoint.GetSection("Certificate").Exists());
        return new TlsSettings(
            ReadCertificate(section["Certificate"], section["CertificateKey"], section["CertificatePassword"], now,
                faults),
            ReadProxies(section["TrustedProxy"], faults),
            given,
            configuration["AllowedHosts"] is { } hosts && !string.IsNullOrWhiteSpace(hosts) && hosts.Trim() != "*");
    }

    /// <summary>
    /// A sentence for each address that must not be listened on: other machines are let in only where nobody between
    /// can read along, also between the proxy and here, never by a demo, and only under names that are known.
    /// </summary>
    public IReadOnlyList<string> FaultsOf(IEnumerable<string> addresses, bool isDemo)
    {
        var all = addresses.ToList();
        var open = all.Where(address => !LoopbackGuard.IsThisMachineOnly(address)).ToList();
        List<string> faults = [];
        foreach (var address in all.Where(address => IsTls(address) && Certificate is null && !IsGivenToKestrel))
            faults.Add(Service.Text.Say.Of(HostWords.TlsWithoutCertificate, address));
        foreach (var address in open)
            if (isDemo)
                faults.Add(Service.Text.Say.Of(HostWords.DemoNotLoopback, address, LoopbackGuard.DefaultUrl));
            else if (!IsTls(address))
                faults.Add(Service.Text.Say.Of(Proxies.Count == 0 ? HostWords.NotLoopback : HostWords.ProxyInTheClear,
                    address, LoopbackGuard.DefaultUrl));
        if (open.Count > 0 && faults.Count == 0 && !HasHosts)
            faults.Add(HostWords.HostsMissing);
        return faults;
    }

    /// <summary>Whether every line of a person comes by TLS, so that cookies may insist on it.</summary>
    public bool IsEverywhere(IEnumerable<string> addresses) =>
        addresses.All(address => IsTls(address) || Proxies.Count > 0);

    private static bool IsTls(string address) => address.StartsWith("https:", StringComparison.OrdinalIgnoreCase);

    private static X509Certificate2? ReadCertificate(string? path, string? keyPath, string? password,
        DateTimeOffset now, ICollection<string> faults)
    {
        if (string.IsNullOrWhiteSpace(path))
            return null;
        try
        {
            var certificate = Load(path, keyPath, password);
            var (from, until) = (certificate.NotBefore.ToUniversalTime(), certificate.NotAfter.ToUniversalTime());
            if (!certificate.HasPrivateKey)
                faults.Add(Service.Text.Say.Of(HostWords.CertificateWithoutKey, path));
            else if (now.UtcDateTime < from || now.UtcDateTime > until)
                faults.Add(Service.Text.Say.Of(HostWords.CertificateNotValid, path, Day(from), Day(until)));
            return certificate;
        }
        catch (Exception fault) when (fault is CryptographicException or IOException or UnauthorizedAccessException)
        {
            faults.Add(Service.Text.Say.Of(HostWords.CertificateUnreadable, path, fault.Message));
            return null;
        }
    }

    private static X509Certificate2 Load(string path, string? keyPath, string? password)
    {
        if (Path.GetExtension(path).ToUpperInvariant() is ".PFX" or ".P12")
            return X509CertificateLoader.LoadPkcs12FromFile(path, password);
        var key = string.IsNullOrWhiteSpace(keyPath) ? null : keyPath;
        return string.IsNullOrEmpty(password)
            ? X509Certificate2.CreateFromPemFile(path, key)
            : X509Certificate2.CreateFromEncryptedPemFile(path, password, key);
    }

    private static List<IPAddress> ReadProxies(string? text, ICollection<string> faults)
    {
        List<IPAddress> proxies = [];
        foreach (var one in (text ?? "")
            .Split([',', ';', ' '], StringSplitOptions.RemoveEmptyEntries | StringSplitOptions.TrimEntries))
        {
            if (IPAddress.TryParse(one, out var address))
                proxies.Add(address);
            else
                faults.Add(Service.Text.Say.Of(HostWords.ProxyFault, one));
        }

        return proxies;
    }

    private static string Day(DateTime at) => at.ToString("yyyy-MM-dd", CultureInfo.InvariantCulture);
}
