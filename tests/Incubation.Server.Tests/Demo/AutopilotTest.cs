using System.Text.Json.Nodes;
using Incubation.Server.Demo;
using Incubation.Service.Benches;
using Incubation.Service.Clock;
using Incubation.Service.Demo;
using Microsoft.AspNetCore.Hosting;
using Microsoft.AspNetCore.Mvc.Testing;
using Microsoft.Extensions.DependencyInjection;

namespace Incubation.Server.Tests.Demo;

/// <summary>The virtual aide through the server's own hub.</summary>
public sealed class AutopilotTest : IDisposable
{
    private readonly string folder = Directory.CreateTempSubdirectory("incubation-autopilot-").FullName;

    public void Dispose() => Directory.Delete(folder, recursive: true);

    [Fact]
    public async Task Play_ShortMorning_EveryCartridgeEndsAndHasItsResult()
    {
        await using var server = new PacedServer(folder, "60");
        server.UseKestrel(0);
        server.StartServer();
        var book = server.Services.GetRequiredService<BenchRegistry>();
        await using var aide = new Autopilot(server.ClientOptions.BaseAddress,
            server.Services.GetRequiredService<DemoPeople>().KeyOfVirtualAide(), "bench-1",
            server.Services.GetRequiredService<BenchClock>(), seed: 3);

        var summary = await aide.PlayAsync(TestContext.Current.CancellationToken)
            .WaitAsync(TimeSpan.FromMinutes(3), TestContext.Current.CancellationToken);

        // How many are read in time depends on how busy this machine is; that each is accounted for does not.
        Assert.Equal(2, summary.Cartridges);
        Assert.Equal(2, summary.ReadInWindow + summary.ReadOutside + summary.Discarded);
        Assert.True(summary.Finish > NodaTime.Duration.FromMinutes(3));
        var state = book.Find("bench-1")!.Present.State;
        Assert.All(state.Cartridges, cartridge => Assert.True(cartridge.IsOver));
        Assert.DoesNotContain(state.Cartridges, cartridge => cartridge.ResultMissing);
        Assert.Contains("of 2 cartridges", AutopilotService.Say(summary), StringComparison.Ordinal);
    }

    /// <summary>The server at a pace, on two quick requests of the demo's morning.</summary>
    private sealed class PacedServer(string folder, string pace) : WebApplicationFactory<Program>
    {
        protected override void ConfigureWebHost(IWebHostBuilder builder)
        {
            var demo = Directory.CreateDirectory(Path.Combine(folder, "demo")).FullName;
            foreach (var name in (string[])["clinic.json", "assays.json"])
                File.Copy(Path.Combine(ServerFactory.DemoFolder, name), Path.Combine(demo, name), overwrite: true);
            var morning = JsonNode.Parse(File.ReadAllText(Path.Combine(ServerFactory.DemoFolder, "morning.json")))!;
            var requests = morning["requests"]!.AsArray();
            var quick = requests.Where(request => (string?)request!["assay"] is "DB" or "DD").Take(2)
                .Select(request => request!.DeepClone()).ToArray();
            foreach (var request in quick)
            {
                request["assay"] = "DD";
                request["lot"] = "DD-L1";
                request["ready"] = (string?)morning["start"];
            }

            morning["requests"] = new JsonArray(quick);
            File.WriteAllText(Path.Combine(demo, "morning.json"), morning.ToJsonString());
            builder.UseSetting("Incubation:Data", Path.Combine(folder, "a.db"));
            builder.UseSetting("Incubation:Demo", demo);
            builder.UseSetting("Incubation:Pace", pace);
            builder.UseSetting("Incubation:SearchBudget", "5");
        }
    }
}
