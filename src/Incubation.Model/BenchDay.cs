using NodaTime;

namespace Incubation.Model;

/// <summary>What a bench has, and how it is planned.</summary>
/// <param name="Hands">Pairs of hands, at least 1.</param>
/// <param name="Slots">Slots of the incubator; may be 0.</param>
/// <param name="Readers">Readers, at least 1.</param>
/// <param name="CardChange">How long changing a reader's card takes.</param>
/// <param name="ReadGuard">The last part of each read window that a plan for a cartridge not yet loaded never
/// uses.</param>
/// <param name="WaitWeight">Cost of one second by which one request waits from its ready time to the end of its
/// clear.</param>
public sealed record BenchSetup(int Hands, int Slots, int Readers, Duration CardChange, Duration ReadGuard,
    double WaitWeight);

/// <summary>A time during which a resource cannot be used. It binds from <see cref="MidRun.Now"/>.</summary>
/// <param name="Resource">What cannot be used.</param>
/// <param name="From">First instant at which it cannot be used.</param>
/// <param name="To">First instant at which it can be used again; after <paramref name="From"/>.</param>
/// <param name="Why">A word for people, or null.</param>
public sealed record CalendarEntry(BenchResource Resource, Instant From, Instant To, string? Why);

/// <summary>An instant known only as an interval.</summary>
/// <param name="Earliest">The earliest that it can have been.</param>
/// <param name="Latest">The latest that it can have been; not before <paramref name="Earliest"/>.</param>
public readonly record struct InstantRange(Instant Earliest, Instant Latest);

/// <summary>
/// How far a cartridge has come. One being mixed is in no phase yet; one cleared or discarded in none any more.
/// </summary>
public abstract record CartridgePhase
{
    private CartridgePhase() { }

    /// <summary>Mixed, not loaded.</summary>
    public sealed record Mixed(InstantRange MixEnd) : CartridgePhase;

    /// <summary>Loaded and reacting, in a slot, or in a reader until it is reported read or cleared.</summary>
    public sealed record Reacting(InstantRange LoadEnd, CartridgePlace Place) : CartridgePhase;

    /// <summary>Being read.</summary>
    public sealed record Reading(ReaderNumber Reader, Instant Start) : CartridgePhase;

    /// <summary>Read, not yet cleared.</summary>
    public sealed record Read(ReaderNumber Reader) : CartridgePhase;

    /// <summary>The slot or reader that the cartridge is in; null before it is loaded.</summary>
    public CartridgePlace? FindPlace() => this switch
    {
        Reacting reacting => reacting.Place,
        Reading reading => new CartridgePlace.InReader(reading.Reader),
        Read read => new CartridgePlace.InReader(read.Reader),
        _ => null,
    };

    /// <summary>The reader that the cartridge is in, or null.</summary>
    public ReaderNumber? FindReader() => (FindPlace() as CartridgePlace.InReader)?.Reader;
}

/// <summary>A cartridge in work.</summary>
/// <param name="Request">Its request.</param>
/// <param name="Phase">How far it has come.</param>
/// <param name="MustDiscard">Whether it must be discarded, whatever its times: no plan saves it. One in a reader is
/// cleared as any other.</param>
public sealed record CartridgeInWork(RequestId Request, CartridgePhase Phase, bool MustDiscard = false);

/// <summary>The card that is in a reader.</summary>
public sealed record CardInReader(ReaderNumber Reader, LotCode Card);

/// <summary>A bench in mid-run.</summary>
/// <param name="Now">The present.</param>
/// <param name="Cards">Cards known to be in readers; a reader not named has none.</param>
/// <param name="Steps">Hands steps in progress, at most one for each pair of hands beside those that are not known; its
/// request stands in the phase before it.</param>
/// <param name="Cartridges">Cartridges in work.</param>
public sealed record MidRun(
    Instant Now,
    IReadOnlyList<CardInReader> Cards,
    IReadOnlyList<StepInProgress> Steps,
    IReadOnlyList<CartridgeInWork> Cartridges);

/// <summary>A planning problem: what is wanted of a bench, and how far it has come.</summary>
/// <param name="Start">The day's start; cost counts from here.</param>
/// <param name="Bench">What the bench has.</param>
/// <param name="Assays">Assays, each version of a code once.</param>
/// <param name="Requests">Requests not yet cleared or discarded, each id once.</param>
/// <param name="Calendar">When what cannot be used.</param>
/// <param name="MidRun">Where the bench stands, or null when nothing has begun.</param>
public sealed record BenchDay(
    Instant Start,
    BenchSetup Bench,
    IReadOnlyList<Assay> Assays,
    IReadOnlyList<Request> Requests,
    IReadOnlyList<CalendarEntry> Calendar,
    MidRun? MidRun)
{
    /// <summary>The most requests that a day may hold.</summary>
    public const int MaximumRequests = 500;

    /// <summary>No step that has not begun starts before this instant.</summary>
    public Instant Now => MidRun is { } run ? run.Now : Start;
}
