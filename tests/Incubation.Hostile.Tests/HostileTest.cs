using System.Text.Json;
using Incubation.Bench;
using Incubation.Clinic.People;
using Incubation.Model;
using Incubation.Service.Commands;
using Incubation.TestKit;
using NodaTime;
using Xunit;

namespace Incubation.Hostile.Tests;

/// <summary>What nobody should say, said in short; the long runs are tests/Hostile/run.sh.</summary>
public sealed class HostileTest
{
    private const ulong Seed = 20260302;
    private static readonly Instant Now = Instant.FromUtc(2026, 3, 2, 8, 0);

    /// <summary>A command that is added to the union and not to the cases fails here.</summary>
    [Fact]
    public void Kinds_OfTheFlatForm_SayEveryCommandThatSomebodyMaySay()
    {
        var said = FlatForm.Kinds.SelectMany(kind => Enumerable.Range(0, 40).Select(choice =>
            Read(Written(kind, (ulong)choice)))).OfType<BenchCommand>().Select(command => command.GetType())
            .ToHashSet();
        var all = typeof(BenchCommand).GetNestedTypes().Where(type => !type.IsAbstract).ToHashSet();
        // What the server alone says, requests, which come by an address of their own, and what a page alone sets.
        Type[] others = [typeof(BenchCommand.OpenBench), typeof(BenchCommand.AdoptPlan),
            typeof(BenchCommand.NoteRestart), typeof(BenchCommand.NoteClock), typeof(BenchCommand.SetLotGate),
            typeof(BenchCommand.NotePlanning), typeof(BenchCommand.NoteStepNotKnown),
            typeof(BenchCommand.KeepCheckpoint), typeof(BenchCommand.ProposeAmendment),
            typeof(BenchCommand.AddRequests), typeof(BenchCommand.ExpectProbe),
            typeof(BenchCommand.AskForLabels)];
        Assert.Equal(all.Except(others).Select(type => type.Name).Order(), said.Select(type => type.Name).Order());
    }

    [Fact]
    public async Task Inside_Cases_FindNothing()
    {
        await using var run = await InsideRun.OpenAsync();
        for (var number = 0; number < CaseCount.Of(250, 5000); number++)
        {
            var one = run.Draw(number, Seed);
            var report = await run.PlayAsync(one);
            if (report.Findings.Count > 0)
                Assert.Fail(report.Findings[0] + "\n" + await run.ReduceAsync(one));
        }
    }

    /// <summary>Cases of the long runs that once found something.</summary>
    [Theory]
    [InlineData("incubator", "rules", "[null]")]
    [InlineData("incubator", "rules", "[{}]")]
    [InlineData("undo", "with", "[null]")]
    [InlineData("mixed", "at", "\"-9998-01-01T00:00:00Z\"")]
    [InlineData("discarded", "at", "\"-9998-01-01T00:00:00Z\"")]
    [InlineData("discarded", "at", "\"9999-12-31T23:59:59Z\"")]
    [InlineData("correct", "then", "\"-9998-01-01T00:00:00Z\"")]
    [InlineData("ready", "then", "\"9999-12-31T23:59:59Z\"")]
    public async Task Inside_MemberThatOnceFoundSomething_FindsNothing(string kind, string member, string json)
    {
        await using var run = await InsideRun.OpenAsync();
        foreach (var day in new[] { 3, 12, 25 })
            for (var caller = 0; caller < 10; caller++)
            {
                var one = new InsideCase(1, Seed, day,
                    [new HostileCommand(kind, caller, 5, [(member, json)], Duration.FromMinutes(25))]);
                Assert.Empty((await run.PlayAsync(one)).Findings);
            }
    }

    [Fact]
    public void Readers_SpoiltInput_EndAsTheirDocumentsSay()
    {
        var folder = Directory.CreateTempSubdirectory("incubation-readers-");
        try
        {
            Assert.Empty(ReaderRun.Play(0, CaseCount.Of(300, 5000), Seed, folder.FullName));
        }
        finally
        {
            folder.Delete(recursive: true);
        }
    }

    /// <summary>
    /// Addresses come from the server's own list; those that its document describes are all there, with each member.
    /// </summary>
    [Fact]
    public async Task Http_FortyCases_FindNothing()
    {
        await using var server = await AttackedServer.StartAsync();
        var document = await server.JsonAsync(server.By(Callers.Supervisor), "/openapi/v1.json");
        foreach (var path in document!.Value.GetProperty("paths").EnumerateObject())
            foreach (var method in path.Value.EnumerateObject())
                Assert.Contains(server.Addresses, address => Covers(address, path.Name, method));
        var run = new HttpRun(server);
        await run.BeginAsync();
        await run.PlayAsync(0, CaseCount.Of(40, 250), Seed);
        Assert.Empty(run.Findings);
    }

    private static bool Covers(Address address, string path, JsonProperty method)
    {
        if (!string.Equals(address.Method, method.Name, StringComparison.OrdinalIgnoreCase)
            || Bare(address.Pattern) != Bare(path))
            return false;
        var parameters = method.Value.TryGetProperty("parameters", out var named)
            ? named.EnumerateArray().Select(one => one.GetProperty("name").GetString()!) : [];
        Assert.Subset(address.Route.Concat(address.Query).ToHashSet(), parameters.ToHashSet());
        Assert.Equal(method.Value.TryGetProperty("requestBody", out _), address.Body is not null);
        return true;
    }

    /// <summary>A pattern without what its parameters may be: <c>{batch:int}</c> is <c>{batch}</c>.</summary>
    private static string Bare(string pattern) => string.Join('/', pattern.Trim('/').Split('/')
        .Select(part => part.StartsWith('{') ? part.Split(':', '}')[0] + "}" : part));

    private static string Written(string kind, ulong choices)
    {
        var thing = new FlatThing("R01", "DA-L1", "SP-1", "DA", "T1");
        var random = new SeededRandom(choices);
        return "{" + string.Join(',', FlatForm.Members
            .Select(member => (member.Name, Json: FlatPlausible.Of(member.Name, kind, thing, "T2", Now, random)))
            .Where(member => member.Json.Length > 0).Select(member => $"\"{member.Name}\":{member.Json}")) + "}";
    }

    private static BenchCommand? Read(string json)
    {
        var actor = new Actor.Program(
            new ClinicKey(new DeviceId("key-1"), "A program", [KeyScope.Bench], null, Now, false));
        var flat = JsonSerializer.Deserialize<ScreenCommand>(json, FlatForm.Json);
        return (CommandReader.Read(flat, Now, actor, PeopleState.Empty) as CommandReading.Readable)?.Envelope.Command;
    }
}
