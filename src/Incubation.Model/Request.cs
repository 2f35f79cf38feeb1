using NodaTime;

namespace Incubation.Model;

/// <summary>What a cartridge serves: a patient, a control material, or a specimen of proficiency testing.</summary>
public enum RequestKind
{
    Patient,
    Control,

    /// <summary>Run like a patient's specimen, never reported as one.</summary>
    Proficiency,
}

/// <summary>How much waiting hurts.</summary>
public enum Priority
{
    Routine,
    Urgent,
}

/// <summary>One assay wanted on one specimen.</summary>
/// <param name="Id">Names the request and its cartridge.</param>
/// <param name="Specimen">What was collected.</param>
/// <param name="Assay">The assay wanted.</param>
/// <param name="Lot">The kit lot that is used, and so the card that the reader needs.</param>
/// <param name="Ready">The mix starts no earlier.</param>
/// <param name="Kind">Patient or control.</param>
/// <param name="RepeatLeft">Whether specimen is left for a repeat.</param>
/// <param name="Priority">Routine or urgent.</param>
/// <param name="Due">When the clear should have ended; an urgent request without it is due when it is ready.</param>
/// <param name="LoadBy">The load ends no later (an expiry, a specimen's age).</param>
/// <param name="After">The mix starts no earlier than the end of these requests' clears.</param>
public sealed record Request(
    RequestId Id,
    SpecimenId Specimen,
    AssayCode Assay,
    LotCode Lot,
    Instant Ready,
    RequestKind Kind,
    bool RepeatLeft,
    Priority Priority,
    Instant? Due,
    Instant? LoadBy,
    IReadOnlyList<RequestId> After)
{
    /// <summary>
    /// The version of the assay, from 1, where a planning problem has several of it; the log says it beside the
    /// request.
    /// </summary>
    public int AssayVersion { get; init; } = 1;

    /// <summary>The assay wanted, in its version.</summary>
    public AssayKey AssayKey => new(Assay, AssayVersion);

    /// <summary>
    /// When the clear is due for a plan of a day that begins at <paramref name="start"/>, or null: a ready time before
    /// the start counts as the start. What people are told is late, is so by <see cref="IsLate"/>.
    /// </summary>
    public Instant? EffectiveDue(Instant start) =>
        Due ?? (Priority == Priority.Urgent ? EffectiveReady(start) : null);

    /// <summary>
    /// Whether the time has passed for which it was promised. An urgent request that nobody set a time for is wanted at
    /// once, and planned so; no promise is broken by it.
    /// </summary>
    public bool IsLate(Instant now) => Due < now;

    /// <summary>The ready time on a day that begins at <paramref name="start"/>.</summary>
    public Instant EffectiveReady(Instant start) => Instant.Max(Ready, start);
}
