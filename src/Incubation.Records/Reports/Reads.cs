using Incubation.Model.Reports;

namespace Incubation.Records.Reports;

/// <summary>How far into their windows reads started, and with how much spare time steps began.</summary>
public static class Reads
{
    /// <summary>Classes of a window: tenths.</summary>
    public const int Tenths = 10;

    /// <summary>
    /// How far into its window a read started: 0 where it opened, 1 where it closed; null where it had none or was not
    /// read.
    /// </summary>
    public static double? PositionOf(CartridgeTimes cartridge)
    {
        ArgumentNullException.ThrowIfNull(cartridge);
        return cartridge is { Opens: { } opens, Closes: { } closes, Move.End: { } start } && closes > opens
            ? (start - opens) / (closes - opens)
            : null;
    }

    /// <summary>
    /// Reads by how far into their windows they started, in tenths; early ones lie below, late ones above.
    /// </summary>
    public static Histogram InWindows(IEnumerable<CartridgeTimes> cartridges) =>
        Histogram.Of(cartridges.Select(PositionOf).OfType<double>(), 0, 1.0 / Tenths, Tenths);

    /// <summary>The least spare time of each cartridge, in classes of twenty seconds up to five minutes.</summary>
    public static Histogram Spare(IEnumerable<CartridgeTimes> cartridges) =>
        Histogram.Of(cartridges.Select(one => one.Spare?.TotalSeconds).OfType<double>(), 0, 20, 15);
}
