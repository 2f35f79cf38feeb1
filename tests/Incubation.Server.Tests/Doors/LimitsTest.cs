using System.Net;
using System.Net.Http.Json;
using Incubation.Clinic.People;

namespace Incubation.Server.Tests.Doors;

/// <summary>What a stranger uses up at an address is not missing to those who are known there.</summary>
public sealed class LimitsTest : IAsyncDisposable
{
    private const int Enough = 5000;
    private readonly ServerFactory server = new();

    private static CancellationToken Cancel => TestContext.Current.CancellationToken;

    public ValueTask DisposeAsync() => server.DisposeAsync();

    [Fact]
    public async Task SignIns_OfAStranger_LeaveATabletAtTheSameAddressItsOwn()
    {
        using var tablet = server.ClientWith(server.Enrol(DeviceKind.Tablet, null).Cookie);
        using var stranger = server.ClientAs(null);
        await UntilTooMany(() => stranger.PostAsync(new Uri("/sign-in", UriKind.Relative), null, Cancel));

        using var answer = await tablet.PostAsJsonAsync("/api/v1/tablet/pin", new { person = "lena", pin = "000000" },
            Cancel);

        Assert.Equal(HttpStatusCode.OK, answer.StatusCode);
    }

    [Fact]
    public async Task Questions_OfAStranger_LeaveOthersAtTheSameAddressTheirOwn()
    {
        using var tablet = server.ClientWith(server.Enrol(DeviceKind.Tablet, null).Cookie);
        using var lena = server.ClientAs("lena");
        using var program = server.ClientAs(null);
        program.DefaultRequestHeaders.Add("Authorization", "Bearer " + server.Key(null, KeyScope.Look));
        using var stranger = server.ClientAs(null);
        stranger.DefaultRequestHeaders.Add("Authorization", "Bearer key-1.invented");
        var time = new Uri("/api/v1/time", UriKind.Relative);
        await UntilTooMany(() => stranger.GetAsync(time, Cancel));

        foreach (var known in new[] { tablet, lena, program })
        {
            using var answer = await known.GetAsync(time, Cancel);
            Assert.Equal(HttpStatusCode.OK, answer.StatusCode);
        }
    }

    private static async Task UntilTooMany(Func<Task<HttpResponseMessage>> askAsync)
    {
        for (var times = 0; times < Enough; times++)
        {
            using var answer = await askAsync();
            if (answer.StatusCode == HttpStatusCode.TooManyRequests)
                return;
        }

        Assert.Fail("No limit was met.");
    }
}
