using Incubation.Bench;
using Incubation.Model;
using Incubation.Planning;
using NodaTime;

namespace Incubation.Records.Tests;

/// <summary>A bench's morning in which everything happens that can be recorded, said through the bench itself.</summary>
internal sealed class BenchStory
{
    private readonly List<BenchEntry> entries = [];
    private BenchState? state;
    private Instant now = Rows.Morning;
    private int commands;

    private BenchStory() { }

    public static BenchCommand.OpenBench Open { get; } = new(
        Rows.Bench, "Bench 1", new BenchSetup(1, 8, 1, Duration.FromSeconds(25), Duration.FromSeconds(15), 0.25), Duration.FromSeconds(20));

    /// <summary>A request with invented assay facts, not for patients.</summary>
    public static BenchRequest Request(string id, string assay, int minutes, IncubationPlace place = IncubationPlace.Incubator) => new(
        ClinicStory.Request(id, AssayCode.Of(assay), assay + "-L1").Request with { RepeatLeft = true, LoadBy = null },
        ClinicStory.Assay(AssayCode.Of(assay), minutes) with { Place = place }, 1, "mg/L");

    /// <summary>The entries, in order.</summary>
    public static IReadOnlyList<BenchEntry> Tell()
    {
        var story = new BenchStory();
        story.TellFirstBatch();
        story.TellSecondBatch();
        return story.entries;
    }

    private void TellFirstBatch()
    {
        Say(0, Open);
        Say(1, new BenchCommand.AddRequests([Request("R01", "A", 3), Request("R02", "B", 8), Request("R03", "A", 3), Request("R04", "C", 5, IncubationPlace.Reader)]));
        Say(1, new BenchCommand.WithdrawRequest(RequestId.Of("R03")));
        Plan(PlanCause.RequestsChanged);
        Say(10, new BenchCommand.StartBatch());
        Plan(PlanCause.BatchStarted);
        Say(2.5, new BenchCommand.NotBegun(HandsNumber.Of(1)));
        Say(48.125, new BenchCommand.Mixed(RequestId.Of("R01")));
        var wrong = Say(3, new BenchCommand.Mixed(RequestId.Of("R02")));
        Say(2, new BenchCommand.Undo(wrong));
        Say(20, new BenchCommand.Loaded(RequestId.Of("R01"), Slot(3), TimeStated: false));
        Plan(PlanCause.Report);
        Say(45, new BenchCommand.Mixed(RequestId.Of("R02")));
        Say(20, new BenchCommand.Loaded(RequestId.Of("R02"), Slot(3), TimeStated: true));
        Say(24, new BenchCommand.CardChanged(ReaderNumber.Of(1), LotCode.Of("A-L1")));
        Say(100, new BenchCommand.ReadStarted(RequestId.Of("R01"), ReaderNumber.Of(1), StatedInTime: false));
        Say(41, new BenchCommand.Cleared(RequestId.Of("R01"), ReaderNumber.Of(1)));
        Say(6, new BenchCommand.ResultEntered(RequestId.Of("R01"), new ReadResult.Measured("< 0.50", "mg/L")));
        Say(700, new BenchCommand.AcknowledgeAlarm(new AlarmKey(AlarmKind.WindowClosed, RequestId.Of("R02"))));
        Say(4, new BenchCommand.Discarded(RequestId.Of("R02"), DiscardReason.Other, "ließ sich nicht finden: \"slot 3\" was empty"));
        Plan(PlanCause.WindowClosed);
        Say(24, new BenchCommand.CardChanged(ReaderNumber.Of(1), LotCode.Of("C-L1")));
        Say(45, new BenchCommand.Mixed(RequestId.Of("R04")));
        Say(22, new BenchCommand.Loaded(RequestId.Of("R04"), new CartridgePlace.InReader(ReaderNumber.Of(1)), TimeStated: false));
        Say(360, new BenchCommand.Cleared(RequestId.Of("R04"), ReaderNumber.Of(1)));
        Say(9, new BenchCommand.ResultEntered(RequestId.Of("R04"), new ReadResult.NoValue("E-7")));
        Say(5, new BenchCommand.CloseBatch());
    }

    private void TellSecondBatch()
    {
        Say(60, new BenchCommand.AddRequests([Request("R05", "A", 3), Request("R06", "A", 3), Request("R07", "B", 8), Request("R08", "B", 8)]));
        Say(1, new BenchCommand.StartBatch());
        Plan(PlanCause.Search);
        Say(50, new BenchCommand.Mixed(RequestId.Of("R05")));
        Say(20, new BenchCommand.Loaded(RequestId.Of("R05"), Slot(1), TimeStated: false));
        Say(50, new BenchCommand.Mixed(RequestId.Of("R06")));
        Say(25, new BenchCommand.Discarded(RequestId.Of("R06"), DiscardReason.Bubbles, null));
        Say(3, new BenchCommand.OrderRepeat(RequestId.Of("R06"), RequestId.Of("R06-2")));
        Say(24, new BenchCommand.CardChanged(ReaderNumber.Of(1), LotCode.Of("A-L1")));
        Say(270, new BenchCommand.ReadStarted(RequestId.Of("R05"), ReaderNumber.Of(1), StatedInTime: true));
        Say(60, new BenchCommand.Mixed(RequestId.Of("R07")));
        Say(22, new BenchCommand.Loaded(RequestId.Of("R07"), Slot(8), TimeStated: false));
        Plan(PlanCause.Restarted);
    }

    private static CartridgePlace.InSlot Slot(int number) => new(SlotNumber.Of(number));

    private ReportId Say(double secondsLater, BenchCommand command)
    {
        now += Duration.FromSeconds(secondsLater);
        return Try(command) ? entries[^1].Touch.Id : throw new InvalidOperationException($"The bench refused {command}.");
    }

    /// <summary>Adopts a better plan where there is one.</summary>
    private void Plan(PlanCause cause)
    {
        var proposed = PlanKeeping.Propose(state!, now, cause, 1, new IterationBudget(50));
        if (proposed.Count > 0 && !proposed.Any(Try))
            throw new InvalidOperationException($"No plan was adopted at {now}.");
    }

    private bool Try(BenchCommand command)
    {
        var touch = new Touch(ReportId.Of($"story-{++commands}"), now, now + Duration.FromMilliseconds(35), PersonId.Of("aide"), DeviceId.Of("tablet-1"));
        if (LiveBench.Decide(state, command, touch) is not Decision.Accepted accepted)
            return false;
        foreach (var happened in accepted.Events)
        {
            entries.Add(new BenchEntry(happened, touch));
            state = LiveBench.Apply(state, entries[^1]);
        }
        return true;
    }
}
