using System.ComponentModel.DataAnnotations;
using NodaTime;

namespace Incubation.Service.Snapshots;

/// <summary>
/// What a screen needs to go on without its server: the cartridges in work and the adopted plan's rows for them, with
/// every length that a rule asks for, so that the screen re-times the plan in its own order. Lengths are whole
/// milliseconds.
/// </summary>
/// <param name="StartedAt">When the batch was started, or null.</param>
/// <param name="PromptAhead">How long ahead of its start a step is prompted.</param>
/// <param name="CardChange">Allowed length of a card change.</param>
/// <param name="ReadGuard">The part of each window that plans do not use.</param>
/// <param name="Slots">How many slots the bench has.</param>
/// <param name="Readers">How many readers it has.</param>
/// <param name="Hands">Its hands, and which screen served them last.</param>
/// <param name="Assays">Assays of the requests.</param>
/// <param name="Requests">Requests whose cartridges are in work, and those whose mix is the hands' next step.</param>
/// <param name="Cartridges">How far cartridges in work have come.</param>
/// <param name="Steps">The adopted plan's rows for them that no report has ended, and its card changes; by
/// start.</param>
/// <param name="Closings">When what cannot be used.</param>
/// <param name="Cards">The cards known to be in readers, and the readers of which it is not known whether they are
/// empty.</param>
/// <param name="Lost">Requests whose cartridges the plan gives up.</param>
/// <param name="Patience">For how long hands are believed to be at a step beyond its allowed time.</param>
/// <param name="NotKnown">Steps of which nobody knows whether they were done.</param>
/// <param name="Alarms">The words of alarms that a screen raises by itself for what was mixed and loaded
/// meanwhile.</param>
/// <param name="Questions">The words of what a screen asks by itself when a step comes to be not known.</param>
/// <param name="SlotNames">"slot 1" and so on.</param>
/// <param name="ReaderNames">"the reader", or "reader 1" and so on.</param>
public sealed record AloneSnapshot(
    Instant? StartedAt,
    long PromptAhead,
    long CardChange,
    long ReadGuard,
    int Slots,
    int Readers,
    IReadOnlyList<AloneHands> Hands,
    IReadOnlyList<AloneAssay> Assays,
    IReadOnlyList<AloneRequest> Requests,
    IReadOnlyList<AloneCartridge> Cartridges,
    IReadOnlyList<AloneStep> Steps,
    IReadOnlyList<AloneClosing> Closings,
    IReadOnlyList<AloneCard> Cards,
    IReadOnlyList<string> Lost,
    AlonePatience Patience,
    IReadOnlyList<AloneUnknown> NotKnown,
    IReadOnlyList<AloneAlarm> Alarms,
    IReadOnlyList<AloneQuestion> Questions,
    IReadOnlyList<string> SlotNames,
    IReadOnlyList<string> ReaderNames);

/// <param name="Mix">With a mix.</param>
/// <param name="Load">With a load.</param>
/// <param name="Move">With a move.</param>
/// <param name="Clear">With a clear.</param>
/// <param name="Discard">With a discard.</param>
/// <param name="CardChange">With a card change.</param>
public sealed record AlonePatience(long Mix, long Load, long Move, long Clear, long Discard, long CardChange);

/// <param name="Hands">The hands that were at it.</param>
/// <param name="Kind">As in an offer.</param>
/// <param name="Request">Whose step.</param>
/// <param name="Slot">The slot of a load, or null.</param>
/// <param name="Reader">The reader, or null.</param>
/// <param name="Begun">When they can have begun it at the earliest.</param>
/// <param name="Planned">What was planned for its cartridge, by start.</param>
public sealed record AloneUnknown(
    int Hands, [property: AllowedValues("mix", "load", "move", "clear", "discard")] string Kind, string Request,
    int? Slot, int? Reader, Instant Begun, IReadOnlyList<AloneStep> Planned);

/// <param name="Hands">Which.</param>
/// <param name="LastReport">When they last reported, or came back after silence, or null.</param>
/// <param name="Device">The screen through which they did, else the one through which the batch was started; or
/// null.</param>
/// <param name="Silent">Since when they have not been heard of after a step that is not known, or null.</param>
public sealed record AloneHands(int Hands, Instant? LastReport, string? Device, Instant? Silent);

/// <param name="Mix">Allowed length of the mix.</param>
/// <param name="MixToLoad">How long a mixture keeps.</param>
/// <param name="Load">Allowed length of the load.</param>
/// <param name="Incubation">The reaction's length.</param>
/// <param name="ReadWindow">For how long after it the read may start.</param>
/// <param name="Move">Allowed length of the move.</param>
/// <param name="Read">Length of the read.</param>
/// <param name="Clear">Allowed length of the clear and of a discard.</param>
/// <param name="MixShortest">The shortest mix.</param>
/// <param name="LoadShortest">The shortest load.</param>
/// <param name="Texts">The words of the kit's instructions, or null.</param>
public sealed record AloneAssay(long Mix, long MixToLoad, long Load, long Incubation, long ReadWindow, long Move,
    long Read, long Clear, long MixShortest, long LoadShortest, AloneTexts? Texts);

/// <param name="Mix">For the mix, or null.</param>
/// <param name="Load">For the load, or null.</param>
/// <param name="Move">For the move, or null.</param>
/// <param name="Clear">For the clear, or null.</param>
public sealed record AloneTexts(string? Mix, string? Load, string? Move, string? Clear);

/// <param name="Request">Its id.</param>
/// <param name="Specimen">Its specimen.</param>
/// <param name="Assay">Place of its assay in the list of assays, from 0.</param>
/// <param name="Lot">Its kit lot, whose card the reader needs.</param>
/// <param name="Ready">When its specimen is ready.</param>
/// <param name="LoadBy">By when its load must have ended, or null.</param>
/// <param name="After">Requests that must be out of the reader before its mix.</param>
/// <param name="Control">Whether it is a control.</param>
/// <param name="Urgent">Whether it is urgent.</param>
/// <param name="RepeatLeft">Whether specimen is left for a repeat.</param>
public sealed record AloneRequest(string Request, string Specimen, int Assay, string Lot, Instant Ready,
    Instant? LoadBy, IReadOnlyList<string> After, bool Control, bool Urgent, bool RepeatLeft);

/// <param name="Request">Whose.</param>
/// <param name="Phase">How far it has come.</param>
/// <param name="From">The earliest that its mix or load can have ended, or null.</param>
/// <param name="To">The latest that it can have ended, or null; of a cartridge being read the start of its
/// read.</param>
/// <param name="Slot">The slot in which it reacts, or null.</param>
/// <param name="Reader">The reader in which it is, or null.</param>
/// <param name="MustGo">Whether it is to be thrown away whatever its times.</param>
public sealed record AloneCartridge(string Request,
    [property: AllowedValues("mixed", "reacting", "reading", "read")] string Phase, Instant? From, Instant? To,
    int? Slot, int? Reader, bool MustGo);

/// <param name="Kind">As in an offer.</param>
/// <param name="Request">The request, or null.</param>
/// <param name="Hands">Whose step.</param>
/// <param name="Slot">The slot of a load, or null.</param>
/// <param name="Reader">The reader, or null.</param>
/// <param name="Lot">The lot of a card change, or null.</param>
/// <param name="Start">Planned start.</param>
/// <param name="End">Planned end.</param>
/// <param name="Title">"Move slot 3 to the reader".</param>
public sealed record AloneStep(
    [property: AllowedValues("mix", "load", "move", "clear", "card-change", "discard")] string Kind, string? Request,
    int Hands, int? Slot, int? Reader, string? Lot, Instant Start, Instant End, string Title);

/// <param name="Resource">"hands", "slot", "reader" or "incubator".</param>
/// <param name="Number">Which one; null for the incubator.</param>
/// <param name="From">Since when.</param>
/// <param name="To">Until when.</param>
public sealed record AloneClosing(
    [property: AllowedValues("hands", "slot", "reader", "incubator")] string Resource, int? Number, Instant From,
    Instant To);

/// <param name="Reader">Which reader.</param>
/// <param name="Lot">The lot whose card is in, or null.</param>
/// <param name="InDoubt">Whether nobody knows if the reader is empty.</param>
public sealed record AloneCard(int Reader, string? Lot, bool InDoubt);

/// <param name="Code">Which.</param>
/// <param name="Priority">How urgent.</param>
/// <param name="Word">The priority's word.</param>
/// <param name="Title">What stands above, with {0} for the place or the specimen.</param>
/// <param name="Text">What to do, with {0} for the specimen.</param>
/// <param name="Actions">What can be tapped, the best first.</param>
public sealed record AloneAlarm(
    [property: AllowedValues("window-in-danger", "window-closed", "mixture-in-danger", "mixture-too-old")] string Code,
    [property: AllowedValues("low", "medium", "high")] string Priority, string Word, string Title, string Text,
    IReadOnlyList<string> Actions);

/// <param name="Kind">The step.</param>
/// <param name="Title">"Was {0} mixed?", with {0} for the specimen and {1} for the place.</param>
/// <param name="Text">What follows from it where no place is concerned.</param>
/// <param name="PlaceText">What follows from it where one is.</param>
/// <param name="Answers">What can be answered.</param>
public sealed record AloneQuestion(
    [property: AllowedValues("mix", "load", "move", "clear", "discard")] string Kind, string Title, string Text,
    string PlaceText, IReadOnlyList<AnswerSnapshot> Answers);
