using Incubation.Model;
using Incubation.Records.Clinic;
using Incubation.Records.Events;

namespace Incubation.Records.Stock;

/// <summary>What a lot is a lot of.</summary>
public enum StockKind
{
    /// <summary>Cartridges, in boxes.</summary>
    Kit,

    /// <summary>What a specimen is mixed with.</summary>
    Buffer,

    /// <summary>The card that carries a kit lot's calibration into the reader.</summary>
    ReaderCard,

    /// <summary>Material of a known target.</summary>
    Control,
}

/// <summary>What tells an item of the stock from all others.</summary>
/// <param name="Kind">What it is.</param>
/// <param name="Lot">Its lot.</param>
public readonly record struct StockKey(StockKind Kind, LotCode Lot);

/// <summary>The names of the events about lots in the log.</summary>
internal static class StockEvents
{
    /// <summary>Every event with its name and version.</summary>
    public static IReadOnlyList<EventForm> Forms { get; } =
    [
        new("stock-received", 1, typeof(ClinicEvent.StockReceived)),
        new("stock-opened", 1, typeof(ClinicEvent.StockOpened)),
        new("stock-counted", 1, typeof(ClinicEvent.StockCounted)),
        new("stock-quarantined", 1, typeof(ClinicEvent.StockQuarantined)),
        new("stock-let-out", 1, typeof(ClinicEvent.StockLetOut)),
        new("stock-finished", 1, typeof(ClinicEvent.StockFinished)),
    ];
}
