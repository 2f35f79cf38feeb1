using System.Collections.Immutable;
using Incubation.Model;
using NodaTime;

namespace Incubation.Bench;

/// <summary>Where a batch stands.</summary>
public enum BatchPhase
{
    /// <summary>Requests are gathered; the plan is a preview.</summary>
    Preparing,

    /// <summary>Steps are offered.</summary>
    Running,
}

/// <summary>A step as it was really done.</summary>
public sealed record DoneStep(StepAction Action, HandsNumber? Hands, Instant Start, Instant End);

/// <summary>A cartridge that plans give up, and since when they have done so without a break.</summary>
public sealed record GivenUp(RequestId Request, Instant Since);

/// <summary>A specimen that was not run.</summary>
/// <param name="Specimen">Which.</param>
/// <param name="Assay">For which assay.</param>
/// <param name="Why">Why, in words.</param>
/// <param name="At">When it was rejected.</param>
/// <param name="By">By whom.</param>
public sealed record RejectedSpecimen(SpecimenId Specimen, AssayCode Assay, string Why, Instant At, PersonId By);

/// <summary>The last report, which its own device may take back, and what was believed before it.</summary>
/// <param name="Report">The report.</param>
/// <param name="Device">The device that may take it back.</param>
/// <param name="Event">What it told.</param>
/// <param name="Believed">The cards and the hands before it.</param>
/// <param name="Run">The batch before it.</param>
public sealed record UndoPoint(ReportId Report, DeviceId Device, BenchEvent Event, Beliefs Believed, BatchRun Run);

/// <summary>
/// The present batch: what belongs to it, and ends with it. A new one takes its place when it is closed.
/// </summary>
public sealed record BatchRun
{
    /// <summary>Whether requests are gathered or steps are offered.</summary>
    public BatchPhase Phase { get; init; } = BatchPhase.Preparing;

    /// <summary>
    /// When the batch before it was closed, or the bench opened: nothing of it can have happened before.
    /// </summary>
    public Instant Since { get; init; } = Instant.MinValue;

    /// <summary>When the last entry arrived, by the host's clock of that time.</summary>
    public Instant LastHeard { get; init; } = Instant.MinValue;

    /// <summary>Whether the host's clock has gone back since the batch before it was closed.</summary>
    public bool ClockReturned { get; init; }

    /// <summary>When it was started, or null.</summary>
    public Instant? StartedAt { get; init; }

    /// <summary>Through which device it was started, or null.</summary>
    public DeviceId? StartedThrough { get; init; }

    /// <summary>Its requests, in the order in which they came.</summary>
    public ImmutableArray<Cartridge> Cartridges { get; init; } = [];

    /// <summary>What was really done, in the order of the reports.</summary>
    public ImmutableArray<DoneStep> Done { get; init; } = [];

    /// <summary>The plan that is followed, or null.</summary>
    public AdoptedPlan? Adopted { get; init; }

    /// <summary>Cartridges that the adopted plan gives up.</summary>
    public ImmutableArray<GivenUp> GivenUp { get; init; } = [];

    /// <summary>Steps of cartridges of which nobody knows whether they were done.</summary>
    public ImmutableArray<UnknownStep> NotKnown { get; init; } = [];

    /// <summary>Hands that left a step not known and have not been heard of since.</summary>
    public ImmutableArray<SilentHands> Silent { get; init; } = [];

    /// <summary>Hands that were silent, have been heard of, and have not reported since.</summary>
    public ImmutableArray<ReturnedHands> Returned { get; init; } = [];

    /// <summary>What keeps the bench from planning everything, or null.</summary>
    public PlanTrouble? Trouble { get; init; }

    /// <summary>Alarms that a person has seen.</summary>
    public ImmutableHashSet<AlarmKey> Acknowledged { get; init; } = [];

    /// <summary>What can be taken back at once, or null.</summary>
    public UndoPoint? Undo { get; init; }

    /// <summary>What was believed when its story began.</summary>
    public Beliefs StoryStart { get; init; } = Beliefs.None;

    /// <summary>Its reports of steps as they stand now, in the order in which they were told.</summary>
    public ImmutableList<ReportedStep> Story { get; init; } = [];

    /// <summary>Questions that have been answered.</summary>
    public ImmutableArray<SettledQuestion> Settled { get; init; } = [];

    /// <summary>Specimens that were rejected.</summary>
    public ImmutableArray<RejectedSpecimen> Rejected { get; init; } = [];

    /// <summary>The last time that the server was down, until it is seen by a person; or null.</summary>
    public Outage? Outage { get; init; }

    /// <summary>The batch with one of its cartridges changed; itself where it has none of this request.</summary>
    internal BatchRun With(RequestId request, Func<Cartridge, Cartridge> change)
    {
        for (var index = 0; index < Cartridges.Length; index++)
            if (Cartridges[index].Id == request)
                return this with { Cartridges = Cartridges.SetItem(index, change(Cartridges[index])) };
        return this;
    }
}
