namespace Incubation.Service.Commands;

/// <summary>
/// A report or instruction as it travels: one flat shape for all, so that a browser can keep it and send it later
/// unchanged, perhaps after an upgrade. <see cref="CommandReader"/> reads it; inside the program it is a
/// <c>BenchCommand</c>.
/// </summary>
/// <param name="Id">Names it: made by the screen at the first touch, so that sending it again is harmless.</param>
/// <param name="Kind">
/// Reports: "mixed", "loaded", "read-started", "cleared", "card-changed", "discarded", "result", "not-begun",
/// "card-seen", "temperature", "several". Instructions: "start-batch", "close-batch", "withdraw", "repeat",
/// "acknowledge", "undo", "correct", "answer", "settle", "ready", "out-of-use", "in-use", "hands", "pause-intake",
/// "resume-intake", "incubator", "release-result", "amend-result", "critical-told", "need-not-tell",
/// "confirm-ready", "reject-specimen", "carry-over", "give-up", "revoke-fate", "make-urgent", "make-routine",
/// "confirm-amendment", "decline-amendment", "due", "comment".
/// </param>
/// <param name="At">First touch, or the stated time, in the server's time as the screen counts it; ISO 8601, in UTC.
/// A report whose time cannot be read, is more than five seconds later than its arrival, or earlier than the last
/// batch's close (the bench's opening; its request) is recorded as of its arrival with this text, and its time is asked
/// for. An instruction is refused there.</param>
/// <param name="Stated">Whether a person stated <paramref name="At"/> ("it was earlier", "just now").</param>
/// <param name="Device">What the screen calls itself; what stands in the log is what the server knows it as.</param>
/// <param name="Request">The request meant.</param>
/// <param name="Slot">Slot of a load, a correction or an answer.</param>
/// <param name="Reader">Reader of a load, read, clear or card change.</param>
/// <param name="Lot">Lot of the card: put in, seen, corrected or answered.</param>
/// <param name="Hands">Hands of "not-begun"; for "hands" how many pairs work from now on.</param>
/// <param name="Reason">Discard reason, kebab-case: "window-closed", "mixture-too-old", "well-overfilled", "bubbles",
/// "dropped", "reader-fault", "found-gone", "withdrawn", "temperature", "power-cut", "controls-failed",
/// "other". For "amend-result", where one of the usual reasons is chosen: "typed", "other-cartridge", "misread",
/// "measured-again" or "other"; the words stand beside it.</param>
/// <param name="Words">Words of the discard, where the reason is "other" or more is to be said; the reason of a
/// correction; why a request is given up, or withdrawn; for "need-not-tell" why nobody need be told; for
/// "confirm-amendment" and "decline-amendment" why it is right, or is not; for "comment" what is noted, left out for
/// nothing any more.</param>
/// <param name="Value">The result as the reader shows it; one that cannot be is recorded and held. For what is said of
/// a result ("release-result", "confirm-amendment", "decline-amendment", "critical-told", "need-not-tell"): the value
/// that is meant, as the reader showed it; where the result, or the amendment's, is another by now, it is refused. Left
/// out, whatever it is: name it, or you may release what you have not seen.</param>
/// <param name="NoValue">The reader's code where it gave no value.</param>
/// <param name="InTime">For "read-started": "it was started in time".</param>
/// <param name="Alarm">Alarm id of "acknowledge".</param>
/// <param name="Of">Report id of "undo" and "correct".</param>
/// <param name="Person">Who was signed in at the touch, or last before it: a report may arrive after others have signed
/// in.</param>
/// <param name="Locked">Whether the tablet was locked at the touch.</param>
/// <param name="Then">For "correct": when the report's step really happened, left out where its time was right; for
/// "ready": when the request will be ready, left out to hold it back without a time; for "due": when its results should
/// be there, left out for no time of its own.</param>
/// <param name="With">For "undo": the later reports that rest on it, as the snapshot lists them.</param>
/// <param name="Question">For "answer": the question's id.</param>
/// <param name="Answer">For "answer": one of the question's answers; with <paramref name="Slot"/>,
/// <paramref name="Lot"/> or a stated <paramref name="At"/> where it asks for them. For "correct": "mistake" where the
/// step was never done.</param>
/// <param name="Resource">For "out-of-use" and "in-use": "hands", "slot", "reader" or "incubator".</param>
/// <param name="Number">Which one, from 1; left out for the incubator.</param>
/// <param name="Minutes">For "out-of-use": for so many minutes; left out until "in-use" is said.</param>
/// <param name="Anyway">For hands that step away: although cartridges would be lost, whom the refusal has
/// named. For "give-up" of a patient's specimen: that it is meant.</param>
/// <param name="Celsius">For "temperature": what the incubator's thermometer or probe shows; for "incubator": what it
/// is set to.</param>
/// <param name="Tolerance">For "incubator": how far from that it may be, in degrees Celsius.</param>
/// <param name="Shown">For "result": what the reader shows as the specimen's identity; left out, none, and the result
/// is held. For "reject-specimen": the specimen.</param>
/// <param name="ReadBack">For "critical-told": whether it was read back; in <paramref name="Words"/> stands who was
/// told.</param>
/// <param name="Why">For "critical-told" of an amended result: why not who was told of the earlier value.</param>
/// <param name="Assay">For "reject-specimen": code of the assay.</param>
/// <param name="Rules">For "incubator": assays whose cartridges are discarded beyond so many minutes outside; those of
/// others are marked.</param>
/// <param name="Told">For "several": what was done while nobody reported, 1 to 50 reports of hands or answers, each
/// with its own <paramref name="At"/>. They are taken in the order of their times, all or none; the sentence of a
/// refusal says which one is in the way. Ids, devices and persons inside are not read.</param>
/// <param name="Scan">For "loaded", "read-started" and "cleared": "scanned" where the cartridge's own label was
/// scanned, "other-than-planned" where it was while the plan's next is another, "not-scanned" where nobody scanned it
/// although the clinic demands that; left out, nothing is said of it.</param>
public sealed record ScreenCommand(
    string Id, string Kind, string At, bool Stated, string Device, string? Request, int? Slot, int? Reader,
        string? Lot, int? Hands,
    string? Reason, string? Words, string? Value, string? NoValue, bool? InTime, string? Alarm, string? Of,
        string? Person = null, bool Locked = false,
    string? Then = null, IReadOnlyList<string>? With = null, string? Question = null, string? Answer = null,
    string? Resource = null, int? Number = null, double? Minutes = null, bool? Anyway = null, double? Celsius = null,
        double? Tolerance = null,
    IReadOnlyList<TemperatureRuleIn>? Rules = null, string? Shown = null, bool? ReadBack = null, string? Assay = null,
    IReadOnlyList<ScreenCommand>? Told = null, string? Why = null, string? Scan = null);

/// <param name="Assay">Code of the assay.</param>
/// <param name="Minutes">Its cartridges are discarded beyond so many minutes in all outside the tolerance.</param>
public sealed record TemperatureRuleIn(string? Assay, double? Minutes);
