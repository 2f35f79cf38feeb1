using Incubation.Model;
using NodaTime;

namespace Incubation.Planning.Checking;

/// <summary>How far a cartridge has come at the day's present.</summary>
internal enum Stage
{
    NotBegun,
    BeingMixed,
    Mixed,
    BeingLoaded,
    InSlot,
    BeingMoved,
    ReactsInReader,
    BeingRead,
    HasBeenRead,
    BeingCleared,
    BeingDiscarded,

    /// <summary>Nobody knows whether its step was done, or the step of one that it comes after.</summary>
    NotKnown,
}

/// <summary>One request: what the day says of its cartridge, and what the plan does with it.</summary>
internal sealed class Course(
    Request request, Assay assay, Instant now, CartridgeInWork? inWork, StepInProgress? inProgress,
    IReadOnlyList<Row> rows, bool unplaced, bool lost, bool notKnown)
{
    public Request Request => request;
    public Assay Assay => assay;
    public CartridgePhase? Phase => inWork?.Phase;

    /// <summary>Whether the day says that it must be discarded.</summary>
    public bool MustDiscard => inWork is { MustDiscard: true };

    public StepInProgress? InProgress => inProgress;
    public IReadOnlyList<Row> Rows => rows;
    public bool IsUnplaced => unplaced;
    public bool IsLost => lost;

    public Row? Mix { get; } = rows.FirstOrDefault(row => row.Step.Action is StepAction.Mix);
    public Row? Load { get; } = rows.FirstOrDefault(row => row.Step.Action is StepAction.Load);
    public Row? Move { get; } = rows.FirstOrDefault(row => row.Step.Action is StepAction.Move);
    public Row? Read { get; } = rows.FirstOrDefault(row => row.Step.Action is StepAction.Read);
    public Row? Clear { get; } = rows.FirstOrDefault(row => row.Step.Action is StepAction.Clear);
    public Row? Discard { get; } = rows.FirstOrDefault(row => row.Step.Action is StepAction.Discard);

    public Stage Stage { get; } = (inProgress?.Action, inWork?.Phase) switch
    {
        _ when notKnown => Stage.NotKnown,
        (StepAction.Mix, _) => Stage.BeingMixed,
        (StepAction.Load, _) => Stage.BeingLoaded,
        (StepAction.Move, _) => Stage.BeingMoved,
        (StepAction.Clear, _) => Stage.BeingCleared,
        (StepAction.Discard, _) => Stage.BeingDiscarded,
        (_, CartridgePhase.Mixed) => Stage.Mixed,
        (_, CartridgePhase.Reacting { Place: CartridgePlace.InSlot }) => Stage.InSlot,
        (_, CartridgePhase.Reacting) => Stage.ReactsInReader,
        (_, CartridgePhase.Reading) => Stage.BeingRead,
        (_, CartridgePhase.Read) => Stage.HasBeenRead,
        _ => Stage.NotBegun,
    };

    /// <summary>
    /// Where the cartridge reacts: by the state where it is there or being loaded, else by the plan's load.
    /// </summary>
    public CartridgePlace? Place => Phase is CartridgePhase.Reacting reacting
        ? reacting.Place
        : ((inProgress?.Action as StepAction.Load) ?? (Load?.Step.Action as StepAction.Load))?.Place;

    /// <summary>Whether its load had begun by now, so that the plan may still use the guard.</summary>
    public bool LoadHasBegun => Stage is Stage.BeingLoaded || Phase is not (null or CartridgePhase.Mixed);

    /// <summary>
    /// When the mix can have ended: a fact, or worked out from the step in progress or the planned row.
    /// </summary>
    public InstantRange? MixEnd => (Phase, Stage, Mix) switch
    {
        (CartridgePhase.Mixed mixed, _, _) => mixed.MixEnd,
        (_, Stage.BeingMixed, _) => EndOfBegun(assay.MixShortest, assay.Mix),
        (_, Stage.NotBegun, { } mix) => new InstantRange(mix.Start + assay.MixShortest, mix.Start + assay.Mix),
        _ => null,
    };

    /// <summary>When the load can have ended; the reaction clock starts there.</summary>
    public InstantRange? LoadEnd => (Phase, Stage, Load) switch
    {
        (CartridgePhase.Reacting reacting, _, _) => reacting.LoadEnd,
        (_, Stage.BeingLoaded, _) => EndOfBegun(assay.LoadShortest, assay.Load),
        (_, Stage.NotBegun or Stage.BeingMixed or Stage.Mixed, { } load) =>
            new InstantRange(load.Start + assay.LoadShortest, load.Start + assay.Load),
        _ => null,
    };

    /// <summary>When the read window opens for certain: by the late end of the load.</summary>
    public Instant? WindowOpens => LoadEnd is { } end ? end.Latest + assay.Incubation : null;

    /// <summary>When the read window closes at the earliest: by the early end of the load.</summary>
    public Instant? WindowCloses => LoadEnd is { } end ? end.Earliest + assay.Incubation + assay.ReadWindow : null;

    /// <summary>
    /// When its step in progress ends, for planning. A move in progress holds until the window opens.
    /// </summary>
    public Instant PlannedEnd(StepInProgress step) => step.Action switch
    {
        StepAction.Mix => Instant.Max(step.Start + assay.Mix, now),
        StepAction.Load => Instant.Max(step.Start + assay.Load, now),
        StepAction.Move => Instant.Max(Instant.Max(step.Start + assay.Move, now), WindowOpens ?? now),
        _ => Instant.Max(step.Start + assay.Clear, now),
    };

    private InstantRange EndOfBegun(Duration shortest, Duration allowed) => new(
        Instant.Max(inProgress!.Start + shortest, now), Instant.Max(inProgress.Start + allowed, now));
}
