using System.Text.Json.Nodes;
using Xunit;

namespace Incubation.Cli.Tests;

public sealed class CheckCommandTest : IDisposable
{
    private readonly Bench _bench = new();
    private readonly string _plan;

    public CheckCommandTest()
    {
        _plan = _bench.PathOf("plan.json");
        Assert.Equal(ExitCode.Done, _bench.Run("plan", Bench.Morning, "--out", _plan, "--iterations", "0"));
    }

    public void Dispose() => _bench.Dispose();

    [Fact]
    public void Check_ValidPlan_SaysSoAndWhatItComesTo()
    {
        Assert.Equal(ExitCode.Done, _bench.Run("check", Bench.Morning, _plan));
        Assert.Contains("keeps every rule", _bench.Output, StringComparison.Ordinal);
        Assert.Contains("12 of 12 requests planned", _bench.Output, StringComparison.Ordinal);
        Assert.Equal("", _bench.Error);
    }

    [Fact]
    public void Check_PlanThatBreaksARule_SaysRuleRowAndWords()
    {
        var root = JsonNode.Parse(File.ReadAllText(_plan))!;
        var steps = root["steps"]!.AsArray();
        var clear = steps.Select((step, index) => (step, index))
            .Last(row => (string)row.step!["step"]! == "clear").index;
        steps[clear]!["start"] = "2026-03-02T08:00:00Z";
        Assert.Equal(ExitCode.RuleBroken,
            _bench.Run("check", Bench.Morning, _bench.Write("broken.json", root.ToJsonString())));
        Assert.Contains($"Rule 5, $.steps[{clear}]: clear of {steps[clear]!["request"]}", _bench.Output,
            StringComparison.Ordinal);
        Assert.Contains("breaks rules", _bench.Output, StringComparison.Ordinal);
    }

    [Fact]
    public void Check_PlanOfAnotherForm_SaysSo()
    {
        var root = JsonNode.Parse(File.ReadAllText(_plan))!;
        root["unplaced"] = JsonNode.Parse("""[ { "request": "R99", "why": "unknown" } ]""");
        Assert.Equal(ExitCode.RuleBroken,
            _bench.Run("check", Bench.Morning, _bench.Write("broken.json", root.ToJsonString())));
        Assert.Contains("Form, $: the plan names request R99", _bench.Output, StringComparison.Ordinal);
    }

    [Fact]
    public void Check_BothFilesNotUnderstood_TellsOfBoth()
    {
        var day = _bench.Write("day.json", "{}");
        var plan = _bench.Write("other.json", "[]");
        Assert.Equal(ExitCode.NotUnderstood, _bench.Run("check", day, plan));
        Assert.Contains($"{day}:1: $: the member start is missing", _bench.Error, StringComparison.Ordinal);
        Assert.Contains($"{plan}:1: $: it is a list. Allowed: an object.", _bench.Error, StringComparison.Ordinal);
        Assert.Equal("", _bench.Output);
    }

    [Fact]
    public void Check_WithoutItsFiles_SaysWhatIsMissing()
    {
        Assert.Equal(ExitCode.NotUnderstood, _bench.Run("check"));
        Assert.Contains("--help", _bench.Error, StringComparison.Ordinal);
        Assert.Equal(ExitCode.NotUnderstood, _bench.Run());
        Assert.Equal(ExitCode.NotUnderstood, _bench.Run("bake", Bench.Morning));
    }

    [Fact]
    public void Help_OfEachCommand_IsNoFault()
    {
        Assert.Equal(ExitCode.Done, _bench.Run("--help"));
        Assert.Contains("incubation", _bench.Output, StringComparison.Ordinal);
        Assert.Equal(ExitCode.Done, _bench.Run("plan", "--help"));
        Assert.Contains("--iterations", _bench.Output, StringComparison.Ordinal);
    }
}
