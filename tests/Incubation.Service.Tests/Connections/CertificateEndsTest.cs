using System.Net;
using System.Net.Security;
using System.Net.Sockets;
using System.Security.Authentication;
using System.Security.Cryptography.X509Certificates;
using Incubation.Clinic.Connections;
using Incubation.Clinic.People;
using Incubation.Service.Connections;
using Incubation.Service.Tests.Support;
using NodaTime;

namespace Incubation.Service.Tests.Connections;

/// <summary>When a destination's certificate ends is learnt of the connection to it.</summary>
public sealed class CertificateEndsTest
{
    [Fact]
    public async Task Send_OverTls_TheEndOfTheCertificateIsKnown_AndOneThatNobodyVouchesForIsRefused()
    {
        await using var house = await OutboxHouse.OpenAsync();
        var now = house.House.Clock.Now;
        var end = now + Duration.FromDays(10);
        using var certificate = MadeCertificate.Until(end);
        using var listener = new TcpListener(IPAddress.Loopback, 0);
        listener.Start();
        var peer = ShakeHandsAsync(listener, certificate);
        var form = ConnectionForm.Of(house.Connection.Destination);
        form.Address = $"https://127.0.0.1:{((IPEndPoint)listener.LocalEndpoint).Port}/in";
        Assert.Empty(house.Desk.Set(ControlsHouse.Person("mara", Role.Administrator), OutboxHouse.To, form).Faults);
        Assert.Null(house.Certificates.Of(house.Connection));

        await house.StartAsync();
        await house.ResultAsync("T-1");
        await OutboxHouse.Until(() => house.Figures.Failures == 1);
        Assert.Equal(0, await peer);
        Assert.Equal(1, house.Figures.Waiting);
        // A certificate tells whole seconds.
        Assert.Equal(end.ToUnixTimeSeconds(), house.Certificates.Of(house.Connection)!.Value.ToUnixTimeSeconds());
        Assert.Equal(OutboxHouse.To, Assert.Single(house.Certificates.Soonest([house.Connection], now)).Connection.Id);
    }

    [Fact]
    public async Task Soonest_FourteenDaysBefore_NotEarlier_OfThoseInUse_AndOnlyAtTheAddressWhereItWasSeen()
    {
        await using var house = await OutboxHouse.OpenAsync(form =>
            form.Address = form.Address!.Replace("http:", "https:", StringComparison.Ordinal));
        var end = Instant.FromUtc(2026, 5, 1, 12, 0);
        using var certificate = MadeCertificate.Until(end);
        house.Certificates.Note(house.Connection, certificate);
        bool IsSoon(Duration before) => house.Certificates.Soonest([house.Connection], end - before).Count == 1;
        Assert.Equal([false, true, true], new[] { Duration.FromDays(14), Duration.FromDays(14) - Duration.Epsilon,
            Duration.FromDays(-1) }.Select(IsSoon));
        Assert.Empty(house.Certificates.Soonest([], end));
        Connection At(string address) => house.Connection with
        {
            Destination = house.Connection.Destination with { Way = new DestinationWay.Webhook(address) },
        };
        Assert.Null(house.Certificates.Of(At("https://other.test/in")));
        var plain = At("http://other.test/in");
        house.Certificates.Note(plain, certificate);
        Assert.Equal((null, false), (house.Certificates.Of(plain), CertificateEnds.Has(plain)));
    }

    /// <summary>Shows the certificate once; how many bytes of a message came.</summary>
    private static async Task<int> ShakeHandsAsync(TcpListener listener, X509Certificate2 certificate)
    {
        var cancel = TestContext.Current.CancellationToken;
        using var client = await listener.AcceptTcpClientAsync(cancel);
        await using var stream = new SslStream(client.GetStream());
        try
        {
            await stream.AuthenticateAsServerAsync(
                new SslServerAuthenticationOptions { ServerCertificate = certificate }, cancel);
            return await stream.ReadAsync(new byte[1024], cancel);
        }
        catch (Exception e) when (e is AuthenticationException or IOException)
        {
            return 0;
        }
    }
}
