namespace Incubation.Server.Live;

/// <summary>What the hub calls on every screen.</summary>
public interface IBenchScreen
{
    /// <summary>A new snapshot of a bench that the screen watches.</summary>
    Task Snapshot(BenchSnapshot snapshot);

    /// <summary>Who is in front of the screen, when that has changed.</summary>
    Task Who(People.WhoSnapshot who);
}

/// <summary>
/// A report or instruction from a screen. One shape for all, so that a browser can keep it and send it later unchanged.
/// </summary>
/// <param name="Id">Names it: made by the screen at the first touch, so that sending it again is harmless.</param>
/// <param name="Kind">
/// Reports: "mixed", "loaded", "read-started", "cleared", "card-changed", "discarded", "result", "not-begun".
/// Instructions: "start-batch", "close-batch", "withdraw", "repeat", "acknowledge", "undo", "settle".
/// </param>
/// <param name="At">First touch, or the stated time, in the server's time as the screen counts it; ISO 8601.</param>
/// <param name="Stated">Whether a person stated <paramref name="At"/> ("it was earlier", "just now").</param>
/// <param name="Device">What the screen calls itself; what stands in the log is what the server knows it as.</param>
/// <param name="Request">The request meant.</param>
/// <param name="Slot">Slot of a load.</param>
/// <param name="Reader">Reader of a load, read, clear or card change.</param>
/// <param name="Lot">Lot of the card.</param>
/// <param name="Hands">Hands of "not-begun".</param>
/// <param name="Reason">Discard reason, kebab-case: "window-closed", "mixture-too-old", "well-overfilled", "bubbles", "dropped", "reader-fault", "other".</param>
/// <param name="Words">Words of the discard, where the reason is "other" or more is to be said.</param>
/// <param name="Value">The result as the reader shows it.</param>
/// <param name="NoValue">The reader's code where it gave no value.</param>
/// <param name="InTime">For "read-started": "it was started in time".</param>
/// <param name="Alarm">Alarm id of "acknowledge".</param>
/// <param name="Of">Report id of "undo".</param>
/// <param name="Person">Who was signed in at the touch, or last before it: a report may arrive after others have signed in.</param>
/// <param name="Locked">Whether the tablet was locked at the touch.</param>
public sealed record ScreenCommand(
    string Id, string Kind, string At, bool Stated, string Device, string? Request, int? Slot, int? Reader, string? Lot, int? Hands,
    string? Reason, string? Words, string? Value, string? NoValue, bool? InTime, string? Alarm, string? Of, string? Person = null, bool Locked = false);

/// <summary>What became of a screen's command: recorded (now or before), or refused with a sentence.</summary>
/// <param name="Recorded">Whether it stands in the log.</param>
/// <param name="Sentence">Where refused: what is wrong and what to do.</param>
/// <param name="Revision">The bench's revision after it.</param>
/// <param name="SignIn">Whether it was not heard because nobody is signed in: keep it, and send it again afterwards.</param>
public sealed record CommandAnswer(bool Recorded, string? Sentence, long Revision, bool SignIn = false);
