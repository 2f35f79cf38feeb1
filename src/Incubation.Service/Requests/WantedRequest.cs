using NodaTime;

namespace Incubation.Service.Requests;

/// <summary>A request as a person or another program states it; members left out take their usual value.</summary>
/// <param name="Specimen">The specimen, as its label says.</param>
/// <param name="Assay">Code of the assay.</param>
/// <param name="Lot">The kit lot that is used; left out, the usable one that expires first.</param>
/// <param name="Id">Names the request; left out, the server gives the next number.</param>
/// <param name="Kind">"patient" (usual) or "control".</param>
/// <param name="Priority">"routine" (usual) or "urgent".</param>
/// <param name="Ready">From when the specimen may be mixed; left out, now.</param>
/// <param name="Due">When the result should be there; left out, none, or at once where urgent.</param>
/// <param name="LoadBy">The load ends no later; left out, no limit.</param>
/// <param name="RepeatLeft">Whether specimen is left for a repeat; left out, true.</param>
/// <param name="After">Ids of requests on the same bench that are run before.</param>
/// <param name="ControlLot">For a control: lot of the control material.</param>
/// <param name="ControlLevel">For a control: its level.</param>
/// <param name="Identifier">A second identifier beside the specimen's, as little as serves: a birth date, a name or a
/// code.</param>
/// <param name="SpecimenType">The specimen's type; one that the assay does not take is refused.</param>
/// <param name="Collected">When the specimen was collected; its load ends before it is older than the assay
/// allows.</param>
/// <param name="TakenOut">When it was taken out to come to room temperature; it is ready when it has stood as long as
/// the assay says.</param>
public sealed record WantedRequest(
    string? Specimen,
    string? Assay,
    string? Lot,
    string? Id = null,
    string? Kind = null,
    string? Priority = null,
    Instant? Ready = null,
    Instant? Due = null,
    Instant? LoadBy = null,
    bool? RepeatLeft = null,
    IReadOnlyList<string>? After = null,
    string? ControlLot = null,
    int? ControlLevel = null,
    string? Identifier = null,
    string? SpecimenType = null,
    Instant? Collected = null,
    Instant? TakenOut = null);

/// <summary>What is wrong with one member of what was stated.</summary>
/// <param name="Member">The member, "requests[2].lot"; or "requests" for the whole.</param>
/// <param name="Sentence">What is wrong and what to do.</param>
public sealed record IntakeFault(string Member, string Sentence);

/// <summary>
/// What became of requests that came in: their ids, or what is wrong with them; all or none are taken.
/// </summary>
/// <param name="Ids">Their ids, in the order in which they came.</param>
/// <param name="Faults">What is wrong.</param>
/// <param name="IsNotNow">Whether nothing is wrong with them, and they may be sent again later.</param>
public sealed record IntakeOutcome(IReadOnlyList<string> Ids, IReadOnlyList<IntakeFault> Faults, bool IsNotNow = false)
{
    /// <summary>Whether they are on the bench.</summary>
    public bool Taken => Faults.Count == 0;
}
