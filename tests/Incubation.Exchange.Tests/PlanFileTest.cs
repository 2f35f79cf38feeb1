using System.Text.Json.Nodes;
using Incubation.Model;
using Incubation.Planning;
using NodaTime;
using Xunit;

namespace Incubation.Exchange.Tests;

public sealed class PlanFileTest
{
    [Fact]
    public void Parse_EveryMember_ReadsIt()
    {
        var plan = PlanFile.Parse(Sample.Plan).Value!;
        Assert.Equal(
            [typeof(StepAction.Mix), typeof(StepAction.Load), typeof(StepAction.Load), typeof(StepAction.CardChange),
                typeof(StepAction.Move), typeof(StepAction.Read), typeof(StepAction.Clear), typeof(StepAction.Discard)],
            plan.Steps.Select(step => step.Action.GetType()));
        Assert.Equal(new PlannedStep(new StepAction.Load(new("R01"), new CartridgePlace.InSlot(new(3))),
            new HandsNumber(1), Instant.FromUtc(2026, 3, 2, 8, 0, 50), Instant.FromUtc(2026, 3, 2, 8, 1, 15)),
            plan.Steps[1]);
        Assert.Equal(new StepAction.Load(new("R02"), new CartridgePlace.InReader(new(2))), plan.Steps[2].Action);
        Assert.Equal(new StepAction.CardChange(new(1), new("A1-L1")), plan.Steps[3].Action);
        Assert.Null(plan.Steps[5].Hands);
        Assert.Equal((1877.125, 1785.0, false), (plan.Cost, plan.Bound, plan.Proved));
        Assert.Equal((Duration.FromMilliseconds(1_877_125), Duration.Zero), (plan.Finish, plan.Late));
        Assert.Equal([new RequestId("R07")], plan.GuardUsed);
        Assert.Equal([new LeftOut(new("R09"), new LeftOutReason.InWords("its read window is empty"))], plan.Unplaced);
        Assert.Equal([new LeftOut(new("R03"), new LeftOutReason.InWords("its window has closed"))], plan.Lost);
    }

    [Fact]
    public void Write_Plan_ReadsBackTheSame()
    {
        var plan = PlanFile.Parse(Sample.Plan).Value!;
        var written = PlanFile.Write(plan);
        var again = PlanFile.Parse(written).Value!;
        Assert.Equal(plan.Steps, again.Steps);
        Assert.Equal(plan.Unplaced.Concat(plan.Lost), again.Unplaced.Concat(again.Lost));
        Assert.Equal(plan.GuardUsed, again.GuardUsed);
        Assert.Equal((plan.Cost, plan.Finish, plan.Late, plan.Bound, plan.Proved),
            (again.Cost, again.Finish, again.Late, again.Bound, again.Proved));
        Assert.Equal(written, PlanFile.Write(again));
        Assert.Equal(JsonNode.Parse(Sample.Plan)!.ToJsonString(), JsonNode.Parse(written)!.ToJsonString());
    }

    [Fact]
    public void Write_Plan_PutsEachRowOnALineOfItsOwn()
    {
        var lines = PlanFile.Write(PlanFile.Parse(Sample.Plan).Value!).Split('\n');
        Assert.Equal(8, lines.Count(line => line.Contains("\"step\":", StringComparison.Ordinal)));
        Assert.Equal("", lines[^1]);
    }

    [Theory]
    [InlineData("$.steps[0].colour", "colour", "\"blue\"")]
    [InlineData("$.steps[0].reader", "reader", "1")] // a mix needs none
    [InlineData("$.steps[0].hands", "hands", "0")]
    [InlineData("$.steps[0].step", "step", "\"shake\"")]
    [InlineData("$.steps[0].end", "end", "\"2026-03-02T07:59:59Z\"")]
    [InlineData("$.steps[0].start", "start", "\"8 o'clock\"")]
    [InlineData("$.steps[0].request", "request", "null")]
    public void Parse_RowThatCannotBe_IsAFault(string path, string member, string value) =>
        Sample.AssertFault(path,
            PlanFile.Parse(Sample.Change(Sample.Plan, root => root["steps"]![0]![member] = JsonNode.Parse(value))));

    [Fact]
    public void Parse_LoadIntoSlotAndReader_IsAFault()
    {
        Sample.AssertFault("$.steps[1]",
            PlanFile.Parse(Sample.Change(Sample.Plan, root => root["steps"]![1]!["reader"] = 1)));
        Sample.AssertFault("$.steps[1]",
            PlanFile.Parse(Sample.Change(Sample.Plan, root => root["steps"]![1]!.AsObject().Remove("slot"))));
    }

    [Fact]
    public void Parse_HandsOfARead_AreAFault() =>
        Sample.AssertFault("$.steps[5].hands",
            PlanFile.Parse(Sample.Change(Sample.Plan, root => root["steps"]![5]!["hands"] = 1)));

    [Theory]
    [InlineData("steps")]
    [InlineData("cost")]
    [InlineData("finish")]
    [InlineData("late")]
    [InlineData("bound")]
    [InlineData("proved")]
    [InlineData("guardUsed")]
    [InlineData("unplaced")]
    [InlineData("lost")]
    public void Parse_MemberMissingOrUnknown_IsAFault(string member)
    {
        Sample.AssertFault("$", PlanFile.Parse(Sample.Change(Sample.Plan, root => root.Remove(member))));
        Sample.AssertFault("$." + member,
            PlanFile.Parse(Sample.Change(Sample.Plan, root => root[member] = "nonsense")));
        Sample.AssertFault("$." + member + "s",
            PlanFile.Parse(Sample.Change(Sample.Plan, root => root[member + "s"] = 1)));
    }

    [Theory]
    [InlineData("cost", "-1")]
    [InlineData("cost", "1e999")]
    [InlineData("bound", "1e999")]
    [InlineData("late", "\"-PT1S\"")]
    [InlineData("finish", "\"PT1.0005S\"")]
    public void Parse_FigureThatCannotBe_IsAFault(string member, string value) =>
        Sample.AssertFault("$." + member,
            PlanFile.Parse(Sample.Change(Sample.Plan, root => root[member] = JsonNode.Parse(value))));

    [Fact]
    public void Parse_LeftOutWithoutReason_IsAFault() =>
        Sample.AssertFault("$.lost[0].why",
            PlanFile.Parse(Sample.Change(Sample.Plan, root => root["lost"]![0]!["why"] = "")));
}
