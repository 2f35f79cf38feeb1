using Incubation.Bench;
using Incubation.Model;

namespace Incubation.Clinic.Connections;

/// <summary>What a notice says.</summary>
public enum NoticeKind
{
    /// <summary>A patient's result may be used.</summary>
    Ready,

    /// <summary>A patient's result is another than it was first.</summary>
    Amended,

    /// <summary>A result that was out waits for a person again: it may not be used now.</summary>
    Withheld,

    /// <summary>A result that is out was made while its lot's controls, as is known by now, were wrong.</summary>
    InDoubt,

    /// <summary>No value is looked for any more.</summary>
    Cancelled,

    /// <summary>It was said that no value is looked for, and one is.</summary>
    Reopened,

    /// <summary>An alarm that nobody has seen.</summary>
    Alarm,
}

/// <summary>
/// Names a notice: the row of the log by which it came about, and the request that it is about. By it a repeat is known
/// as one.
/// </summary>
/// <param name="Bench">The bench in whose stream the row is; null for the clinic's.</param>
/// <param name="Sequence">The row.</param>
/// <param name="Request">Which request; null for an alarm.</param>
public sealed record NoticeId(BenchId? Bench, long Sequence, RequestId? Request);

/// <summary>What the world outside may know of a request.</summary>
/// <param name="Result">Its result, where that may go out; else null.</param>
/// <param name="IsAmended">Whether that is another than the first.</param>
/// <param name="IsCancelled">Whether no value is looked for any more.</param>
public sealed record OutwardStanding(ReadResult? Result, bool IsAmended, bool IsCancelled)
{
    /// <summary>Nothing yet.</summary>
    public static OutwardStanding None { get; } = new(null, false, false);

    /// <summary>
    /// Of a cartridge as its bench knows it. <see cref="Cartridge.Use"/> alone says whether its result may go out.
    /// </summary>
    public static OutwardStanding Of(Cartridge? cartridge) => cartridge switch
    {
        null => None,
        { Use.IsReported: true, Result: { } result } => new(result, cartridge.Status is { Earlier.IsEmpty: false },
            false),
        { Wanted.Request.Kind: not RequestKind.Patient } => None,
        // What is carried over, or repeated, goes on; a repeat that was taken back is another's.
        { Fate: RequestFate.GivenUp } or { Fate: null, RepeatOf: null, Stage: CartridgeStage.Withdrawn } =>
            new(null, false, true),
        _ => None,
    };

    /// <summary>Of a closed batch's result, of which it is known what holds it.</summary>
    public static OutwardStanding Of(RequestKind kind, ResultHold hold, ReadResult? result, bool isAmended) =>
        result is not null && ResultUse.Of(kind, hold).IsReported ? new(result, isAmended, false) : None;

    /// <summary>What is told when one standing takes the place of another; null where nothing is.</summary>
    public static NoticeKind? NewsOf(OutwardStanding before, OutwardStanding after)
    {
        ArgumentNullException.ThrowIfNull(before);
        ArgumentNullException.ThrowIfNull(after);
        return before == after ? null
            : after.IsCancelled ? NoticeKind.Cancelled
            : after.Result is { } result ? before.Result == result ? null
                : before.Result is not null || after.IsAmended ? NoticeKind.Amended : NoticeKind.Ready
            : before.Result is not null ? NoticeKind.Withheld
            : NoticeKind.Reopened;
    }
}

/// <summary>What the rows of one command tell the world outside.</summary>
public static class BenchNews
{
    /// <summary>
    /// What is told of each request when a command has led a bench from one state to another. Of what leaves with its
    /// batch nothing is told: what becomes of it later the clinic's stream says.
    /// </summary>
    public static IEnumerable<(RequestId Request, int Batch, NoticeKind Kind)> Of(BenchState? before, BenchState after)
    {
        ArgumentNullException.ThrowIfNull(after);
        foreach (var cartridge in after.Cartridges)
        {
            var known = before?.Find(cartridge.Id);
            if (!ReferenceEquals(known, cartridge)
                && OutwardStanding.NewsOf(OutwardStanding.Of(known), OutwardStanding.Of(cartridge)) is { } kind)
                yield return (cartridge.Id, after.Batch, kind);
        }
    }
}
