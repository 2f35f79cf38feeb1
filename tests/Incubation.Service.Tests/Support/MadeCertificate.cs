using System.Security.Cryptography;
using System.Security.Cryptography.X509Certificates;
using NodaTime;

namespace Incubation.Service.Tests.Support;

/// <summary>Certificates that a test makes for this machine; nobody vouches for them.</summary>
internal static class MadeCertificate
{
    public static X509Certificate2 Until(Instant end)
    {
        using var key = ECDsa.Create(ECCurve.NamedCurves.nistP256);
        var names = new SubjectAlternativeNameBuilder();
        names.AddIpAddress(System.Net.IPAddress.Loopback);
        var request = new CertificateRequest("CN=records.test", key, HashAlgorithmName.SHA256);
        request.CertificateExtensions.Add(names.Build());
        using var made = request.CreateSelfSigned((end - Duration.FromDays(90)).ToDateTimeOffset(),
            end.ToDateTimeOffset());
        // As a server wants it, with its key.
        return X509CertificateLoader.LoadPkcs12(made.Export(X509ContentType.Pfx), null);
    }
}
