using Incubation.Exchange.Lists;
using Incubation.Service.Requests;
using NodaTime;

namespace Incubation.Service.Rack;

/// <summary>One tube of a rack as it was scanned or typed.</summary>
/// <param name="Id">Names the line on its list.</param>
/// <param name="Specimen">What its label says.</param>
/// <param name="Assays">Codes of what is wanted on it.</param>
/// <param name="Urgent">Whether it goes first.</param>
/// <param name="TakenOut">When it was taken out of storage, or null.</param>
/// <param name="Settled">Codes of what was asked about the line and answered: it is meant so.</param>
/// <param name="Identifier">A second identifier, or null.</param>
/// <param name="SpecimenType">The specimen's type, or null.</param>
/// <param name="Collected">When it was collected, as the clinic's clock showed it; or null.</param>
/// <param name="Due">When its results should be there: the time nearest to now, or a date and time; or null.</param>
/// <param name="Lots">The lot for an assay, where it is another than the one that expires first.</param>
/// <param name="Bench">Id of the bench that it is for, where it is another than the list's; or null.</param>
public sealed record RackLine(
    string? Id,
    string? Specimen,
    IReadOnlyList<string>? Assays,
    bool? Urgent = null,
    Instant? TakenOut = null,
    IReadOnlyList<string>? Settled = null,
    string? Identifier = null,
    string? SpecimenType = null,
    string? Collected = null,
    string? Due = null,
    IReadOnlyDictionary<string, string>? Lots = null,
    string? Bench = null);

/// <summary>What is asked about a line before it is added.</summary>
/// <param name="Line">The line's id.</param>
/// <param name="Code">Names the question, so that an answer to it can be kept with the line.</param>
/// <param name="Sentence">What was noticed.</param>
/// <param name="Settle">The words of the press that says "it is meant so"; null where the line cannot stay so.</param>
/// <param name="Instead">The number that the tube has in truth, where one like it is known; or null.</param>
public sealed record RackDoubt(string Line, string Code, string Sentence, string? Settle = null,
    string? Instead = null);

/// <summary>What waits in the worklist for a line's specimen.</summary>
/// <param name="Line">The line's id.</param>
/// <param name="Assay">Code of the assay that is ordered.</param>
/// <param name="From">Where the order comes from, and what it is called there.</param>
/// <param name="Urgent">Whether it goes first.</param>
/// <param name="Identifier">A second identifier, or null.</param>
/// <param name="SpecimenType">The specimen's type, or null.</param>
/// <param name="Collected">When it was collected, as the clinic's clock showed it; or null.</param>
/// <param name="Due">When its result should be there, the same; null where nobody says, or that is over.</param>
/// <param name="Comment">What is to be known besides, or null.</param>
public sealed record RackOrder(string Line, string Assay, string From, bool Urgent, string? Identifier,
    string? SpecimenType, string? Collected, string? Due, string? Comment);

/// <summary>A kit lot that can be used.</summary>
/// <param name="Lot">The lot.</param>
/// <param name="Text">With its last day and what is left of it.</param>
public sealed record RackLot(string Lot, string Text);

/// <summary>An assay that tubes can be scanned for.</summary>
/// <param name="Code">Its code.</param>
/// <param name="Name">Its name.</param>
/// <param name="Lots">The lots that can be used, the one that expires first first.</param>
/// <param name="NoLot">Why none can be used; null where one can.</param>
/// <param name="Types">The types of specimen that it takes; empty where it takes all.</param>
public sealed record RackAssay(string Code, string Name, IReadOnlyList<RackLot> Lots, string? NoLot,
    IReadOnlyList<string> Types);

/// <summary>Several assays that one press and one scan ask for.</summary>
/// <param name="Name">The panel's name.</param>
/// <param name="Assays">Codes of its assays.</param>
public sealed record RackPanel(string Name, IReadOnlyList<string> Assays);

/// <summary>What a rack intake is made with.</summary>
/// <param name="ServerTime">Now.</param>
/// <param name="Rate">Seconds of the server's time in one real second.</param>
/// <param name="Assays">The clinic's assays.</param>
/// <param name="Panels">Its panels.</param>
public sealed record RackSheet(Instant ServerTime, double Rate, IReadOnlyList<RackAssay> Assays,
    IReadOnlyList<RackPanel> Panels);

/// <summary>A pasted list or a file, read and not added.</summary>
/// <param name="Lines">Its specimens, without ids; to be used only where there is no fault.</param>
/// <param name="Faults">What is wrong, by line and column.</param>
/// <param name="Report">Names it by its content, its bench and the batch: the same again is the same.</param>
public sealed record RackReading(IReadOnlyList<RackLine> Lines, IReadOnlyList<ListFault> Faults, string Report);

/// <summary>What became of a list.</summary>
/// <param name="Outcome">Of the intake; its ids are empty where the same list stands there already.</param>
/// <param name="Doubts">What is asked first; nothing was added then.</param>
public sealed record RackOutcome(IntakeOutcome Outcome, IReadOnlyList<RackDoubt> Doubts);
