using Incubation.Model;

namespace Incubation.Clinic.Stock;

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
