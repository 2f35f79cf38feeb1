using System.Collections.Immutable;
using Incubation.Model;
using NodaTime;

namespace Incubation.Bench;

/// <summary>What can be true of a cartridge, and is told in a press or two; hosts have the words.</summary>
public enum TellingKind
{
    /// <summary>It was mixed, at a time.</summary>
    Mixed,

    /// <summary>It was loaded, in one of these places, at a time.</summary>
    Loaded,

    /// <summary>It was moved into one of these readers, and its read started at a time.</summary>
    ReadStarted,

    /// <summary>It was read and taken out, at a time.</summary>
    Cleared,

    /// <summary>It lies in another of these places than believed.</summary>
    Elsewhere,

    /// <summary>Its last step was at another time.</summary>
    OtherTime,

    /// <summary>It fell or was spilled, at a time.</summary>
    Fell,

    /// <summary>It was thrown away because it could not be used any more, at a time.</summary>
    ThrownAway,

    /// <summary>It is not there, and nobody knows since when: it was thrown away.</summary>
    Gone,

    /// <summary>It has not been mixed.</summary>
    NotMixed,

    /// <summary>It is mixed, and has not been loaded.</summary>
    StillMixed,

    /// <summary>It is still where it was: the step that would take it away has not been done.</summary>
    StillHere,

    /// <summary>It was not thrown away; it lies in one of these places, where it has been loaded.</summary>
    NotThrownAway,
}

/// <summary>A command that a telling becomes, and when it says that something was.</summary>
/// <param name="Command">The command.</param>
/// <param name="At">The time of the command.</param>
public sealed record SaidThen(BenchCommand Command, Instant At);

/// <summary>One thing that can be true of a cartridge, and what is said for it.</summary>
/// <param name="What">What.</param>
/// <param name="Request">Of which cartridge.</param>
/// <param name="Places">Where: one of these is named, the likeliest first; empty where none is.</param>
/// <param name="Earliest">The earliest that it can have been, where it takes a time: from then until it is told. Null
/// where it takes none.</param>
public sealed record Telling(TellingKind What, RequestId Request, ImmutableArray<CartridgePlace> Places,
    Instant? Earliest)
{
    /// <summary>A report that was never so, and is taken back; or null.</summary>
    public ReportId? NotSo { get; init; }

    /// <summary>The report that was otherwise: at another place or time; or null.</summary>
    public ReportId? Of { get; init; }

    /// <summary>Where the cartridge lies once <see cref="NotSo"/> is taken back: nothing is otherwise there.</summary>
    public CartridgePlace? Lies { get; init; }

    /// <summary>The hands that have not begun their step, or null.</summary>
    public HandsNumber? Hands { get; init; }

    /// <summary>Why it was thrown away, or null.</summary>
    public DiscardReason? Reason { get; init; }

    /// <summary>
    /// For a load: how long before it the mix, which nobody has reported, must have been at the latest; else null.
    /// </summary>
    public Duration? MixedBefore { get; init; }

    /// <summary>
    /// For a read: from when on somebody must say that it had been started in time; null where it has no window.
    /// </summary>
    public Instant? InTimeFrom { get; init; }

    /// <summary>What is said, in this order.</summary>
    /// <param name="place">One of <see cref="Places"/>; null where there are none.</param>
    /// <param name="at">When it was, where it takes a time; else the present.</param>
    /// <param name="now">The present.</param>
    /// <param name="why">The words of the telling: they stand with what is corrected.</param>
    /// <exception cref="ArgumentException">A place is needed, and none of <see cref="Places"/> is given.</exception>
    public ImmutableArray<SaidThen> Says(CartridgePlace? place, Instant at, Instant now, string why)
    {
        if (!Places.IsEmpty && (place is null || !Places.Contains(place)))
            throw new ArgumentException("A place that is offered must be named.", nameof(place));
        var says = ImmutableArray.CreateBuilder<SaidThen>();
        if (NotSo is { } never)
            says.Add(new SaidThen(new BenchCommand.CorrectReport(never, null, null, null, why, NeverDone: true), now));
        if (What == TellingKind.Loaded && MixedBefore is { } before)
            says.Add(new SaidThen(new BenchCommand.Mixed(Request), at - before));
        if (Said(place, at, now, why) is { } said)
            says.Add(said);
        return says.ToImmutable();
    }

    private SaidThen? Said(CartridgePlace? place, Instant at, Instant now, string why) => What switch
    {
        TellingKind.Mixed => new SaidThen(new BenchCommand.Mixed(Request, TimeStated: true), at),
        TellingKind.Loaded => new SaidThen(new BenchCommand.Loaded(Request, place!, TimeStated: true), at),
        TellingKind.ReadStarted => new SaidThen(new BenchCommand.ReadStarted(Request, ReaderOf(place),
            StatedInTime: now > InTimeFrom), at),
        TellingKind.Cleared => new SaidThen(new BenchCommand.Cleared(Request, ReaderOf(place)), at),
        TellingKind.OtherTime => new SaidThen(new BenchCommand.CorrectReport(Of!.Value, at, null, null, why), now),
        TellingKind.Fell or TellingKind.ThrownAway =>
            new SaidThen(new BenchCommand.Discarded(Request, Reason ?? DiscardReason.Dropped, null), at),
        TellingKind.Gone => new SaidThen(new BenchCommand.Discarded(Request, DiscardReason.FoundGone, null), now),
        TellingKind.Elsewhere or TellingKind.NotThrownAway when Of is { } report && place != Lies =>
            new SaidThen(new BenchCommand.CorrectReport(report, null, place, null, why), now),
        TellingKind.NotMixed or TellingKind.StillMixed or TellingKind.StillHere when Hands is { } hands =>
            new SaidThen(new BenchCommand.NotBegun(hands), now),
        _ => null,
    };

    private static ReaderNumber ReaderOf(CartridgePlace? place) => ((CartridgePlace.InReader)place!).Reader;
}

/// <summary>What can be true of one cartridge.</summary>
/// <param name="Request">Which.</param>
/// <param name="Lies">Where it is believed to lie; null where it lies nowhere, or nobody knows.</param>
/// <param name="Can">What can be true of it; what is likelier comes first.</param>
public sealed record CartridgeTellings(RequestId Request, CartridgePlace? Lies, ImmutableArray<Telling> Can);
