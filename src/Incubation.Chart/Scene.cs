using NodaTime;

namespace Incubation.Chart;

/// <summary>What a lane stands for.</summary>
internal enum LaneKind
{
    Slot,
    Reader,
    Hands,
}

/// <summary>A countdown beside a lane.</summary>
/// <param name="To">Counts down to here, then says that it is time.</param>
/// <param name="Until">Then it is too late, or null.</param>
internal sealed record LaneCount(Instant To, Instant? Until);

/// <summary>One lane: what is done in, or by, one thing of the bench.</summary>
/// <param name="Kind">What it stands for.</param>
/// <param name="Number">Which, from 1.</param>
/// <param name="Label">What stands large at its head.</param>
/// <param name="Caption">What stands small at its head, or null.</param>
/// <param name="Urgent">Whether what is in it is urgent.</param>
/// <param name="Count">Its countdown, or null.</param>
/// <param name="Items">What is drawn in it.</param>
/// <param name="Spoken">The lane in a sentence.</param>
internal sealed record Lane(
    LaneKind Kind, int Number, string Label, string? Caption, bool Urgent, LaneCount? Count,
        IReadOnlyList<LaneItem> Items, string Spoken);

/// <summary>Something drawn in a lane. What is planned is drawn as an outline; it fills in when it happens.</summary>
/// <param name="From">Where it begins.</param>
/// <param name="To">Where it ends; not before <paramref name="From"/>.</param>
/// <param name="Planned">Whether it has not happened.</param>
/// <param name="Says">What it is, in words.</param>
internal abstract record LaneItem(Instant From, Instant To, bool Planned, string Says)
{
    /// <summary>A cartridge being loaded into its slot.</summary>
    public sealed record Loading(Instant From, Instant To, bool Planned, string Says)
        : LaneItem(From, To, Planned, Says);

    /// <summary>A cartridge reacting.</summary>
    public sealed record Reaction(Instant From, Instant To, bool Planned, string Says, string? Name, bool Urgent)
        : LaneItem(From, To, Planned, Says);

    /// <summary>A read window.</summary>
    /// <param name="From">It opens.</param>
    /// <param name="To">It closes.</param>
    /// <param name="Planned">Whether the cartridge is not loaded.</param>
    /// <param name="Says">In words.</param>
    /// <param name="GuardFrom">Its last part begins, which plans leave alone.</param>
    /// <param name="DueFrom">From here on it is time to move the cartridge; null where that is over or unknown.</param>
    /// <param name="LostFrom">From here on the cartridge is lost unless it was moved; null where that cannot
    /// happen.</param>
    /// <param name="HeldTo">Until when a lost cartridge still holds its slot.</param>
    /// <param name="Urgent">Whether its request is urgent.</param>
    public sealed record Window(
        Instant From, Instant To, bool Planned, string Says, Instant GuardFrom, Instant? DueFrom, Instant? LostFrom,
            Instant HeldTo, bool Urgent)
        : LaneItem(From, To, Planned, Says);

    /// <summary>The planned start of a move.</summary>
    public sealed record MoveTick(Instant At, string Says) : LaneItem(At, At, true, Says);

    /// <summary>A cartridge was thrown away.</summary>
    public sealed record Thrown(Instant At, string Says) : LaneItem(At, At, false, Says);

    /// <summary>A reader taken by a cartridge that is not being measured at the moment.</summary>
    public sealed record Taken(Instant From, Instant To, bool Planned, string Says) : LaneItem(From, To, Planned, Says);

    /// <summary>A cartridge being measured.</summary>
    public sealed record Reading(Instant From, Instant To, bool Planned, string Says, string? Number)
        : LaneItem(From, To, Planned, Says);

    /// <summary>A card change.</summary>
    public sealed record CardChange(Instant From, Instant To, bool Planned, string Says)
        : LaneItem(From, To, Planned, Says);

    /// <summary>Hands at work.</summary>
    public sealed record HandsWork(Instant From, Instant To, bool Planned, string Says, string? Number, bool IsDiscard)
        : LaneItem(From, To, Planned, Says);

    /// <summary>A time in which the thing cannot be used.</summary>
    public sealed record Away(Instant From, Instant To, string Says) : LaneItem(From, To, true, Says);
}

/// <summary>Everything that one chart shows.</summary>
/// <param name="Title">Names it.</param>
/// <param name="Lanes">Slots, then readers, then hands.</param>
/// <param name="Notes">Sentences under the lanes: what the plan leaves out or gives up.</param>
internal sealed record Scene(string Title, IReadOnlyList<Lane> Lanes, IReadOnlyList<string> Notes);
