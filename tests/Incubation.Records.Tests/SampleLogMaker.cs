using Incubation.Clinic.TestKit;
using System.Runtime.CompilerServices;
using Incubation.Bench;
using Incubation.Clinic;
using Incubation.Model;
using Incubation.Planning;
using Incubation.Records.Benches;
using Incubation.Records.Clinic;
using Incubation.Records.Export;
using Incubation.Records.Log;
using Incubation.Simulation;
using NodaTime;
using Xunit;

namespace Incubation.Records.Tests;

/// <summary>
/// Writes the samples into the source tree; runs only when asked:
/// <c>dotnet run --project tests/Incubation.Records.Tests -- -explicit only</c>. A sample that exists is left as it is.
/// After a change of an event's form add a sample with a name of its own: the old ones hold the old form.
/// </summary>
public sealed class SampleLogMaker
{
    [Fact(Explicit = true)]
    public void Make_ClinicStream_ExistsAfterwards()
    {
        using var folder = new TempFolder();
        using var file = DataFile.Open(folder.DataFile);
        ClinicLog.Open(file).Tell(ClinicStory.Commands);
        Keep(file, StreamName.Clinic, "clinic-2");
    }

    [Fact(Explicit = true)]
    public void Make_PeopleStream_ExistsAfterwards()
    {
        using var folder = new TempFolder();
        using var file = DataFile.Open(folder.DataFile);
        Assert.Empty(ClinicLog.Open(file).Tell(PeopleStory.Commands));
        Keep(file, StreamName.Clinic, "people-2");
    }

    [Fact(Explicit = true)]
    public void Make_Controls_ExistAfterwards()
    {
        using var folder = new TempFolder();
        using var file = DataFile.Open(folder.DataFile);
        Assert.Empty(ClinicLog.Open(file).Tell(ControlsStory.Commands));
        Keep(file, StreamName.Clinic, "controls-1");
    }

    [Fact(Explicit = true)]
    public void Make_Amendments_ExistAfterwards()
    {
        using var folder = new TempFolder();
        using var file = DataFile.Open(folder.DataFile);
        Assert.Empty(ClinicLog.Open(file).Tell(AmendmentStory.Commands));
        Keep(file, StreamName.Clinic, "amendments-1");
    }

    [Fact(Explicit = true)]
    public void Make_ControlsJudgedAnew_ExistAfterwards()
    {
        using var folder = new TempFolder();
        using var file = DataFile.Open(folder.DataFile);
        Assert.Empty(ClinicLog.Open(file).Tell([.. ControlsStory.Commands, .. ControlsStory.Anew]));
        Keep(file, StreamName.Clinic, "controls-2");
    }

    [Fact(Explicit = true)]
    public void Make_ATargetRemoved_ExistsAfterwards()
    {
        using var folder = new TempFolder();
        using var file = DataFile.Open(folder.DataFile);
        Assert.Empty(ClinicLog.Open(file).Tell([.. ControlsStory.Commands, .. ControlsStory.TargetRemoved]));
        Keep(file, StreamName.Clinic, "controls-3");
    }

    [Fact(Explicit = true)]
    public void Make_ATargetThatEnds_ExistsAfterwards()
    {
        using var folder = new TempFolder();
        using var file = DataFile.Open(folder.DataFile);
        Assert.Empty(ClinicLog.Open(file).Tell([.. ControlsStory.Commands, .. ControlsStory.TargetThatEnds]));
        Keep(file, StreamName.Clinic, "controls-4");
    }

    [Fact(Explicit = true)]
    public void Make_LotsCompared_ExistAfterwards()
    {
        using var folder = new TempFolder();
        using var file = DataFile.Open(folder.DataFile);
        Assert.Empty(ClinicLog.Open(file).Tell(ProgrammeStory.Compared));
        Keep(file, StreamName.Clinic, "programme-1");
    }

    [Fact(Explicit = true)]
    public void Make_ProficiencyTested_ExistsAfterwards()
    {
        using var folder = new TempFolder();
        using var file = DataFile.Open(folder.DataFile);
        Assert.Empty(ClinicLog.Open(file).Tell(ProgrammeStory.Proficiency));
        Keep(file, StreamName.Clinic, "programme-2");
    }

    [Fact(Explicit = true)]
    public void Make_Instruments_ExistAfterwards()
    {
        using var folder = new TempFolder();
        using var file = DataFile.Open(folder.DataFile);
        Assert.Empty(ClinicLog.Open(file).Tell([.. InstrumentsStory.Commands, InstrumentsStory.Erased]));
        Keep(file, StreamName.Clinic, "instruments-1");
    }

    [Fact(Explicit = true)]
    public void Make_Connections_ExistAfterwards()
    {
        using var folder = new TempFolder();
        using var file = DataFile.Open(folder.DataFile);
        Assert.Empty(ClinicLog.Open(file).Tell(ConnectionsStory.Commands));
        Keep(file, StreamName.Clinic, "connections-2");
    }

    [Fact(Explicit = true)]
    public void Make_Worklist_ExistsAfterwards()
    {
        using var folder = new TempFolder();
        using var file = DataFile.Open(folder.DataFile);
        Assert.Empty(ClinicLog.Open(file).Tell([.. WorklistStory.Commands, WorklistStory.Erased]));
        Keep(file, StreamName.Clinic, "worklist-1");
    }

    [Fact(Explicit = true)]
    public void Make_Panels_ExistAfterwards()
    {
        using var folder = new TempFolder();
        using var file = DataFile.Open(folder.DataFile);
        var panel = new PanelName("Chest pain");
        Assert.Empty(ClinicLog.Open(file).Tell(
        [
            .. ClinicStory.Commands,
            .. StoryCommand.Numbered(
                [[new ClinicEvent.PanelSet(panel, [ClinicStory.A, ClinicStory.B])],
                    [new ClinicEvent.PanelRemoved(panel)]], 700),
        ]));
        Keep(file, StreamName.Clinic, "panels-1");
    }

    [Fact(Explicit = true)]
    public void Make_Inspector_ExistsAfterwards()
    {
        using var folder = new TempFolder();
        using var file = DataFile.Open(folder.DataFile);
        Assert.Empty(ClinicLog.Open(file).Tell(
        [
            .. PeopleStory.Commands,
            .. StoryCommand.Numbered(
                [[new ClinicEvent.InspectorAdmitted(PersonId.Of("kim"), "Kim", new LocalDate(2026, 3, 9))]], 700),
        ]));
        Keep(file, StreamName.Clinic, "inspector-1");
    }

    [Fact(Explicit = true)]
    public void Make_ReorderPoints_ExistAfterwards()
    {
        using var folder = new TempFolder();
        using var file = DataFile.Open(folder.DataFile);
        Assert.Empty(ClinicLog.Open(file).Tell([.. StockStory.Commands, .. StockStory.Reordered]));
        Keep(file, StreamName.Clinic, "stock-reorder-1");
    }

    [Fact(Explicit = true)]
    public void Make_MovingMeans_ExistAfterwards()
    {
        using var folder = new TempFolder();
        using var file = DataFile.Open(folder.DataFile);
        Assert.Empty(ClinicLog.Open(file).Tell([.. ControlsStory.Commands, .. ControlsStory.MovingMeans]));
        Keep(file, StreamName.Clinic, "controls-5");
    }

    [Fact(Explicit = true)]
    public void Make_AReleaseAfterTheClose_ExistsAfterwards()
    {
        using var folder = new TempFolder();
        using var file = DataFile.Open(folder.DataFile);
        Assert.Empty(ClinicLog.Open(file).Tell([.. AmendmentStory.Commands, .. AmendmentStory.Released]));
        Keep(file, StreamName.Clinic, "amendments-2");
    }

    [Fact(Explicit = true)]
    public void Make_LateReports_ExistAfterwards()
    {
        using var folder = new TempFolder();
        using var file = DataFile.Open(folder.DataFile);
        Assert.Empty(ClinicLog.Open(file).Tell(LateReportStory.Commands));
        Keep(file, StreamName.Clinic, "late-reports-1");
    }

    [Fact(Explicit = true)]
    public void Make_BenchWithGates_ExistsAfterwards() => Keep(BenchStory.TellGates(), "bench-gates-1");

    [Fact(Explicit = true)]
    public void Make_BenchThatAwaitsAComparison_ExistsAfterwards() =>
        Keep(BenchStory.TellComparison(), "bench-gates-2");

    [Fact(Explicit = true)]
    public void Make_BenchWithProficiencyTesting_ExistsAfterwards() =>
        Keep(BenchStory.TellProficiency(), "bench-proficiency-1");

    [Fact(Explicit = true)]
    public void Make_BenchThatCannotPlanEverything_ExistsAfterwards() =>
        Keep(BenchStory.TellPlanTrouble(), "bench-plan-trouble-1");

    [Fact(Explicit = true)]
    public void Make_BenchWithResults_ExistsAfterwards() => Keep(BenchStory.TellResults(), "results-1");

    [Fact(Explicit = true)]
    public void Make_BenchWithAnImpossibleResult_ExistsAfterwards() =>
        Keep(BenchStory.TellAnImpossibleResult(), "results-2");

    [Fact(Explicit = true)]
    public void Make_BenchWithATimeThatWasPutRight_ExistsAfterwards() =>
        Keep(BenchStory.TellACorrectedTime(), "results-4");

    [Fact(Explicit = true)]
    public void Make_BenchWithNewsOfAReleasedResult_ExistsAfterwards() =>
        Keep(BenchStory.TellACorrectedTime(isReleased: true), "results-5");

    [Fact(Explicit = true)]
    public void Make_AmendmentsToTell_ExistAfterwards()
    {
        using var folder = new TempFolder();
        using var file = DataFile.Open(folder.DataFile);
        Assert.Empty(ClinicLog.Open(file).Tell([.. AmendmentStory.Commands, .. AmendmentStory.Questioned,
            .. AmendmentStory.ToldLater]));
        Keep(file, StreamName.Clinic, "amendments-3");
    }

    [Fact(Explicit = true)]
    public void Make_SecondLooks_ExistAfterwards()
    {
        using var folder = new TempFolder();
        using var file = DataFile.Open(folder.DataFile);
        Assert.Empty(ClinicLog.Open(file).Tell([.. AmendmentStory.Commands, .. AmendmentStory.SecondLooks]));
        Keep(file, StreamName.Clinic, "amendments-4");
        Keep(BenchStory.TellSecondLooks(), "results-3");
    }

    [Fact(Explicit = true)]
    public void Make_StockStream_ExistsAfterwards()
    {
        using var folder = new TempFolder();
        using var file = DataFile.Open(folder.DataFile);
        Assert.Empty(ClinicLog.Open(file).Tell(StockStory.Commands));
        Keep(file, StreamName.Clinic, "stock-1");
    }

    [Fact(Explicit = true)]
    public void Make_BenchMadeReady_ExistsAfterwards() => Keep(BenchStory.TellReadiness(), "readiness-2");

    [Fact(Explicit = true)]
    public void Make_BenchOfWhichNotAllIsKnown_ExistsAfterwards() =>
        Keep(BenchStory.TellNotKnown(), "bench-not-known-1");

    [Fact(Explicit = true)]
    public void Make_LockedTablet_ExistsAfterwards() => Keep(LockedTabletStory.Tell(), "locked-tablet-1");

    [Fact(Explicit = true)]
    public void Make_RequestsWithoutAValue_ExistAfterwards() => Keep(FatesStory.Tell(), "fates-1");

    [Fact(Explicit = true)]
    public void Make_PriorityChanged_ExistsAfterwards() => Keep(LockedTabletStory.Tell([
        .. new BenchCommand[]
        {
            BenchStory.Open,
            new BenchCommand.AddRequests([BenchStory.Request("R01", "A", 3), BenchStory.Request("R02", "A", 3)]),
            new BenchCommand.ChangePriority(RequestId.Of("R02"), Priority.Urgent),
            new BenchCommand.StartBatch(),
            new BenchCommand.ChangePriority(RequestId.Of("R02"), Priority.Routine),
        }.Select(command => (command, (Func<Provenance, Provenance>)(touch => touch))),
    ]), "priority-1");

    [Fact(Explicit = true)]
    public void Make_MessagesKeptForOtherDays_ExistAfterwards()
    {
        using var folder = new TempFolder();
        using var file = DataFile.Open(folder.DataFile);
        ClinicLog.Open(file).Tell([.. InstrumentsStory.Commands,
            new StoryCommand([new ClinicEvent.WireMessagesKept(30)], Rows.Provenance(730))]);
        Keep(file, StreamName.Clinic, "instruments-2");
    }

    [Fact(Explicit = true)]
    public void Make_ProbeExpected_ExistsAfterwards() => Keep(LockedTabletStory.Tell([
        .. new BenchCommand[]
        {
            BenchStory.Open,
            new BenchCommand.ExpectProbe(new DeviceId("key-probe"), Duration.FromMinutes(5)),
            new BenchCommand.ExpectProbe(new DeviceId("key-other"), Duration.FromMinutes(1)),
            new BenchCommand.TemperatureMeasured(new Celsius(25.5)),
            new BenchCommand.ExpectProbe(new DeviceId("key-other"), null),
        }.Select(command => (command, (Func<Provenance, Provenance>)(touch => touch))),
    ]), "probe-1");

    [Fact(Explicit = true)]
    public void Make_LabelsScanned_ExistsAfterwards() => Keep(LockedTabletStory.Tell([
        .. new BenchCommand[]
        {
            BenchStory.Open,
            new BenchCommand.AddRequests([BenchStory.Request("R01", "A", 3), BenchStory.Request("R02", "A", 3)]),
            new BenchCommand.StartBatch(),
            new BenchCommand.Mixed(RequestId.Of("R01")),
            Load("R01", 1) with { Scan = LabelScan.Scanned },
            new BenchCommand.Mixed(RequestId.Of("R02")),
            Load("R02", 2) with { Scan = LabelScan.OtherThanPlanned },
            new BenchCommand.ReadStarted(RequestId.Of("R01"), new ReaderNumber(1), false)
            { Scan = LabelScan.NotScanned },
        }.Select(command => (command, (Func<Provenance, Provenance>)(touch => touch))),
    ]), "labels-1");

    private static BenchCommand.Loaded Load(string request, int slot) =>
        new(RequestId.Of(request), new CartridgePlace.InSlot(new SlotNumber(slot)), false);

    [Fact(Explicit = true)]
    public void Make_LabelsAskedFor_ExistsAfterwards() => Keep(LockedTabletStory.Tell([
        .. new BenchCommand[]
        {
            BenchStory.Open,
            new BenchCommand.AskForLabels(LabelDemand.Demanded),
            new BenchCommand.AskForLabels(LabelDemand.Asked),
            new BenchCommand.AskForLabels(LabelDemand.Off),
        }.Select(command => (command, (Func<Provenance, Provenance>)(touch => touch))),
    ]), "labels-2");

    [Fact(Explicit = true)]
    public void Make_RequestChangedInItsRow_ExistsAfterwards() => Keep(LockedTabletStory.Tell([
        .. new BenchCommand[]
        {
            BenchStory.Open,
            new BenchCommand.AddRequests([BenchStory.Request("R01", "A", 3), BenchStory.Request("R02", "A", 3)]),
            new BenchCommand.ChangeDue(RequestId.Of("R02"), Instant.FromUtc(2026, 3, 2, 18, 30)),
            new BenchCommand.CommentRequest(RequestId.Of("R02"), "call ward 3"),
            new BenchCommand.StartBatch(),
            new BenchCommand.ChangeDue(RequestId.Of("R02"), null),
            new BenchCommand.CommentRequest(RequestId.Of("R02"), null),
            new BenchCommand.CommentRequest(RequestId.Of("R01"), "half a tube"),
        }.Select(command => (command, (Func<Provenance, Provenance>)(touch => touch))),
    ]), "request-changed-1");

    [Fact(Explicit = true)]
    public void Make_TabletWithAWrongClock_ExistsAfterwards() =>
        Keep(LockedTabletStory.TellOfAWrongClock(), "wrong-clock-1");

    [Fact(Explicit = true)]
    public void Make_ResultSentByAnother_ExistsAfterwards() =>
        Keep(LockedTabletStory.TellOfASentResult(), "sent-result-1");

    [Fact(Explicit = true)]
    public void Make_ClinicWhoseRecordWasLookedAt_ExistsAfterwards()
    {
        using var folder = new TempFolder();
        using var file = DataFile.Open(folder.DataFile);
        var clinic = ClinicLog.Open(file);
        clinic.Record(new ClinicEvent.ClinicOpened("Invented clinic", "Europe/Berlin"), Rows.Provenance(1));
        clinic.Record(new ClinicEvent.RecordExported("cartridges.csv"), Rows.Provenance(2));
        clinic.Record(new ClinicEvent.RecordSeen(Rows.Bench, 3), Rows.Provenance(3));
        clinic.Record(new ClinicEvent.RecordSeen(null, null), Rows.Provenance(4));
        Keep(file, StreamName.Clinic, "clinic-access-1");
    }

    [Fact(Explicit = true)]
    public void Make_ClinicWhoseUncheckedResultsWereSeen_ExistsAfterwards()
    {
        using var folder = new TempFolder();
        using var file = DataFile.Open(folder.DataFile);
        var clinic = ClinicLog.Open(file);
        clinic.Record(new ClinicEvent.ClinicOpened("Invented clinic", "Europe/Berlin"), Rows.Provenance(1));
        clinic.Record(new ClinicEvent.UncheckedResultsSeen(), Rows.Provenance(2));
        Keep(file, StreamName.Clinic, "clinic-unchecked-1");
    }

    [Fact(Explicit = true)]
    public void Make_ClinicWhoseClockWasConfirmed_ExistsAfterwards()
    {
        using var folder = new TempFolder();
        using var file = DataFile.Open(folder.DataFile);
        var clinic = ClinicLog.Open(file);
        clinic.Record(new ClinicEvent.ClinicOpened("Invented clinic", "Europe/Berlin"), Rows.Provenance(1));
        clinic.Record(new ClinicEvent.ClockConfirmed(Rows.Morning, Rows.Provenance(100).Arrived), Rows.Provenance(2));
        clinic.Record(new ClinicEvent.ClockConfirmed(Rows.Provenance(200).Arrived, null), Rows.Provenance(3));
        Keep(file, StreamName.Clinic, "clinic-clock-1");
    }

    [Fact(Explicit = true)]
    public void Make_ClinicWhoseSecretsWereSealed_ExistsAfterwards()
    {
        using var folder = new TempFolder();
        using var file = DataFile.Open(folder.DataFile);
        var clinic = ClinicLog.Open(file);
        clinic.Record(new ClinicEvent.ClinicOpened("Invented clinic", "Europe/Berlin"), Rows.Provenance(1));
        clinic.Record(new ClinicEvent.RecordSealed(), Rows.Provenance(2));
        Keep(file, StreamName.Clinic, "clinic-sealed-1");
    }

    [Fact(Explicit = true)]
    public void Make_BenchWithEveryEvent_ExistsAfterwards() => Keep(BenchStory.Tell(), "bench-3");

    [Fact(Explicit = true)]
    public void Make_BenchOnWhichLifeDiffersFromThePlan_ExistsAfterwards() =>
        Keep(BenchStory.TellOtherwise(), "bench-otherwise-1");

    [Fact(Explicit = true)]
    public void Make_SimulatedDay_ExistsAfterwards()
    {
        IReadOnlyList<BenchRequest> requests = [.. Enumerable.Range(1, 8).Select(number => BenchStory.Request(
            $"R{number:00}", number % 3 == 0 ? "B" : "A", number % 3 == 0 ? 8 : 3, number == 5
                ? IncubationPlace.Either : IncubationPlace.Incubator))];
        var run = SimulatedDay.Run(BenchStory.Open, requests, Rows.Morning, 1, new RandomStepLengths(),
            () => new IterationBudget(50));
        Keep(run.Entries, "simulated-day-1");
    }

    [Fact(Explicit = true)]
    public void Make_ClinicWhoseRecordWasErased_ExistsAfterwards()
    {
        using var folder = new TempFolder();
        using var file = DataFile.Open(folder.DataFile);
        RecordStory.Tell(ClinicLog.Open(file));
        Keep(file, StreamName.Clinic, "clinic-record-1");
    }

    [Fact(Explicit = true)]
    public void Make_ClinicWhoseTablesWereRebuilt_ExistsAfterwards()
    {
        using var folder = new TempFolder();
        using var file = DataFile.Open(folder.DataFile);
        RecordStory.TellTables(ClinicLog.Open(file));
        Keep(file, StreamName.Clinic, "clinic-tables-1");
    }

    [Fact(Explicit = true)]
    public void Make_BenchWhoseStandingWasKept_ExistsAfterwards() =>
        Keep(RecordStory.TellStanding(), "bench-standing-5");

    private static void Keep(IReadOnlyList<BenchEntry> entries, string name)
    {
        using var folder = new TempFolder();
        using var file = DataFile.Open(folder.DataFile);
        new BenchStreams(file).Append(Rows.Bench, 0, entries);
        Keep(file, StreamName.OfBench(Rows.Bench), name);
    }

    private static void Keep(DataFile file, StreamName stream, string name, [CallerFilePath] string here = "")
    {
        var path = Path.Combine(Path.GetDirectoryName(here)!, "Samples", name);
        if (!File.Exists(path + ".jsonl"))
        {
            using (var writer = File.CreateText(path + ".jsonl"))
                LogExport.Write(file.Log, stream, writer);
            File.WriteAllText(path + ".summary.txt", SampleSummary.Of([.. file.Log.ReadAll(stream)]));
        }
        Assert.True(File.Exists(path + ".summary.txt"));
    }
}
