using System.Security.Cryptography;
using System.Security.Cryptography.X509Certificates;
using Incubation.Server.Hosting;
using Microsoft.Extensions.Configuration;

namespace Incubation.Server.Tests.Hosting;

/// <summary>Where the server may listen, and with which certificates.</summary>
public sealed class TlsSettingsTest : IDisposable
{
    private static readonly DateTimeOffset Now = new(2026, 3, 2, 8, 0, 0, TimeSpan.Zero);
    private readonly string folder = Directory.CreateTempSubdirectory("incubation-tls-").FullName;

    public void Dispose() => Directory.Delete(folder, recursive: true);

    [Theory]
    [InlineData("http://127.0.0.1:1", false, null)]
    [InlineData("http://127.0.0.1:1", true, null)]
    [InlineData("http://0.0.0.0:1", false, "not encrypted")]
    [InlineData("http://0.0.0.0:1", true, "sign-in")]
    [InlineData("https://127.0.0.1:1", false, "needs a certificate")]
    [InlineData("https://0.0.0.0:1", false, "needs a certificate")]
    public void FaultsOf_NothingSetUp_ThisMachineAlone(string address, bool isDemo, string? sentence) =>
        Check(Read(), address, isDemo, sentence);

    [Theory]
    [InlineData("https://0.0.0.0:1", false, null)]
    [InlineData("https://0.0.0.0:1", true, "sign-in")]
    [InlineData("http://0.0.0.0:1", false, "not encrypted")]
    public void FaultsOf_OwnCertificate_OnlyByTls(string address, bool isDemo, string? sentence) =>
        Check(Read(("Incubation:Certificate", Pem(-1, 30)), ("AllowedHosts", "bench.example")), address, isDemo,
            sentence);

    [Theory]
    [InlineData("192.0.2.4", "http://0.0.0.0:1", "what the proxy sends there is not encrypted")]
    [InlineData("127.0.0.1", "http://0.0.0.0:1", "what the proxy sends there is not encrypted")]
    [InlineData("127.0.0.1", "http://127.0.0.1:1", null)]
    public void FaultsOf_TrustedProxy_PlainAddressIsThisMachinesAlone(string proxy, string address,
        string? sentence) =>
        Check(Read(("Incubation:TrustedProxy", proxy), ("AllowedHosts", "bench.example")), address, false, sentence);

    [Fact]
    public void FaultsOf_TrustedProxyElsewhere_ByTlsToHere() =>
        Check(Read(("Incubation:TrustedProxy", "192.0.2.4"), ("Incubation:Certificate", Pem(-1, 30)),
            ("AllowedHosts", "bench.example")), "https://0.0.0.0:1", false, null);

    [Fact]
    public void FaultsOf_NoNames_AskedFor() =>
        Check(Read(("Incubation:Certificate", Pem(-1, 30))), "https://0.0.0.0:1", false, "--hosts");

    [Theory]
    [InlineData(-30, -1, "valid only from")]
    [InlineData(1, 30, "valid only from")]
    [InlineData(-1, 30, null)]
    public void Certificate_ByItsDays_TakenOrSaid(int from, int until, string? sentence) =>
        Said(sentence, ("Incubation:Certificate", Pem(from, until)));

    [Fact]
    public void Certificate_ThatIsNone_Said()
    {
        var file = Path.Combine(folder, "none.pem");
        File.WriteAllText(file, "nothing");
        Said("cannot be read", ("Incubation:Certificate", file));
        Said("cannot be read", ("Incubation:Certificate", Path.Combine(folder, "absent.pem")));
        Said("cannot be read", ("Incubation:Certificate", Path.Combine(folder, "absent.pfx")));
    }

    [Fact]
    public void Proxy_NoAddress_Said() => Said("is not an IP address", ("Incubation:TrustedProxy", "proxy.example"));

    private static void Check(TlsSettings tls, string address, bool isDemo, string? sentence)
    {
        var faults = tls.FaultsOf([address], isDemo);
        if (sentence is null)
            Assert.Empty(faults);
        else
            Assert.Contains(sentence, Assert.Single(faults), StringComparison.Ordinal);
    }

    private static void Said(string? sentence, params (string Key, string Value)[] values)
    {
        List<string> faults = [];
        TlsSettings.Read(Configuration(values), Now, faults);
        if (sentence is null)
            Assert.Empty(faults);
        else
            Assert.Contains(sentence, Assert.Single(faults), StringComparison.Ordinal);
    }

    private static TlsSettings Read(params (string Key, string Value)[] values) =>
        TlsSettings.Read(Configuration(values), Now, []);

    private static IConfigurationRoot Configuration((string Key, string Value)[] values) => new ConfigurationBuilder()
        .AddInMemoryCollection(values.Select(value => KeyValuePair.Create(value.Key, (string?)value.Value))).Build();

    private string Pem(int from, int until)
    {
        using var key = ECDsa.Create(ECCurve.NamedCurves.nistP256);
        using var certificate = new CertificateRequest("CN=bench.example", key, HashAlgorithmName.SHA256)
            .CreateSelfSigned(Now.AddDays(from), Now.AddDays(until));
        var file = Path.Combine(folder, "own.pem");
        File.WriteAllText(file, certificate.ExportCertificatePem() + "\n" + key.ExportPkcs8PrivateKeyPem());
        return file;
    }
}
