using Incubation.Model;
using Incubation.Planning;
using NodaTime;

namespace Incubation.Bench.Tests;

/// <summary>A bench with a batch, told what happens in seconds since its start.</summary>
internal sealed class Scene
{
    public static readonly Instant Start = Instant.FromUtc(2026, 3, 2, 8, 0);
    private static readonly PersonId Aide = new("aide");
    public static readonly DeviceId Tablet = new("tablet");
    private int count;

    public BenchState? State { get; private set; }

    public List<BenchEntry> Entries { get; } = [];

    public BenchState Now => State ?? throw new InvalidOperationException("Not open.");

    public static Assay Assay(string code = "A1", IncubationPlace place = IncubationPlace.Incubator) => new(
        new AssayCode(code), "Demo assay", place,
        Mix: Seconds(50), MixToLoad: Seconds(120), Load: Seconds(25), Incubation: Seconds(480), ReadWindow: Seconds(90),
        Move: Seconds(15), Read: Seconds(40), Clear: Seconds(10), MixShortest: Seconds(35), LoadShortest: Seconds(15));

    public static BenchRequest Request(string id, Assay? assay = null, bool repeatLeft = true,
        Priority priority = Priority.Routine, Instant? loadBy = null)
    {
        assay ??= Assay();
        var request = new Request(new RequestId(id), new SpecimenId("SP-" + id), assay.Code, new LotCode("L1"), Start,
            RequestKind.Patient, repeatLeft, priority, null, loadBy, []);
        return new BenchRequest(request, assay, 1, "mg/L");
    }

    public static Scene Open(int hands = 1, int slots = 4, int readers = 1, double guard = 15)
    {
        var scene = new Scene();
        var setup = new BenchSetup(hands, slots, readers, Seconds(25), Seconds(guard), 0);
        scene.Say(0, new BenchCommand.OpenBench(new BenchId("bench-1"), "Bench 1", setup, Seconds(20)));
        return scene;
    }

    /// <summary>A started batch that follows a plan.</summary>
    public static Scene Running(params BenchRequest[] requests)
    {
        var scene = Open();
        scene.Say(0, new BenchCommand.AddRequests(requests));
        scene.Say(0, new BenchCommand.StartBatch());
        scene.Plan(0);
        return scene;
    }

    /// <summary>
    /// R1 mixed and loaded in slot 1 as planned, the card changed: reacting since 1:15, window from 9:15 to 10:35 by
    /// the bench's knowledge.
    /// </summary>
    public static Scene Reacting(bool repeatLeft = true) => Reacting(Open(), repeatLeft);

    /// <summary>The same on a bench just opened.</summary>
    public static Scene Reacting(Scene scene, bool repeatLeft = true)
    {
        scene.Say(0, new BenchCommand.AddRequests([Request("R1", repeatLeft: repeatLeft)]));
        scene.Say(0, new BenchCommand.StartBatch());
        scene.Plan(0);
        scene.Say(50, new BenchCommand.Mixed(R("R1")));
        scene.Plan(50);
        scene.Say(75, new BenchCommand.Loaded(R("R1"), Slot(1), false));
        scene.Plan(75);
        scene.Say(100, new BenchCommand.CardChanged(new ReaderNumber(1), new LotCode("L1")));
        scene.Plan(100);
        return scene;
    }

    /// <summary>R1 read inside its window and cleared; its result is not entered.</summary>
    public static Scene ReadInTime(RequestKind kind = RequestKind.Patient)
    {
        var scene = Running(Request("R1") with { Request = Request("R1").Request with { Kind = kind } });
        scene.Say(50, new BenchCommand.Mixed(R("R1"), true));
        scene.Say(75, new BenchCommand.Loaded(R("R1"), Slot(1), true));
        scene.Say(100, new BenchCommand.CardChanged(Reader1, new LotCode("L1")));
        scene.Say(590, new BenchCommand.ReadStarted(R("R1"), Reader1, false));
        scene.Say(640, new BenchCommand.Cleared(R("R1"), Reader1));
        return scene;
    }

    public Decision Say(double seconds, BenchCommand command, DeviceId? device = null, string? id = null,
        double? arrived = null) => Say(At(seconds), At(arrived ?? seconds), command, device, id);

    /// <summary>Another person says something.</summary>
    public Decision Say(double seconds, BenchCommand command, PersonId by, Identity identity = Identity.Checked) =>
        Say(command, new Provenance(new ReportId($"T{++count}"), At(seconds), At(seconds), by, Tablet, identity));

    public Decision Say(Instant at, Instant arrived, BenchCommand command, DeviceId? device = null,
        string? id = null) => Say(command,
        new Provenance(new ReportId(id ?? $"T{++count}"), at, arrived, Aide, device ?? Tablet));

    private Decision Say(BenchCommand command, Provenance provenance)
    {
        var decision = LiveBench.Decide(State, command, provenance);
        if (decision is Decision.Accepted accepted)
            foreach (var entry in accepted.Entries(provenance))
            {
                Entries.Add(entry);
                State = LiveBench.Apply(State, entry);
            }
        return decision;
    }

    /// <summary>Applies an event as a log may hold it, whatever would be decided today.</summary>
    public void Record(BenchEvent happened, Instant at)
    {
        Entries.Add(new BenchEntry(happened, new Provenance(new ReportId($"T{++count}"), at, at, Aide, Tablet)));
        State = LiveBench.Apply(State, Entries[^1]);
    }

    public void Plan(double seconds, PlanCause cause = PlanCause.Report)
    {
        foreach (var adopt in PlanReplacement.Propose(Now, At(seconds), cause, 1, new IterationBudget(200)))
            if (Say(seconds, adopt) is Decision.Accepted)
                return;
    }

    /// <summary>Follows a plan whose steps are in this order; what it discards is withdrawn.</summary>
    public void Follow(double seconds, params (StepAction Action, int Hands, double Start)[] order)
    {
        PlannedStep Step((StepAction Action, int Hands, double Start) row) =>
            new(row.Action, new HandsNumber(row.Hands), At(row.Start), At(row.Start));
        var plan = new Plan([.. order.Select(Step)], 0, default, default, 0, false, [], [],
            [.. order.Select(row => row.Action).OfType<StepAction.Discard>()
                .Select(discard => new LeftOut(discard.Request, new LeftOutReason.MustDiscard()))]);
        var timed = PlanTiming.Retime(LiveBench.Problem(Now, At(seconds)), plan)
            ?? throw new InvalidOperationException("The order cannot be kept.");
        Xunit.Assert.IsType<Decision.Accepted>(Say(seconds,
            new BenchCommand.AdoptPlan(timed, new PlanOrigin(PlanCause.Report, 1, 0, Planner.Version))));
    }

    /// <summary>Says as a host does, with the usual patience, which steps are not known.</summary>
    public void NoteNotKnown(double seconds, StepPatience? patience = null)
    {
        foreach (var note in LiveBench.NotKnown(Now, At(seconds), patience ?? StepPatience.Usual))
            Xunit.Assert.IsType<Decision.Accepted>(Say(seconds, note));
    }

    public BenchView View(double seconds) => LiveBench.View(Now, At(seconds));

    public Cartridge Find(string id) => Now.Find(R(id))
        ?? throw new InvalidOperationException($"{id} is not on the bench.");

    public static RequestId R(string id) => new(id);

    public static CartridgePlace Slot(int number) => new CartridgePlace.InSlot(new SlotNumber(number));

    /// <summary>
    /// Everything that a bench believes, in words: without the commands that led to it, their number and when the last
    /// arrived.
    /// </summary>
    public static string Told(BenchState state) => Dump.Of(state with
    {
        Recorded = [],
        Revision = 0,
        Checkpoint = state.Checkpoint with { LastArrived = default },
        Run = state.Run with { LastHeard = default },
    });

    public static ReaderNumber Reader1 { get; } = new(1);

    public static Instant At(double seconds) => Start + Duration.FromMilliseconds(seconds * 1000);

    public static Duration Seconds(double seconds) => Duration.FromMilliseconds(seconds * 1000);
}
