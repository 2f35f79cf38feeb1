using System.Globalization;
using System.Text.Json.Nodes;
using System.Text.RegularExpressions;
using System.Xml.Linq;
using Incubation.Exchange;
using Incubation.Planning;
using Incubation.Planning.Checking;
using Xunit;

namespace Incubation.Cli.Tests;

public sealed class PlanCommandTest : IDisposable
{
    private readonly Bench _bench = new();

    public void Dispose() => _bench.Dispose();

    [Fact]
    public void Plan_Morning_WritesAValidPlanAndSaysWhatItComesTo()
    {
        Assert.Equal(ExitCode.Done,
            _bench.Run("plan", Bench.Morning, "--out", _bench.PathOf("plan.json"), "--iterations", "50"));
        var day = BenchDayFile.Parse(File.ReadAllText(Bench.Morning)).Value!;
        var plan = PlanFile.Parse(File.ReadAllText(_bench.PathOf("plan.json"))).Value!;
        Assert.Empty(PlanChecker.Check(day, plan));
        Assert.Contains("12 of 12 requests planned, 0 unplaced, 0 lost", _bench.Output, StringComparison.Ordinal);
        Assert.Contains(
            $"Cost {plan.Cost.ToString(CultureInfo.InvariantCulture)} s; finish after "
            + $"{IsoDuration.Format(plan.Finish)}", _bench.Output, StringComparison.Ordinal);
        Assert.Contains(plan.Bound.ToString(CultureInfo.InvariantCulture) + " s", _bench.Output,
            StringComparison.Ordinal);
        Assert.Equal("", _bench.Error);
        Assert.Equal(["plan.json"], _bench.Files);
    }

    [Fact]
    public void Plan_SameIterationsAndSeed_GivesTheSameFileAndSaysSo()
    {
        foreach (var name in new[] { "a.json", "b.json" })
            Assert.Equal(ExitCode.Done,
                _bench.Run("plan", Bench.Morning, "--out", _bench.PathOf(name), "--iterations", "300", "--seed", "7"));
        Assert.Equal(File.ReadAllText(_bench.PathOf("a.json")), File.ReadAllText(_bench.PathOf("b.json")));
        Assert.Contains("Reproducible: --iterations 300 --seed 7", _bench.Output, StringComparison.Ordinal);
    }

    [Fact]
    public void Plan_ByTime_StopsByTheClockAndSaysThatItIsNotReproducible()
    {
        // The clock of the test moves on by a millisecond each time that the search asks for it.
        var clock = new StepClock();
        Assert.Equal(ExitCode.Done,
            _bench.Run(clock, "plan", Bench.Morning, "--out", _bench.PathOf("plan.json"), "--time", "PT0.05S"));
        Assert.InRange(clock.GetTimestamp(), 50, 60);
        Assert.Contains("Not reproducible", _bench.Output, StringComparison.Ordinal);
    }

    [Fact]
    public void Plan_NeitherTimeNorIterations_SearchesForOneSecond()
    {
        var clock = new StepClock();
        Assert.Equal(ExitCode.Done, _bench.Run(clock, "plan", Bench.Morning, "--out", _bench.PathOf("plan.json")));
        Assert.InRange(clock.GetTimestamp(), 1000, 1010);
        Assert.Contains("Not reproducible", _bench.Output, StringComparison.Ordinal);
    }

    [Fact]
    public void Plan_ThatEndedByTime_CanBeHadAgainByItsIterations()
    {
        _bench.Run("plan", Bench.Morning, "--out", _bench.PathOf("a.json"), "--time", "PT0.2S");
        var iterations = Regex.Match(_bench.Output, "after ([0-9]+) iterations").Groups[1].Value;
        _bench.Run("plan", Bench.Morning, "--out", _bench.PathOf("b.json"), "--iterations", iterations);
        Assert.Equal(File.ReadAllText(_bench.PathOf("a.json")), File.ReadAllText(_bench.PathOf("b.json")));
    }

    [Fact]
    public void Plan_WithChart_DrawsEverySpecimen()
    {
        Assert.Equal(ExitCode.Done,
            _bench.Run("plan", Bench.Morning, "--out", _bench.PathOf("plan.json"), "--iterations", "0", "--chart",
                _bench.PathOf("chart.svg")));
        var svg = XDocument.Load(_bench.PathOf("chart.svg"));
        Assert.Equal("svg", svg.Root!.Name.LocalName);
        Assert.All(Enumerable.Range(1, 11), number =>
            Assert.Contains($"SP-{number:000}", svg.ToString(), StringComparison.Ordinal));
    }

    [Fact]
    public void Plan_OverAnOlderPlan_ReplacesIt()
    {
        _bench.Write("plan.json", "old");
        Assert.Equal(ExitCode.Done,
            _bench.Run("plan", Bench.Morning, "--out", _bench.PathOf("plan.json"), "--iterations", "0"));
        Assert.NotNull(PlanFile.Parse(File.ReadAllText(_bench.PathOf("plan.json"))).Value);
        Assert.Equal(["plan.json"], _bench.Files);
    }

    [Fact]
    public void Plan_RequestThatCannotBePlaced_PlansTheRestAndExits3()
    {
        var day = _bench.WriteDay("day.json", root => root["requests"]![11]!["loadBy"] = "2026-03-02T08:00:30Z");
        Assert.Equal(ExitCode.LeftOut,
            _bench.Run("plan", day, "--out", _bench.PathOf("plan.json"), "--iterations", "20"));
        var plan = PlanFile.Parse(File.ReadAllText(_bench.PathOf("plan.json"))).Value!;
        Assert.Equal("R12", Assert.Single(plan.Unplaced).Request.Value);
        Assert.Contains("11 of 12 requests planned, 1 unplaced", _bench.Output, StringComparison.Ordinal);
        Assert.Contains("Unplaced: R12: " + LeftOutText.Of(plan.Unplaced[0].Why), _bench.Output,
            StringComparison.Ordinal);
        Assert.Equal(ExitCode.LeftOut, _bench.Run("check", day, _bench.PathOf("plan.json")));
    }

    [Fact]
    public void Plan_WindowThatTheGuardLeavesEmpty_IsUnplaced()
    {
        // The spread of the load is 10 s, the guard 15 s: a window of 24 s has no room.
        var day = _bench.WriteDay("day.json", root => root["assays"]![2]!["readWindow"] = "PT24S");
        Assert.Equal(ExitCode.LeftOut,
            _bench.Run("plan", day, "--out", _bench.PathOf("plan.json"), "--iterations", "20"));
        Assert.Equal(["R04", "R07", "R11"],
            PlanFile.Parse(File.ReadAllText(_bench.PathOf("plan.json"))).Value!.Unplaced.Select(left =>
                left.Request.Value).Order(StringComparer.Ordinal));
    }

    [Fact]
    public void Plan_CartridgeThatCannotBeSaved_IsLostAndExits3()
    {
        var day = _bench.WriteDay("day.json", root =>
        {
            root["now"] = "2026-03-02T09:00:00Z";
            root["state"] = JsonNode.Parse(
                """
                {
                  "cartridges": [ {
                    "request": "R01", "phase": "reacting",
                    "loadEnd": ["2026-03-02T08:20:00Z", "2026-03-02T08:20:10Z"], "slot": 1 } ]
                }
                """);
            root["requests"]![11]!.AsObject().Remove("loadBy");
        });
        Assert.Equal(ExitCode.LeftOut,
            _bench.Run("plan", day, "--out", _bench.PathOf("plan.json"), "--iterations", "20"));
        Assert.Contains("11 of 12 requests planned, 0 unplaced, 1 lost", _bench.Output, StringComparison.Ordinal);
        Assert.Contains("Lost: R01: ", _bench.Output, StringComparison.Ordinal);
    }

    [Fact]
    public void Plan_DayThatContradictsItself_SaysWhereAndWritesNothing()
    {
        var day = _bench.WriteDay("day.json",
            root => (root["requests"]![3]!["assay"], root["bench"]!["hands"]) = ("ZZ", 0));
        Assert.Equal(ExitCode.NotUnderstood,
            _bench.Run("plan", day, "--out", _bench.PathOf("plan.json"), "--chart", _bench.PathOf("chart.svg")));
        var lines = _bench.Error.TrimEnd().Split(Environment.NewLine);
        Assert.Equal(2, lines.Length);
        Assert.StartsWith($"{day}:1: $.bench.hands: ", lines[0], StringComparison.Ordinal);
        Assert.StartsWith(
            $"{day}:1: $.requests[3].assay: there is no assay ZZ in this file. Allowed: one of DA, DB, DC, DD.",
            lines[1], StringComparison.Ordinal);
        Assert.Equal(["day.json"], _bench.Files);
    }

    [Fact]
    public void Plan_BrokenJson_SaysTheLineAndWritesNothing()
    {
        var day = _bench.Write("day.json", "{\n  \"start\": \"2026-03-02T08:00:00Z\",\n");
        Assert.Equal(ExitCode.NotUnderstood, _bench.Run("plan", day, "--out", _bench.PathOf("plan.json")));
        Assert.StartsWith(day + ":3: $: this is not JSON: ", _bench.Error, StringComparison.Ordinal);
        Assert.Equal(["day.json"], _bench.Files);
    }

    [Fact]
    public void Plan_MoreFaultsThanAreTold_SaysThatThereMayBeMore()
    {
        var day = _bench.WriteDay("day.json", root =>
        {
            for (var i = 0; i < 30; i++)
                root["member" + i] = i;
        });
        Assert.Equal(ExitCode.NotUnderstood, _bench.Run("plan", day, "--out", _bench.PathOf("plan.json")));
        Assert.Contains("only the first 20 errors", _bench.Error, StringComparison.Ordinal);
    }

    [Fact]
    public void Plan_FileThatIsMissingOrAFolderOrNoText_IsToldInASentence()
    {
        Assert.Equal(ExitCode.NotUnderstood,
            _bench.Run("plan", _bench.PathOf("none.json"), "--out", _bench.PathOf("plan.json")));
        Assert.Contains("no such file", _bench.Error, StringComparison.Ordinal);
        Assert.Equal(ExitCode.NotUnderstood,
            _bench.Run("plan", _bench.PathOf("."), "--out", _bench.PathOf("plan.json")));
        Assert.Contains("is a folder", _bench.Error, StringComparison.Ordinal);
        File.WriteAllBytes(_bench.PathOf("bytes"), [0x7B, 0xFF, 0xFE, 0x7D]);
        Assert.Equal(ExitCode.NotUnderstood,
            _bench.Run("plan", _bench.PathOf("bytes"), "--out", _bench.PathOf("plan.json")));
        Assert.Contains("not UTF-8 text", _bench.Error, StringComparison.Ordinal);
        using (var large = File.Create(_bench.PathOf("large")))
            large.SetLength(10_000_001);
        Assert.Equal(ExitCode.NotUnderstood,
            _bench.Run("plan", _bench.PathOf("large"), "--out", _bench.PathOf("plan.json")));
        Assert.Contains("larger than 10 MB", _bench.Error, StringComparison.Ordinal);
        Assert.Equal(["bytes", "large"], _bench.Files);
    }

    [Fact]
    public void Plan_OutWhereNoFileCanBe_IsToldBeforeAnyPlanning()
    {
        var never = new StepClock();
        var day = _bench.WriteDay("day.json", _ => { });
        Assert.Equal(ExitCode.NotUnderstood,
            _bench.Run(never, "plan", day, "--out", _bench.PathOf("nowhere/plan.json")));
        Assert.Contains("no such folder", _bench.Error, StringComparison.Ordinal);
        Assert.Equal(ExitCode.NotUnderstood,
            _bench.Run(never, "plan", day, "--out", _bench.PathOf("plan.json"), "--chart",
                _bench.PathOf("nowhere/chart.svg")));
        Assert.Contains("--chart", _bench.Error, StringComparison.Ordinal);
        Assert.Equal(ExitCode.NotUnderstood, _bench.Run(never, "plan", day, "--out", _bench.PathOf(".")));
        Assert.Contains("is a folder", _bench.Error, StringComparison.Ordinal);
        Assert.Equal(0, never.GetTimestamp());
        Assert.Equal(["day.json"], _bench.Files);
    }

    [Fact]
    public void Plan_OutThatWouldReplaceTheDayOrTheChart_IsRefused()
    {
        var day = _bench.WriteDay("day.json", _ => { });
        var before = File.ReadAllText(day);
        Assert.Equal(ExitCode.NotUnderstood, _bench.Run("plan", day, "--out", _bench.PathOf("./day.json")));
        Assert.Equal(ExitCode.NotUnderstood,
            _bench.Run("plan", day, "--out", _bench.PathOf("x"), "--chart", _bench.PathOf("x")));
        Assert.Contains("would replace", _bench.Error, StringComparison.Ordinal);
        Assert.Equal(before, File.ReadAllText(day));
        Assert.Equal(["day.json"], _bench.Files);
    }

    [Fact]
    public void Plan_OutThatIsALink_WritesTheFileThatItNames()
    {
        _bench.Write("real.json", "old");
        File.CreateSymbolicLink(_bench.PathOf("link.json"), _bench.PathOf("real.json"));
        Assert.Equal(ExitCode.Done,
            _bench.Run("plan", Bench.Morning, "--out", _bench.PathOf("link.json"), "--iterations", "0"));
        Assert.NotNull(new FileInfo(_bench.PathOf("link.json")).LinkTarget);
        Assert.NotNull(PlanFile.Parse(File.ReadAllText(_bench.PathOf("real.json"))).Value);
    }

    [Theory]
    [InlineData("--time", "PT1S", "--iterations", "5")]
    [InlineData("--time", "1s")]
    [InlineData("--time", "-PT1S")]
    [InlineData("--time", "PT2H")]
    [InlineData("--iterations", "-5")]
    [InlineData("--iterations", "many")]
    [InlineData("--iterations", "1.5")]
    [InlineData("--iterations", "9999999999999999999")]
    [InlineData("--iterations")]
    [InlineData("--seed", "-1")]
    [InlineData("--seed", "one")]
    [InlineData("--colour", "blue")]
    public void Plan_OptionsThatMakeNoSense_AreToldInASentence(params string[] options)
    {
        Assert.Equal(ExitCode.NotUnderstood,
            _bench.Run(["plan", Bench.Morning, "--out", _bench.PathOf("plan.json"), .. options]));
        Assert.False(string.IsNullOrWhiteSpace(_bench.Error));
        Assert.Contains("--help", _bench.Error, StringComparison.Ordinal);
        Assert.DoesNotContain("Exception", _bench.Error, StringComparison.Ordinal);
        Assert.Empty(_bench.Files);
    }
}
