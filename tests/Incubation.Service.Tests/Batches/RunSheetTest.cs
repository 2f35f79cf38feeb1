using Incubation.Bench;
using Incubation.Model;
using Incubation.Service.Batches;
using Incubation.Service.Tests.Support;
using NodaTime;

namespace Incubation.Service.Tests.Batches;

/// <summary>The plan on paper.</summary>
public sealed class RunSheetTest
{
    private static readonly RequestId R1 = new("R1");

    [Fact]
    public async Task Steps_BeforeTheStart_CountFromItInThePlansOrder()
    {
        await using var rig = await BenchRig.OpenAsync();
        await rig.Must(new BenchCommand.AddRequests([BenchRig.Request("R1")]));
        await rig.UntilPlanned(PlanCause.RequestsChanged);

        var steps = RunSheet.Steps(rig.State, DateTimeZone.Utc);

        Assert.Equal(5, steps.Count);
        Assert.Equal(Enumerable.Range(1, 5), steps.Select(step => step.Number));
        Assert.Equal(("+ 0:00", "Mix SP-R1"), (steps[0].At, steps[0].Title));
        Assert.StartsWith("+ ", steps.Single(step => step.Title.StartsWith("Move", StringComparison.Ordinal)).Latest,
            StringComparison.Ordinal);
        Assert.All(steps, step => Assert.Empty(step.Hands));
    }

    [Fact]
    public async Task Cartridges_BeforeTheStart_WindowsCountFromTheLoad()
    {
        await using var rig = await BenchRig.OpenAsync();
        await rig.Must(new BenchCommand.AddRequests([BenchRig.Request("R1", priority: Priority.Urgent)]));
        await rig.UntilPlanned(PlanCause.RequestsChanged);

        var one = Assert.Single(RunSheet.Cartridges(rig.Present, DateTimeZone.Utc));

        Assert.Equal(("SP-R1", "DA-L1", "slot 1", true, "2:00"),
            (one.Specimen, one.Lot, one.Place, one.IsUrgent, one.LoadWithin));
        Assert.Equal(("", "+ 8:00", "+ 9:30"), (one.Loaded, one.Opens, one.Closes));
    }

    [Fact]
    public async Task Cartridges_Reacting_WindowByTheClock()
    {
        await using var rig = await BenchRig.OpenAsync();
        await rig.Begin(BenchRig.Request("R1"), BenchRig.Request("R2"));
        rig.Advance(Duration.FromSeconds(50));
        await rig.Must(new BenchCommand.Mixed(R1));
        rig.Advance(Duration.FromSeconds(25));
        await rig.Must(new BenchCommand.Loaded(R1, new CartridgePlace.InSlot(new SlotNumber(3)), false));
        await rig.Until(view => view.State.Find(R1)!.Phase is CartridgePhase.Reacting);

        var sheet = RunSheet.Cartridges(rig.Present, DateTimeZone.Utc);

        Assert.Equal(["SP-R1", "SP-R2"], sheet.Select(one => one.Specimen));
        Assert.Equal(("slot 3", "", "08:01:15", "08:09:15"),
            (sheet[0].Place, sheet[0].LoadWithin, sheet[0].Loaded, sheet[0].Opens));
        Assert.Contains(':', RunSheet.Steps(rig.State, DateTimeZone.Utc)[0].At);
        Assert.DoesNotContain('+', RunSheet.Steps(rig.State, DateTimeZone.Utc)[0].At);
    }

    [Fact]
    public async Task Cartridges_ReportsDisagreeAboutOne_ItsWindowStandsAndItsPlaceIsAsked()
    {
        await using var rig = await BenchRig.OpenAsync();
        await rig.Begin(BenchRig.Request("R1"), BenchRig.Request("R2"));
        rig.Advance(Duration.FromSeconds(50));
        await rig.Must(new BenchCommand.Mixed(R1));
        rig.Advance(Duration.FromSeconds(25));
        await rig.Must(new BenchCommand.Loaded(R1, new CartridgePlace.InSlot(new SlotNumber(3)), false));
        rig.Advance(Duration.FromSeconds(60));
        await rig.Must(new BenchCommand.Mixed(new RequestId("R2")));
        rig.Advance(Duration.FromSeconds(25));
        await rig.Must(new BenchCommand.Loaded(new RequestId("R2"), new CartridgePlace.InSlot(new SlotNumber(3)),
            false));
        await rig.Until(view => view.State.Find(R1)!.Stage is CartridgeStage.Astray);

        var astray = RunSheet.Cartridges(rig.Present, DateTimeZone.Utc).Single(one => one.Specimen == "SP-R1");

        Assert.Equal(("where?", "08:01:15", "08:09:15"), (astray.Place, astray.Loaded, astray.Opens));
    }

    [Fact]
    public async Task Steps_SeveralHands_SayWhose()
    {
        await using var rig = await BenchRig.OpenAsync(hands: 2);
        await rig.Must(new BenchCommand.AddRequests([BenchRig.Request("R1"), BenchRig.Request("R2")]));
        await rig.UntilPlanned(PlanCause.RequestsChanged);
        Assert.Contains("Hands 2", RunSheet.Steps(rig.State, DateTimeZone.Utc).Select(step => step.Hands));
    }

    [Fact]
    public async Task Sheet_NothingPlanned_IsEmpty()
    {
        await using var rig = await BenchRig.OpenAsync();
        Assert.Empty(RunSheet.Steps(rig.State, DateTimeZone.Utc));
        Assert.Empty(RunSheet.Cartridges(rig.Present, DateTimeZone.Utc));
    }
}
