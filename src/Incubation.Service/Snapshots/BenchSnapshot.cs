using System.ComponentModel.DataAnnotations;
using NodaTime;

namespace Incubation.Service.Snapshots;

/// <summary>
/// What is pushed to screens: absolute instants, the server's time and its rate, and every word already in the clinic's
/// language, so that a screen counts, prompts and alarms by itself while it has no server. The browser modules'
/// <c>types.js</c> is generated from these records; texts that are one of a few say which, and the modules are checked
/// against that.
/// </summary>
/// <param name="Bench">Id of the bench.</param>
/// <param name="Name">Its name.</param>
/// <param name="Revision">Grows with every event; a screen ignores a snapshot older than the one it has.</param>
/// <param name="ServerTime">The server's time when this was made.</param>
/// <param name="Rate">Seconds of the server's time in one real second; 1 but in a demo.</param>
/// <param name="Zone">IANA name of the clinic's time zone.</param>
/// <param name="Batch">The batch in numbers and words.</param>
/// <param name="Offers">The next step of each pair of hands, the earliest first; empty before the batch runs and when
/// nothing is left to do.</param>
/// <param name="Upcoming">What comes after: the next eight, and the rest for cartridges in work.</param>
/// <param name="Slots">Every slot.</param>
/// <param name="Readers">Every reader.</param>
/// <param name="Alarms">Alarms that stand and those that will stand if nothing is reported.</param>
/// <param name="MissingResults">Cartridges read whose result has not been entered.</param>
/// <param name="Undo">The last report that can be taken back, or null.</param>
/// <param name="Lots">Lots of the clinic and of this bench: the characters typed for a card must fit only one of
/// them.</param>
/// <param name="Lanes">The lanes as SVG markup, in the layout that the screen watches.</param>
/// <param name="Unchecked">Reports made on locked tablets that nobody has settled: how many, by tablet.</param>
/// <param name="Questions">Questions that stand, the oldest first.</param>
/// <param name="Undos">For each device its own last report, with the later ones that rest on it.</param>
/// <param name="Reports">Steps reported in this batch that can be corrected, the newest first, at most forty.</param>
/// <param name="Losses">Cartridges that are given up, and why.</param>
/// <param name="Repeats">Cartridges without a value whose repeat can be ordered.</param>
/// <param name="NotPlanned">Requests that wait without a plan, and why.</param>
/// <param name="Means">Hands, intake and incubator.</param>
/// <param name="Labels">What the labels of this batch's cartridges say: a scan is held against them, also without the
/// server.</param>
/// <param name="Urgent">Urgent requests that came while the batch runs and have not been begun.</param>
/// <param name="Tellings">What can be true of each cartridge, and be told where somebody stands: at an alarm, a slot or
/// a reader.</param>
/// <param name="Alone">What a screen needs to go on without its server; null where no batch runs, and where specimens
/// are not named.</param>
/// <param name="WiredResults">How many results came by wire of which a person must say whose they are.</param>
/// <param name="LabelScans">"off", "asked" or "demanded": whether a scan of the cartridge's label is the report of its
/// load, move and clear.</param>
public sealed record BenchSnapshot(
    string Bench,
    string Name,
    long Revision,
    Instant ServerTime,
    double Rate,
    string Zone,
    BatchSnapshot Batch,
    IReadOnlyList<OfferSnapshot> Offers,
    IReadOnlyList<UpcomingSnapshot> Upcoming,
    IReadOnlyList<SlotSnapshot> Slots,
    IReadOnlyList<ReaderSnapshot> Readers,
    IReadOnlyList<AlarmSnapshot> Alarms,
    IReadOnlyList<MissingResultSnapshot> MissingResults,
    UndoSnapshot? Undo,
    IReadOnlyList<string> Lots,
    string Lanes,
    IReadOnlyList<UncheckedSnapshot> Unchecked,
    IReadOnlyList<QuestionSnapshot> Questions,
    IReadOnlyList<UndoOfDevice> Undos,
    IReadOnlyList<ReportSnapshot> Reports,
    IReadOnlyList<LossSnapshot> Losses,
    IReadOnlyList<RepeatSnapshot> Repeats,
    IReadOnlyList<NotPlannedSnapshot> NotPlanned,
    ResourcesSnapshot Means,
    IReadOnlyList<LabelSnapshot> Labels,
    IReadOnlyList<UrgentSnapshot> Urgent,
    IReadOnlyList<TellingsSnapshot> Tellings,
    AloneSnapshot? Alone = null,
    int WiredResults = 0,
    [property: AllowedValues("off", "asked", "demanded")] string LabelScans = "off")
{
    /// <summary>
    /// The present form: grows when a page made for the form before could no longer read a snapshot. A member that is
    /// added does not change it. The modules' <c>form.js</c> has the same number.
    /// </summary>
    public const int PresentForm = 1;

    /// <summary>
    /// Which form this has; a page made for another goes on alone, and is loaded again when it may be.
    /// </summary>
    public int Form { get; } = PresentForm;
}

/// <param name="Request">Which.</param>
/// <param name="Text">"Urgent: SP-077, result by about 20:49, begin at 20:41".</param>
public sealed record UrgentSnapshot(string Request, string Text);

/// <param name="Code">The text of the label's code.</param>
/// <param name="Request">Whose cartridge.</param>
/// <param name="Specimen">Its specimen.</param>
/// <param name="Assay">Name of its assay.</param>
/// <param name="Over">Whether nothing is left to be done with it.</param>
public sealed record LabelSnapshot(string Code, string Request, string Specimen, string Assay, bool Over);

/// <param name="Request">Whose cartridge.</param>
/// <param name="Specimen">Its specimen.</param>
/// <param name="Cause">"window-closed", "mixture-too-old", "hands-away", "reader-out-of-use", "slot-out-of-use",
/// "hands-held", "reader-held", "no-time", "withdrawn" or "temperature".</param>
/// <param name="Text">"SP-014 is given up: the hands are away. …"</param>
/// <param name="By">The cartridge that holds what it needs, or null.</param>
/// <param name="Since">Since when that is known.</param>
/// <param name="Reason">The reason to discard it with.</param>
/// <param name="RepeatLeft">Whether specimen is left for a repeat.</param>
public sealed record LossSnapshot(string Request, string Specimen, string Cause, string Text, string? By,
    Instant Since, string Reason, bool RepeatLeft);

/// <param name="Request">Whose cartridge gave no value: what "repeat" is sent with.</param>
/// <param name="Specimen">Its specimen.</param>
/// <param name="Assay">Name of its assay.</param>
public sealed record RepeatSnapshot(string Request, string Specimen, string Assay);

/// <param name="Request">Which.</param>
/// <param name="Specimen">Its specimen.</param>
/// <param name="Cause">"held-back", "no-reader", "no-slot", "no-hands", "other-temperature", "not-ready",
/// "controls-awaited", "controls-failed", "set-aside" or "after-not-planned".</param>
/// <param name="Text">In words.</param>
public sealed record NotPlannedSnapshot(string Request, string Specimen, string Cause, string Text);

/// <param name="Hands">Pairs of hands that work on the bench, those away included.</param>
/// <param name="OutOfUse">Hands that are away; slots, readers and the incubator out of use.</param>
/// <param name="IntakePaused">Whether new requests are turned away.</param>
/// <param name="Incubator">Its temperature; null where none was ever set or measured.</param>
public sealed record ResourcesSnapshot(int Hands, IReadOnlyList<OutOfUseSnapshot> OutOfUse, bool IntakePaused,
    IncubatorSnapshot? Incubator);

/// <param name="Resource">"hands", "slot", "reader" or "incubator".</param>
/// <param name="Number">Which one; null for the incubator.</param>
/// <param name="From">Since when.</param>
/// <param name="To">Until when; null until somebody says that it is in use again.</param>
/// <param name="Why">In a person's words, or null.</param>
public sealed record OutOfUseSnapshot(
    [property: AllowedValues("hands", "slot", "reader", "incubator")] string Resource, int? Number, Instant From,
        Instant? To, string? Why);

/// <param name="Set">What it is set to, in degrees Celsius, or null.</param>
/// <param name="Tolerance">How far from that it may be, or null.</param>
/// <param name="Shows">What was measured last, or null.</param>
/// <param name="MeasuredAt">When.</param>
/// <param name="OutsideSince">Since when it is outside, or null.</param>
public sealed record IncubatorSnapshot(double? Set, double? Tolerance, double? Shows, Instant? MeasuredAt,
    Instant? OutsideSince);

/// <param name="Id">Names the question: "contradiction/…".</param>
/// <param name="Kind">"when-loaded", "when-mixed", "when-done", "contradiction", "card-in-doubt", "reader-stopped" or
/// "power-cut".</param>
/// <param name="Title">The question: "What became of SP-001?".</param>
/// <param name="Text">What speaks against what.</param>
/// <param name="Since">Since when it stands.</param>
/// <param name="Report">The report that raised it, or null.</param>
/// <param name="Request">Whose cartridge, or null.</param>
/// <param name="Specimen">Its specimen, or null.</param>
/// <param name="Other">Another cartridge that was believed to be in the same place, or null.</param>
/// <param name="OtherSpecimen">Its specimen, or null.</param>
/// <param name="Slot">The slot meant, or null.</param>
/// <param name="Reader">The reader meant, or null.</param>
/// <param name="Answers">What can be tapped, the likeliest first.</param>
public sealed record QuestionSnapshot(
    string Id, string Kind, string Title, string Text, Instant Since, string? Report, string? Request,
        string? Specimen, string? Other,
    string? OtherSpecimen, int? Slot, int? Reader, IReadOnlyList<AnswerSnapshot> Answers);

/// <param name="Answer">What is sent: "other-cleared".</param>
/// <param name="Text">Its words.</param>
/// <param name="Slots">The slots of which one is sent along; empty where none is asked.</param>
/// <param name="TakesTime">Whether the time at which it was is sent along, as a stated <c>at</c>.</param>
/// <param name="TakesLot">Whether the card's lot is sent along.</param>
public sealed record AnswerSnapshot(string Answer, string Text, IReadOnlyList<int> Slots, bool TakesTime,
    bool TakesLot);

/// <param name="Device">The device whose report it is.</param>
/// <param name="Report">Its own last report.</param>
/// <param name="Text">"Undo: mixed SP-014".</param>
/// <param name="With">Later reports that rest on it: shown, and sent along as <c>with</c>.</param>
public sealed record UndoOfDevice(string Device, string Report, string Text, IReadOnlyList<ReportSnapshot> With);

/// <param name="Report">Names the report.</param>
/// <param name="Kind">"mixed", "loaded", "read-started", "cleared", "card-changed" or "discarded".</param>
/// <param name="Text">"SP-014 loaded in slot 3".</param>
/// <param name="At">When it happened, as believed now.</param>
/// <param name="Device">Through which device it was told: from another one a correction needs a reason.</param>
/// <param name="ReasonFrom">A correction needs a reason from here on.</param>
/// <param name="Request">Whose cartridge, or null for a card.</param>
/// <param name="Specimen">Its specimen, or null.</param>
/// <param name="Slot">The slot, or null.</param>
/// <param name="Reader">The reader, or null.</param>
/// <param name="Lot">The card's lot, or null.</param>
public sealed record ReportSnapshot(
    string Report, string Kind, string Text, Instant At, string Device, Instant ReasonFrom, string? Request,
        string? Specimen, int? Slot, int? Reader, string? Lot);

/// <param name="Device">The tablet.</param>
/// <param name="Reports">How many reports on it are of somebody who is not known.</param>
public sealed record UncheckedSnapshot(string Device, int Reports);

/// <param name="Phase">"preparing", "running" or "finished" (running with nothing left to do but results and
/// closing).</param>
/// <param name="Number">Number of the batch on this bench.</param>
/// <param name="Headline">In words: "4 of 12 done · 6 reacting".</param>
/// <param name="Finish">Planned or real finish, or null.</param>
/// <param name="Total">Requests.</param>
/// <param name="Done">Read and taken out.</param>
/// <param name="Reacting">Reacting now.</param>
/// <param name="Waiting">Not mixed.</param>
/// <param name="Discarded">Thrown away.</param>
/// <param name="ReadInWindow">Reads that started inside their window.</param>
/// <param name="ReadOutside">Reads that did not.</param>
/// <param name="UrgentWaiting">Urgent requests not cleared.</param>
/// <param name="UrgentSince">Since when the longest waiting of them could be worked on, or null.</param>
/// <param name="LateNow">Requests past their due time.</param>
/// <param name="PerHour">Cartridges an hour since the start, or null.</param>
/// <param name="Idle">What the card says when there is no offer: a title and a sentence; null when there is
/// one.</param>
/// <param name="StartedAt">When the batch was started, or null before.</param>
public sealed record BatchSnapshot(
    [property: AllowedValues("preparing", "running", "finished")] string Phase, int Number, string Headline,
        Instant? Finish, int Total, int Done, int Reacting, int Waiting, int Discarded,
    int ReadInWindow, int ReadOutside, int UrgentWaiting, Instant? UrgentSince, int LateNow, double? PerHour,
        IdleSnapshot? Idle,
    Instant? StartedAt = null);

/// <param name="Title">Verb and object, or "Nothing to do".</param>
/// <param name="Detail">What to do instead.</param>
/// <param name="Link">A page that helps, or null.</param>
/// <param name="LinkText">Its words.</param>
/// <param name="Blocked">Whether the batch cannot be started yet: the page that helps is offered instead.</param>
public sealed record IdleSnapshot(string Title, string Detail, string? Link, string? LinkText, bool Blocked = false);

/// <param name="Key">Names the step while it is offered: the same step keeps its key from snapshot to snapshot.</param>
/// <param name="Kind">"mix", "load", "move", "clear", "card-change" or "discard".</param>
/// <param name="Hands">Whose.</param>
/// <param name="HandsText">In words, "Hands 1"; empty on a bench with one pair.</param>
/// <param name="Title">"Move slot 3 to the reader".</param>
/// <param name="Detail">"SP-014 · Demo assay C · card A-L1 is in".</param>
/// <param name="Button">What will be recorded: "Moved, read started".</param>
/// <param name="CountdownToBegin">Words under the number before the step may begin: "until it may begin".</param>
/// <param name="CountdownToLatest">Words under the number after: "left to start the read", "allowed time left".</param>
/// <param name="Urgent">Whether the request is urgent.</param>
/// <param name="Request">The request, or null for a card change.</param>
/// <param name="Specimen">Its specimen, or null.</param>
/// <param name="Slot">The slot, or null.</param>
/// <param name="Reader">The reader, or null.</param>
/// <param name="Lot">The lot of a card change, or null.</param>
/// <param name="PromptAt">Prompt sound and words from here.</param>
/// <param name="MayBegin">It may begin: prompt again.</param>
/// <param name="PlannedEnd">Its allowed time has passed.</param>
/// <param name="CountTo">What the one number counts to once it may begin: the window's close for a move, else the
/// planned end.</param>
/// <param name="LatestStart">It must begin no later; null where nothing is at stake.</param>
/// <param name="ReportFrom">The button is disabled, counting down, until here.</param>
/// <param name="AskWhenAfter">A mix or load tapped later than this asks when it ended first; else null.</param>
/// <param name="WindowOpens">For a move.</param>
/// <param name="WindowCloses">For a move: the true close.</param>
/// <param name="Reason">For a discard: the reason to send with it; else null.</param>
/// <param name="Instruction">The words of the kit's instructions for this step, as the assay's sheet has them; or
/// null.</param>
/// <param name="IfNotBegun">What comes first if this step has not been begun, in words; null where nothing would be
/// lost by beginning it now.</param>
public sealed record OfferSnapshot(
    string Key,
    [property: AllowedValues("mix", "load", "move", "clear", "card-change", "discard")] string Kind, int Hands,
        string HandsText, string Title, string Detail, string Button,
    string CountdownToBegin, string CountdownToLatest, bool Urgent, string? Request, string? Specimen, int? Slot,
        int? Reader,
    string? Lot, Instant PromptAt, Instant MayBegin, Instant PlannedEnd, Instant CountTo, Instant? LatestStart,
    Instant ReportFrom, Instant? AskWhenAfter, Instant? WindowOpens, Instant? WindowCloses, string? Reason = null,
        string? Instruction = null, string? IfNotBegun = null);

/// <param name="Title">"Clear the reader".</param>
/// <param name="Start">Planned start.</param>
/// <param name="SpareSeconds">Spare time, or null where nothing is at stake.</param>
/// <param name="Urgent">Whether the request is urgent.</param>
/// <param name="Request">The request, or null.</param>
/// <param name="Kind">As in an offer.</param>
/// <param name="Slot">The slot, or null.</param>
/// <param name="Reader">The reader, or null.</param>
/// <param name="Lot">The lot of a card change, or null: a screen without its server asks for it.</param>
public sealed record UpcomingSnapshot(
    string Title, Instant Start, double? SpareSeconds, bool Urgent, string? Request,
    [property: AllowedValues("mix", "load", "move", "clear", "card-change", "discard")] string Kind, int? Slot,
        int? Reader, string? Lot);

/// <param name="Slot">Which.</param>
/// <param name="Request">What is in it, or null when free.</param>
/// <param name="Specimen">Its specimen.</param>
/// <param name="Assay">Name of its assay.</param>
/// <param name="Urgent">Whether it is urgent.</param>
/// <param name="Opens">Read window opens.</param>
/// <param name="GuardFrom">Guard begins.</param>
/// <param name="Closes">Window closes.</param>
/// <param name="MoveAt">Planned start of the move, or null.</param>
/// <param name="Marks">In what its cartridge differs, in words: its result is held; empty where it is not.</param>
/// <param name="OutOfUse">Since when, until when and why the slot is out of use, or null.</param>
/// <param name="BeginBy">When what saves its cartridge must begin for all to be saved that can be; or null.</param>
/// <param name="Act">What that is, in a few words: "change the card to DB-L1, then move slot 3"; or null.</param>
/// <param name="NotKnown">The specimen whose cartridge may be in it or not, as nobody reported; or null.</param>
public sealed record SlotSnapshot(
    int Slot, string? Request, string? Specimen, string? Assay, bool Urgent, Instant? Opens, Instant? GuardFrom,
        Instant? Closes, Instant? MoveAt,
    IReadOnlyList<string> Marks, OutOfUseSnapshot? OutOfUse, Instant? BeginBy = null, string? Act = null,
    string? NotKnown = null);

/// <param name="Reader">Which.</param>
/// <param name="Card">The lot whose card is in, or null.</param>
/// <param name="Request">What is in it, or null.</param>
/// <param name="Specimen">Its specimen.</param>
/// <param name="ReadyAt">When its read has ended by the assay's time, or null.</param>
/// <param name="Marks">In what its cartridge differs, in words: its result is held; empty where it is not.</param>
/// <param name="CardDoubt">Why its card is not known, or null; then a question asks for it.</param>
/// <param name="CardBelieved">The card that was believed to be in until then, or null.</param>
/// <param name="OutOfUse">Since when, until when and why the reader is out of use, or null.</param>
/// <param name="NotKnown">The specimen whose cartridge may be in it or not, as nobody reported; or null.</param>
public sealed record ReaderSnapshot(
    int Reader, string? Card, string? Request, string? Specimen, Instant? ReadyAt, IReadOnlyList<string> Marks,
        string? CardDoubt, string? CardBelieved,
    OutOfUseSnapshot? OutOfUse, string? NotKnown);

/// <param name="Id">Names the alarm: "window-closed/R03".</param>
/// <param name="Priority">"low", "medium" or "high".</param>
/// <param name="Word">The priority's word beside its shape.</param>
/// <param name="Title">"Slot 1: window closed".</param>
/// <param name="Text">What to do: "Discard it, or say that the read was started in time."</param>
/// <param name="From">Stands since, or will stand from, here.</param>
/// <param name="Until">Gives way to another alarm here, or null.</param>
/// <param name="Deadline">Counts down to here, or null.</param>
/// <param name="EscalatesAt">From here it is on the wall as well, unless it has been acknowledged.</param>
/// <param name="Acknowledged">No sound.</param>
/// <param name="Passed">Its cause has passed: it stands, without sound, until somebody has seen it.</param>
/// <param name="Request">Whose cartridge; empty where it is none's.</param>
/// <param name="Actions">What can be tapped, the best first: "read-started", "loaded", "discard", "started-in-time",
/// "confirm-time", "acknowledge".</param>
/// <param name="Slot">The slot meant by "loaded", or null.</param>
/// <param name="Reader">The reader meant by "read-started", "started-in-time" or "loaded", or null.</param>
/// <param name="Reason">The reason to discard its cartridge with, chosen at first; or null.</param>
/// <param name="BeginBy">When what saves its cartridge must begin; or null.</param>
/// <param name="Line">Whether it is no alarm but a line: no sound, nothing to tap.</param>
public sealed record AlarmSnapshot(
    string Id, [property: AllowedValues("low", "medium", "high")] string Priority, string Word, string Title,
        string Text, Instant From,
    Instant? Until, Instant? Deadline, Instant EscalatesAt, bool Acknowledged, bool Passed, string Request,
        IReadOnlyList<string> Actions,
    int? Slot, int? Reader, string? Reason = null, Instant? BeginBy = null, bool Line = false);

/// <param name="Request">Whose.</param>
/// <param name="Specimen">The specimen to compare with what the reader shows.</param>
/// <param name="Assay">Name of the assay.</param>
/// <param name="Unit">UCUM unit.</param>
/// <param name="Held">Whether a deviation holds the result.</param>
public sealed record MissingResultSnapshot(string Request, string Specimen, string Assay, string Unit, bool Held);

/// <param name="Report">What would be taken back.</param>
/// <param name="Device">The only device that may.</param>
/// <param name="Text">"Undo: mixed SP-014".</param>
public sealed record UndoSnapshot(string Report, string Device, string Text);
