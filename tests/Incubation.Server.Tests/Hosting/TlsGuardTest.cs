using System.Net;
using Incubation.Clinic;
using Incubation.Server.Doors;
using Incubation.Service.Clinic;
using Incubation.Service.People;
using Microsoft.AspNetCore.Http;
using Microsoft.Extensions.DependencyInjection;

namespace Incubation.Server.Tests.Hosting;

/// <summary>What comes from other machines: by TLS, or by the proxy that is trusted with it.</summary>
public sealed class TlsGuardTest : IAsyncDisposable
{
    private const string Proxy = "192.0.2.4";
    private const string LocalProxy = "127.0.0.1";
    private const string Tablet = "198.51.100.7";
    private readonly ServerFactory behindProxy =
        new() { Settings = new Dictionary<string, string> { ["Incubation:TrustedProxy"] = Proxy + "," + LocalProxy } };

    private static CancellationToken Cancel => TestContext.Current.CancellationToken;

    public ValueTask DisposeAsync() => behindProxy.DisposeAsync();

    [Theory]
    [InlineData(Proxy, "https", StatusCodes.Status200OK, "/sign-in", "https")]
    [InlineData(Proxy, "http", StatusCodes.Status403Forbidden, "/sign-in", "https")]
    [InlineData(Proxy, null, StatusCodes.Status403Forbidden, "/sign-in", "https")]
    [InlineData(Proxy, "https", StatusCodes.Status403Forbidden)]
    [InlineData(Proxy, "http", StatusCodes.Status403Forbidden)]
    [InlineData(Proxy, null, StatusCodes.Status403Forbidden)]
    [InlineData(LocalProxy, "https", StatusCodes.Status200OK)]
    [InlineData(LocalProxy, null, StatusCodes.Status403Forbidden)]
    [InlineData(Tablet, "https", StatusCodes.Status403Forbidden)]
    [InlineData(Tablet, null, StatusCodes.Status403Forbidden)]
    [InlineData("127.0.0.1", null, StatusCodes.Status200OK, "/health/live")]
    [InlineData(Tablet, null, StatusCodes.Status403Forbidden, "/health/live")]
    public async Task Request_InTheClear_ByTheProxysTlsAlone(string from, string? saysProtocol, int expected,
        string path = "/sign-in", string hop = "http")
    {
        var answer = await SendAsync(from, saysProtocol, path, hop);

        Assert.Equal(expected, answer.Response.StatusCode);
        Assert.Equal(saysProtocol == "https" && expected == 200,
            answer.Response.Headers.StrictTransportSecurity.Count > 0);
    }

    [Fact]
    public async Task SignIn_ByTheProxy_TabletsOwnAddressStandsInTheLog()
    {
        var desk = behindProxy.Services.GetRequiredService<SignInService>();
        var seen = await SendAsync(Proxy, "https", hop: "https");

        await desk.PasswordAsync("lena", "wrong", new SignInPlace(null, Addresses.Of(seen)));

        var log = behindProxy.Services.GetRequiredService<ClinicHost>().Log;
        Assert.Equal(Tablet,
            Assert.Single(log.Entries().Select(entry => entry.Event).OfType<ClinicEvent.SignInRefused>()).Address);
    }

    private Task<HttpContext> SendAsync(string from, string? saysProtocol, string path = "/sign-in",
        string hop = "http") =>
        behindProxy.Server.SendAsync(
        context =>
        {
            context.Connection.RemoteIpAddress = IPAddress.Parse(from);
            (context.Request.Method, context.Request.Scheme, context.Request.Host, context.Request.Path) =
                ("GET", hop, new HostString("localhost"), path);
            if (saysProtocol is null)
                return;
            context.Request.Headers["X-Forwarded-For"] = Tablet;
            context.Request.Headers["X-Forwarded-Proto"] = saysProtocol;
        }, Cancel);
}
