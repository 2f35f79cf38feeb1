using Incubation.Bench;
using Incubation.Clinic;
using Incubation.Clinic.Stock;
using Incubation.Model;
using Incubation.Model.Controls;
using Incubation.Records.Batches;
using Incubation.Service.Gates;
using Incubation.Service.Record;
using Incubation.Service.Requests;
using Incubation.Service.Tests.Support;
using NodaTime;
using static Incubation.Service.Tests.Support.ControlsHouse;

namespace Incubation.Service.Tests.Controls;

/// <summary>Controls end to end, without a screen: due, run, judged, failed, put right.</summary>
public sealed class ControlServiceTest : IAsyncLifetime
{
    private ControlsHouse? house;

    private ControlsHouse House => house!;

    public async ValueTask InitializeAsync() => house = await ControlsHouse.OpenAsync();

    public async ValueTask DisposeAsync()
    {
        if (house is not null)
            await house.DisposeAsync();
    }

    /// <summary>A corrective action's words ran together on the batch record, which lacked its device.</summary>
    [Fact]
    public async Task ACorrectiveAction_StandsOnTheBatchRecordWithItsDeviceAndItsWordsApart()
    {
        await House.SetTargets();
        await House.AddPatient("SP-1");
        await House.AddControls();
        await House.Must(new BenchCommand.StartBatch());
        await House.RunControl(1, "213");
        Assert.True((await House.Desk.TakeActionAsync(Ines, Kit,
            House.Clinic.Log.Controls.Of(Kit).AwaitingAction.Select(run => run.Request), "Old vial",
            "New vial")).IsDone);

        var book = new CartridgeProjection(House.File, House.Clinic.Log.Amended);
        var line = Assert.Single(new BatchSheet(book.Batch(BenchOne, 1)!, House.Clinic.Facts, House.Clinic.Log)
            .Happenings, line => line.What.Contains("Corrective action", StringComparison.Ordinal));
        Assert.Equal(("Corrective action for lot DA-L1: found \"Old vial\"; done \"New vial\"", "ines", "browser-ines"),
            (line.What, line.Who, line.Device));
    }

    [Fact]
    public async Task APatient_OfAControlledLot_WaitsFromItsIntakeOn()
    {
        await House.AddPatient("SP-1");
        Assert.Equal(LotGate.AwaitingControls, House.Gate);
        Assert.Equal(NotPlannedCause.ControlsAwaited,
            LiveBench.View(House.State, House.Clock.Now).NotPlanned.Single().Cause);
    }

    [Fact]
    public async Task AddDue_WithoutATarget_SaysWhichLevelsHaveNone()
    {
        Assert.Empty(House.Desk.DueOn(House.State));
        await House.AddPatient("SP-1");
        var due = House.Desk.DueOn(House.State).Single();
        Assert.Equal([1, 2], due.Missing);
        Assert.Equal(ControlsWords.NothingDue, (await House.Desk.AddDueAsync(Lena, BenchOne, Kit)).Fault);
    }

    [Fact]
    public async Task AddDue_PutsOneControlOfEachLevelOnTheBatch_Once()
    {
        await House.SetTargets();
        await House.AddPatient("SP-1");
        Assert.True(House.Desk.DueOn(House.State).Single().IsWanted);
        await House.AddControls();
        var controls = House.State.Cartridges.Where(cartridge => cartridge.Wanted.Request.Kind == RequestKind.Control)
            .ToList();
        Assert.Equal(["CTRL-7 L1", "CTRL-7 L2"], controls.Select(cartridge => cartridge.Wanted.Request.Specimen.Value));
        Assert.Equal([1, 2], controls.Select(cartridge => cartridge.Wanted.Facts!.Control!.Level));
        Assert.Empty(House.Desk.DueOn(House.State).Single().Levels);
        Assert.Equal(ControlsWords.NothingDue, (await House.Desk.AddDueAsync(Lena, BenchOne, Kit)).Fault);
    }

    [Fact]
    public async Task GoodControls_OpenTheLot_AndCloseItOnTheNextDay()
    {
        await Begin();
        await House.RunControl(1, "203.5");
        Assert.Equal(LotGate.AwaitingControls, House.Gate);
        await House.RunControl(2, "251");
        Assert.Equal(LotGate.Open, House.Gate);
        Assert.Empty(House.Desk.DueOn(House.State));

        House.Time.Advance(TimeSpan.FromHours(24));
        await House.Gates.SettleAsync();
        Assert.Equal(LotGate.AwaitingControls, House.Gate);
    }

    [Fact]
    public async Task GoodControls_MoreOfTheLotComesIn_AreDueAgain()
    {
        await using var house =
            await ControlsHouse.OpenAsync(new ControlPolicy(1, EachDay: false, NewLot: true, NewShipment: true,
                AfterService: false, ControlGate.Wait));
        await house.SetTargets();
        await house.AddPatient("SP-1");
        await house.AddControls();
        await house.Must(new BenchCommand.StartBatch());
        await house.RunControl(1, "203.5");
        Assert.Equal(LotGate.Open, house.Gate);

        house.Time.Advance(TimeSpan.FromMinutes(1));
        house.Clinic.Log.Record(new ClinicEvent.StockReceived(StockKind.Kit, Kit, new AssayCode("DA"),
            new LocalDate(2030, 1, 1), 25, null, null), house.Provenance());
        await house.Gates.SettleAsync();
        Assert.Equal(LotGate.AwaitingControls, house.Gate);
    }

    [Fact]
    public async Task AFailedControl_BlocksHoldsAndIsMadeGoodByActionAndRepeat()
    {
        await Begin();
        await House.RunControl(1, "200");
        await House.RunControl(2, "250");
        var patient = House.State.Cartridges.First(cartridge => cartridge.Wanted.Request.Kind == RequestKind.Patient);
        await House.RunThrough(patient);
        await House.Must(new BenchCommand.ResultEntered(patient.Id, new ShownResult.Value("4.2")));
        Assert.False(House.State.Find(patient.Id)!.IsHeld);
        await House.AddPatient("SP-2");
        var reacting = House.State.Cartridges[^1];
        await House.RunThrough(reacting);
        // Held for another reason, and released by a person: that was released all the same.
        await House.AddPatient("SP-3");
        var unlike = House.State.Cartridges[^1];
        await House.RunThrough(unlike);
        await House.Must(new BenchCommand.ResultEntered(unlike.Id, new ShownResult.Value("5.1"), ShownIdentity.None));
        Assert.True(House.State.Find(unlike.Id)!.IsHeld);
        await House.Must(new BenchCommand.ReleaseResult(unlike.Id, "The label was read again."));

        House.Time.Advance(TimeSpan.FromHours(1));
        Assert.True((await House.Desk.ServicedAsync(Ines, BenchOne, new ReaderNumber(1), "Optics cleaned.")).IsDone);
        await House.AddControls();
        await House.RunControl(1, "213");

        Assert.Equal(LotGate.Failed, House.Gate);
        Assert.Contains(Deviation.ControlsFailed, House.State.Find(reacting.Id)!.Deviations);
        Assert.False(House.State.Find(patient.Id)!.IsHeld);
        Assert.Equal([patient.Id, unlike.Id], House.Desk.ToReview(Kit).Select(line => line.Result.Request));
        Assert.Empty(House.Desk.DueOn(House.State).Single().Levels);

        var rejected = House.Clinic.Log.Controls.Of(Kit).AwaitingAction;
        Assert.Equal(ControlRule.OneThreeS, rejected.Single().Violations[^1].Rule);
        Assert.Equal(Words.NotAllowed,
            (await House.Desk.TakeActionAsync(Lena, Kit, rejected.Select(run => run.Request), "Old vial.",
                "New vial.")).Fault);
        Assert.Equal(ControlsWords.RefusedWordsMissing,
            (await House.Desk.TakeActionAsync(Ines, Kit, rejected.Select(run => run.Request), "Old vial.", " ")).Fault);
        Assert.True(
            (await House.Desk.TakeActionAsync(Ines, Kit, rejected.Select(run => run.Request), "Old vial.",
                "New vial.")).IsDone);
        Assert.True(
            (await House.Desk.ReviewAsync(Ines, Kit, House.Desk.ToReview(Kit).Select(line => line.Result),
                "Repeated, the same.")).IsDone);
        Assert.Empty(House.Desk.ToReview(Kit));
        Assert.Equal(LotGate.Failed, House.Gate);

        // The second control of the set that failed is still open: it counts as its level's repeat.
        Assert.Equal([1], House.Desk.DueOn(House.State).Single().Levels.Select(control => control.Level));
        await House.AddControls();
        await House.RunControl(2, "249");
        await House.RunControl(1, "199");
        Assert.Equal(LotGate.Open, House.Gate);
        Assert.True(House.State.Find(reacting.Id)!.IsHeld);
    }

    /// <summary>A batch that is closed right after a control's result came in takes no failure with it.</summary>
    [Fact]
    public async Task ABatchClosedBeforeItsControlWasJudged_HasItJudged()
    {
        await Begin();
        await House.RunControl(1, "213", settle: false);
        Assert.Empty(House.Clinic.Log.Controls.Of(Kit).Runs);
        await new CarriedOver(House.Clinic, House.Clock, House.Gates).WithLotsAsync(House.Runner);
        Assert.Equal(ControlVerdict.Rejected, House.Clinic.Log.Controls.Of(Kit).Runs.Single().Verdict);
        Assert.Equal(LotGate.Failed, House.Gate);
    }

    [Fact]
    public async Task AResultInBeforeTheServerDied_IsJudgedByTheNext()
    {
        await Begin();
        await House.RunControl(1, "213", settle: false);
        Assert.Empty(House.Clinic.Log.Controls.Of(Kit).Runs);
        await House.Crash();
        await House.Gates.SettleAsync();
        Assert.Equal(ControlVerdict.Rejected, House.Clinic.Log.Controls.Of(Kit).Runs.Single().Verdict);
        Assert.Equal(LotGate.Failed, House.Gate);
        await House.Gates.SettleAsync();
        Assert.Single(House.Clinic.Log.Controls.Of(Kit).Runs);
    }

    [Fact]
    public async Task TheWatch_JudgesAsSoonAsAResultStandsInTheLog()
    {
        using var watch = new ControlWatch(House.Gates, House.Book, House.Clock,
            Microsoft.Extensions.Logging.Abstractions.NullLogger<ControlWatch>.Instance);
        await watch.StartAsync(TestContext.Current.CancellationToken);
        await Begin();
        await House.RunControl(1, "200", settle: false);
        await House.RunControl(2, "250", settle: false);
        await House.Until(() => House.Gate == LotGate.Open);
        Assert.Equal(2, House.Clinic.Log.Controls.Of(Kit).Runs.Count);
        await watch.StopAsync(TestContext.Current.CancellationToken);
    }

    [Theory]
    [InlineData(null, "4", "mean")]
    [InlineData("1e999", "4", "mean")]
    [InlineData("200", "0", "deviation")]
    [InlineData("200", "-4", "deviation")]
    [InlineData("200", "<b>", "deviation")]
    public async Task SetTarget_WithWhatIsNone_SaysSoBesideItsField(string? mean, string deviation, string member)
    {
        var faults = await House.Desk.SetTargetAsync(Ines, Da, "CTRL-7", 1, mean, deviation);
        Assert.Equal(member, Assert.Single(faults).Member);
        Assert.Empty(House.Clinic.Log.Controls.Targets);
    }

    [Fact]
    public async Task SetTarget_ByAnAide_IsRefused() =>
        Assert.Equal(Words.NotAllowed,
            Assert.Single(await House.Desk.SetTargetAsync(Lena, Da, "CTRL-7", 1, "200", "4")).Sentence);

    [Fact]
    public async Task AdoptOwn_WithTooFewRuns_SaysHowMany()
    {
        await House.SetTargets();
        var outcome = await House.Desk.AdoptOwnAsync(Ines, Da, new ControlMaterial(new LotCode("CTRL-7"), 1));
        Assert.Contains("20", outcome.Fault, StringComparison.Ordinal);
    }

    /// <summary>Results are held while the lot's controls are due, and released when they are accepted.</summary>
    [Fact]
    public async Task HoldResults_APatientRunsBefore_AndIsReleasedAfterTheControls()
    {
        await House.DisposeAsync();
        house = await ControlsHouse.OpenAsync(new ControlPolicy(1, true, false, false, false, ControlGate.HoldResults));
        await House.SetTargets();
        await House.AddPatient("SP-1");
        Assert.Equal(LotGate.ResultsHeld, House.Gate);
        await House.Must(new BenchCommand.StartBatch());
        var patient = House.State.Cartridges.Single();
        await House.RunThrough(patient);
        await House.Must(new BenchCommand.ResultEntered(patient.Id, new ShownResult.Value("4.2")));
        Assert.True(House.State.Find(patient.Id)!.IsHeld);
        await House.AddControls();
        await House.RunControl(1, "201");
        Assert.False(House.State.Find(patient.Id)!.IsHeld);
    }

    private async Task Begin()
    {
        await House.SetTargets();
        await House.AddPatient("SP-1");
        await House.AddControls();
        await House.Must(new BenchCommand.StartBatch());
    }
}
