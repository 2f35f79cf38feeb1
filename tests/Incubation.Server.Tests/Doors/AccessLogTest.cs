using System.Net;
using Incubation.Clinic;
using Incubation.Clinic.People;
using Incubation.Service.Clinic;
using Incubation.Service.Record;
using Incubation.Service.Tests.Support;
using Microsoft.Extensions.DependencyInjection;

namespace Incubation.Server.Tests.Doors;

/// <summary>Who takes named records out, and who looks at them, stands in the clinic's log.</summary>
public sealed class AccessLogTest : IAsyncDisposable
{
    private readonly ServerFactory server = new();

    private static CancellationToken Cancel => TestContext.Current.CancellationToken;

    private IEnumerable<(string Person, ClinicEvent Event)> Accesses => server.Services
        .GetRequiredService<ClinicHost>().Log.Entries()
        .Where(entry => entry.Event is ClinicEvent.RecordExported or ClinicEvent.RecordSeen)
        .Select(entry => (entry.Provenance.Person.Value, entry.Event));

    public ValueTask DisposeAsync() => server.DisposeAsync();

    [Fact]
    public async Task Export_EachTime_IsAnEvent()
    {
        using var client = server.ClientAs("ines");
        await GetAsync(client, "/api/v1/record/cartridges.csv");
        await GetAsync(client, "/api/v1/record/cartridges.csv");
        await GetAsync(client, "/api/v1/record/events.jsonl");

        Assert.Equal([("ines", "cartridges.csv"), ("ines", "cartridges.csv"), ("ines", "events.jsonl")],
            Accesses.Select(one => (one.Person, ((ClinicEvent.RecordExported)one.Event).What)));
    }

    [Fact]
    public async Task Export_AgainAndAgain_ComesToAnEndAndSaysWhenItMayGoOn()
    {
        using var client = server.ClientAs("ines");
        HttpResponseMessage? refused = null;
        for (var times = 0; times < 2000 && refused is null; times++)
        {
            var answer = await client.GetAsync(new Uri("/api/v1/record/cartridges.csv", UriKind.Relative), Cancel);
            if (answer.StatusCode == HttpStatusCode.OK)
                answer.Dispose();
            else
                refused = answer;
        }

        Assert.Equal(HttpStatusCode.TooManyRequests, refused?.StatusCode);
        Assert.NotNull(refused!.Headers.RetryAfter);
        using var other = server.ClientAs("mara");
        await GetAsync(other, "/api/v1/record/cartridges.csv");
        refused.Dispose();
    }

    [Fact]
    public async Task Look_AgainAndAgain_IsOneEventForAPersonAndRecordInADay()
    {
        using var lena = server.ClientAs("lena");
        using var ines = server.ClientAs("ines");
        for (var times = 0; times < 3; times++)
        {
            await GetAsync(lena, "/record/bench-1/1");
            await GetAsync(lena, "/api/v1/benches/bench-1/batches/1/moments");
            await GetAsync(ines, "/record/bench-1/1");
            await GetAsync(ines, "/record");
            await GetAsync(ines, "/api/v1/benches/bench-1/events");
        }

        Assert.Equal([("lena", "bench-1", 1), ("ines", "bench-1", 1), ("ines", null, null), ("ines", "bench-1", null)],
            Accesses.Select(one => (one.Person, ((ClinicEvent.RecordSeen)one.Event).Bench?.Value,
                ((ClinicEvent.RecordSeen)one.Event).Batch)));
    }

    [Fact]
    public async Task UncheckedResults_LookedAt_StandsInTheLogAndByASupervisorAlone()
    {
        var desk = server.Services.GetRequiredService<UncheckedResults>();
        using var client = server.ClientAs("ines");
        await GetAsync(client, "/record/unchecked");
        Assert.Empty(desk.ToLookAt());

        Assert.NotNull(desk.LookedAt(AnAide.Lena));
        Assert.Null(desk.LookedAt(AnAide.Lena with
        {
            Who = AnAide.Lena.Who with { Id = new("ines"), Role = Role.Supervisor },
        }));

        Assert.NotNull(server.Services.GetRequiredService<ClinicHost>().Log.UncheckedSeen);
    }

    [Fact]
    public async Task Look_ByWhoMayNot_IsNone()
    {
        using var wall = server.ClientWith(server.Enrol(DeviceKind.Wall, null).Cookie);
        using var refused = await wall.GetAsync(new Uri("/record/bench-1/1", UriKind.Relative), Cancel);

        Assert.Equal(HttpStatusCode.Forbidden, refused.StatusCode);
        Assert.Empty(Accesses);
    }

    private static async Task GetAsync(HttpClient client, string path)
    {
        using var answer = await client.GetAsync(new Uri(path, UriKind.Relative), Cancel);
        Assert.Equal(HttpStatusCode.OK, answer.StatusCode);
    }
}
