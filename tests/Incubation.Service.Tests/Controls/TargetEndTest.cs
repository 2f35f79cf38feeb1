using Incubation.Bench;
using Incubation.Model.Controls;
using Incubation.Service.Decisions;
using Incubation.Service.Stock;
using Incubation.Service.Tests.Support;
using NodaTime;
using static Incubation.Service.Tests.Support.ControlsHouse;

namespace Incubation.Service.Tests.Controls;

/// <summary>A target with a last day judges nothing after it; what is missing is said before and then.</summary>
public sealed class TargetEndTest : IAsyncLifetime
{
    private ControlsHouse? house;

    private ControlsHouse House => house!;

    public async ValueTask InitializeAsync()
    {
        house = await ControlsHouse.OpenAsync();
        Assert.Empty(await House.Desk.SetTargetAsync(Ines, Da, "CTRL-7", 1, "200", "4", "2026-03-02"));
        Assert.Empty(await House.Desk.SetTargetAsync(Ines, Da, "CTRL-7", 2, "250", "5", "2026-05-01"));
        await House.AddPatient("SP-1");
        await House.AddControls();
        await House.Must(new BenchCommand.StartBatch());
    }

    public async ValueTask DisposeAsync()
    {
        if (house is not null)
            await house.DisposeAsync();
    }

    [Fact]
    public async Task OnItsLastDay_ControlsAreJudgedByIt()
    {
        await House.RunControl(1, "200");
        await House.RunControl(2, "250");
        Assert.Equal(LotGate.Open, House.Gate);
    }

    [Fact]
    public async Task AfterIt_TheControlIsNotJudged_TheGateStaysShut_AndWhatIsMissingIsSaid()
    {
        House.Time.Advance(TimeSpan.FromHours(24));
        await House.RunControl(1, "200");
        await House.RunControl(2, "250");
        var runs = House.Clinic.Log.Controls.Of(Kit).Runs;
        Assert.Equal([ControlVerdict.NotJudged, ControlVerdict.Accepted], runs.Select(run => run.Verdict));
        Assert.Null(runs[0].Target);
        Assert.Equal(LotGate.AwaitingControls, House.Gate);

        var due = House.Desk.DueOn(House.State).Single();
        Assert.Equal([1], due.Missing);
        Assert.Equal(new LocalDate(2026, 3, 2), Assert.Single(due.Ended).LastDay);

        Assert.Empty(await House.Desk.SetTargetAsync(Ines, Da, "CTRL-7", 1, "200", "4"));
        await House.AddControls();
        await House.RunControl(1, "201");
        Assert.Equal(LotGate.Open, House.Gate);
    }

    [Fact]
    public async Task EndingWithinTheDays_WaitsForADecision_UntilTheNextIsSetOrItIsRemoved()
    {
        Assert.Contains("ends on 2026-03-02", Assert.Single(Lines()).What, StringComparison.Ordinal);
        House.Time.Advance(TimeSpan.FromDays(30));
        Assert.Equal(["DA, control lot CTRL-7, level 1: the target ended on 2026-03-02",
            "DA, control lot CTRL-7, level 2: the target ends on 2026-05-01"], Lines().Select(line => line.What));
        Assert.Empty(await House.Desk.SetTargetAsync(Ines, Da, "CTRL-8", 1, "201", "4"));
        Assert.True((await House.Desk.RemoveTargetAsync(Ines, Da,
            House.Clinic.Log.Controls.Targets[1].Control, "The lot is used up.")).IsDone);
        Assert.Empty(Lines());
    }

    [Fact]
    public async Task ADayThatHasPassed_OrIsNone_IsAsked()
    {
        foreach (var end in new[] { "2026-03-01", "soon" })
            Assert.Equal("end", Assert.Single(
                await House.Desk.SetTargetAsync(Ines, Da, "CTRL-8", 1, "200", "4", end)).Member);
    }

    private List<DecisionLine> Lines() => [.. new ProgrammeDecisions(House.Clinic, new StockSettings(30))
        .Lines(House.Clock.Now.InZone(House.Clinic.Facts.Zone).Date).OrderBy(line => line.What)];
}
