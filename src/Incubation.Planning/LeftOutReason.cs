using System.Globalization;
using Incubation.Model;
using NodaTime;
using NodaTime.Text;

namespace Incubation.Planning;

/// <summary>
/// Why a plan leaves a request out, or gives a cartridge up; <see cref="LeftOutText"/> has the words.
/// </summary>
public abstract record LeftOutReason
{
    private LeftOutReason() { }

    /// <summary>The read guard and the spread of the load leave its read window empty.</summary>
    public sealed record WindowEmpty : LeftOutReason;

    /// <summary>The spread of its mix is longer than the time within which the mixture must be loaded.</summary>
    public sealed record MixtureEmpty : LeftOutReason;

    /// <summary>Its move takes longer than its reaction and its read window allow.</summary>
    public sealed record MoveTooLong : LeftOutReason;

    /// <summary>It reacts in the incubator, and the bench has no slots.</summary>
    public sealed record NoSlots : LeftOutReason;

    /// <summary>It cannot be loaded by the instant by which it must be.</summary>
    /// <param name="LoadBy">When its load must have ended.</param>
    /// <param name="Earliest">The earliest that it can end.</param>
    public sealed record LoadByTooEarly(Instant LoadBy, Instant Earliest) : LeftOutReason;

    /// <summary>Beside everything else it cannot be loaded by the instant by which it must be.</summary>
    public sealed record LoadByCrowded(Instant LoadBy) : LeftOutReason;

    /// <summary>It comes after a request that cannot be placed.</summary>
    public sealed record PredecessorUnplaced(RequestId Predecessor) : LeftOutReason;

    /// <summary>Its read can no longer start before its read window closes.</summary>
    public sealed record WindowClosed(Instant ClosesAt) : LeftOutReason;

    /// <summary>No hands and reader are free for its read beside the cartridges that are saved.</summary>
    public sealed record Crowded(Instant ReadBy) : LeftOutReason;

    /// <summary>Its mixture can no longer be loaded in time.</summary>
    public sealed record MixtureOld(Instant LoadBy) : LeftOutReason;

    /// <summary>Its mixture cannot be loaded in time beside the cartridges that are saved.</summary>
    public sealed record LoadCrowded(Instant LoadBy) : LeftOutReason;

    /// <summary>It must be discarded, whatever its times.</summary>
    public sealed record MustDiscard : LeftOutReason;

    /// <summary>It is being discarded.</summary>
    public sealed record BeingDiscarded : LeftOutReason;

    /// <summary>As a file says, or as a log from before there were codes.</summary>
    public sealed record InWords(string Text) : LeftOutReason;
}

/// <summary>What a plan's reasons are called in files and by hosts.</summary>
public static class LeftOutText
{
    private static readonly InstantPattern ToTheSecond =
        InstantPattern.CreateWithInvariantCulture("yyyy-MM-dd'T'HH:mm:ss'Z'");

    /// <summary>The sentence of a reason, without a stop. Instants in it are UTC, to the second.</summary>
    public static string Of(LeftOutReason reason) => reason switch
    {
        LeftOutReason.WindowEmpty => Words.WindowEmpty,
        LeftOutReason.MixtureEmpty => Words.MixtureEmpty,
        LeftOutReason.MoveTooLong => Words.MoveTooLong,
        LeftOutReason.NoSlots => Words.NoSlots,
        LeftOutReason.LoadByTooEarly early => With(Words.LoadByTooEarly, Time(early.LoadBy), Time(early.Earliest)),
        LeftOutReason.LoadByCrowded crowded => With(Words.LoadByCrowded, Time(crowded.LoadBy)),
        LeftOutReason.PredecessorUnplaced after => With(Words.PredecessorUnplaced, after.Predecessor),
        LeftOutReason.WindowClosed closed => With(Words.LostWindowClosed, Time(closed.ClosesAt)),
        LeftOutReason.Crowded crowded => With(Words.LostCrowded, Time(crowded.ReadBy)),
        LeftOutReason.MixtureOld old => With(Words.LostMixtureOld, Time(old.LoadBy)),
        LeftOutReason.LoadCrowded crowded => With(Words.LostLoadCrowded, Time(crowded.LoadBy)),
        LeftOutReason.MustDiscard => Words.MustDiscard,
        LeftOutReason.BeingDiscarded => Words.BeingDiscarded,
        LeftOutReason.InWords words => words.Text,
        _ => throw new InvalidOperationException($"The reason {reason?.GetType().Name} has no words."),
    };

    private static string With(string format, params object[] parts) =>
        string.Format(CultureInfo.InvariantCulture, format, parts);

    private static string Time(Instant instant) => ToTheSecond.Format(instant);
}
