using Incubation.Server.Hosting;
using Microsoft.Extensions.Configuration;

namespace Incubation.Server.Tests.Hosting;

public sealed class LoopbackGuardTest
{
    [Theory]
    [InlineData("http://127.0.0.1:5080")]
    [InlineData("http://127.1.2.3:80")]
    [InlineData("http://localhost:5080")]
    [InlineData("https://LOCALHOST")]
    [InlineData("http://[::1]:5080")]
    [InlineData("http://unix:/run/incubation/http.sock")]
    public void IsThisMachineOnly_OwnAddress_True(string address) =>
        Assert.True(LoopbackGuard.IsThisMachineOnly(address));

    [Theory]
    [InlineData("http://0.0.0.0:5080")]
    [InlineData("http://*:5080")]
    [InlineData("http://+:5080")]
    [InlineData("http://[::]:5080")]
    [InlineData("http://192.168.1.20:5080")]
    [InlineData("http://bench.example:5080")]
    [InlineData("http://localhost.example:5080")]
    [InlineData("http://127.0.0.1.example:5080")]
    [InlineData("5080")]
    [InlineData("nonsense")]
    public void IsThisMachineOnly_OtherAddress_False(string address) =>
        Assert.False(LoopbackGuard.IsThisMachineOnly(address));

    [Theory]
    [InlineData("urls", "http://0.0.0.0:1", "http://0.0.0.0:1")]
    [InlineData("urls", "http://127.0.0.1:1; http://*:2", "http://127.0.0.1:1|http://*:2")]
    [InlineData("http_ports", "8080", "http://*:8080")]
    [InlineData("https_ports", "8443", "https://*:8443")]
    [InlineData("Kestrel:Endpoints:Main:Url", "http://10.0.0.1:1", "http://10.0.0.1:1")]
    [InlineData("Other", "x", LoopbackGuard.DefaultUrl)]
    public void AddressesOf_EveryPlaceWhereHostsLook_Found(string key, string value, string expected)
    {
        var configuration = new ConfigurationBuilder().AddInMemoryCollection([new(key, value)]).Build();

        Assert.Equal(expected, string.Join('|', LoopbackGuard.AddressesOf(configuration)));
    }
}
