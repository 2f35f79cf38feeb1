using Incubation.Model.Reports;
using NodaTime;

namespace Incubation.Records.Reports;

/// <summary>
/// The steps of which the time to a result is made, one after the other: together they are all of it.
/// </summary>
public enum ReportStep
{
    /// <summary>From when it was asked for and ready to the begin of its mix.</summary>
    Waiting,

    /// <summary>From the begin of the mix to the end of the load.</summary>
    MixToLoad,

    /// <summary>From the end of the load until it might be read.</summary>
    Incubation,

    /// <summary>From when it might be read to the start of the read.</summary>
    WaitingForReader,

    /// <summary>From the start of the read until it was taken out.</summary>
    Reading,

    /// <summary>From the clear until its result was entered.</summary>
    ResultEntry,
}

/// <summary>How long results took, by step.</summary>
public static class TimeToResult
{
    /// <summary>The steps in their order.</summary>
    public static IReadOnlyList<ReportStep> Steps { get; } = Enum.GetValues<ReportStep>();

    /// <summary>
    /// Minutes that a step took; null where it was not done or its times are not known. Corrected reports may make it
    /// negative: then it is none.
    /// </summary>
    public static double? MinutesOf(CartridgeTimes cartridge, ReportStep step)
    {
        ArgumentNullException.ThrowIfNull(cartridge);
        // A cartridge that reacts in the reader is read by itself: it waits for none.
        var opens = cartridge.Opens ?? (cartridge.Move.End is null ? cartridge.ReadStart : null);
        return Minutes(step switch
        {
            ReportStep.Waiting => (cartridge.Mix.Begun ?? cartridge.Load.Begun) - cartridge.Asked,
            ReportStep.MixToLoad => cartridge.Load.End - cartridge.Mix.Begun,
            ReportStep.Incubation => opens - cartridge.Load.End,
            ReportStep.WaitingForReader => cartridge.ReadStart - opens,
            ReportStep.Reading => cartridge.Clear.End - cartridge.ReadStart,
            _ => cartridge.ResultAt - cartridge.Clear.End,
        });
    }

    /// <summary>Minutes from when it was asked for and ready to its result; null where it has none.</summary>
    public static double? MinutesOf(CartridgeTimes cartridge)
    {
        ArgumentNullException.ThrowIfNull(cartridge);
        return Minutes(cartridge.ResultAt - cartridge.Asked);
    }

    /// <summary>The spread of a step; null where no cartridge had it.</summary>
    public static Spread? Of(IEnumerable<CartridgeTimes> cartridges, ReportStep step) =>
        Spread.Of(cartridges.Select(one => MinutesOf(one, step)).OfType<double>());

    /// <summary>The spread of the whole time to a result; null where there was none.</summary>
    public static Spread? Of(IEnumerable<CartridgeTimes> cartridges) =>
        Spread.Of(cartridges.Select(MinutesOf).OfType<double>());

    private static double? Minutes(Duration? length) => length is { } known && known >= Duration.Zero
        ? known.TotalMinutes : null;
}
