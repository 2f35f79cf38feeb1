using Incubation.Model;
using NodaTime;

namespace Incubation.Records.Batches;

/// <summary>By what cartridges are put in order; the newest first where nothing else is asked for.</summary>
public enum CartridgeOrder
{
    /// <summary>When work on them began.</summary>
    Time,

    /// <summary>Their specimens.</summary>
    Specimen,

    /// <summary>Their assays.</summary>
    Assay,

    /// <summary>Their lots.</summary>
    Lot,

    /// <summary>What became of them.</summary>
    Standing,
}

/// <summary>Which cartridges are looked for; what is null does not matter.</summary>
/// <param name="Specimen">How the specimen begins, in large letters or small.</param>
/// <param name="Lot">How the lot begins, in large letters or small.</param>
/// <param name="From">Work began no earlier.</param>
/// <param name="To">Work began earlier than this.</param>
/// <param name="Bench">On this bench.</param>
/// <param name="Order">In which order.</param>
/// <param name="Descending">Whether the order is turned round.</param>
/// <param name="Skip">So many of them are left out first.</param>
/// <param name="Most">At most so many are given.</param>
public sealed record CartridgeQuery(
    string? Specimen = null, string? Lot = null, Instant? From = null, Instant? To = null, BenchId? Bench = null,
    CartridgeOrder Order = CartridgeOrder.Time, bool Descending = true, int Skip = 0, int Most = 50);

/// <summary>Some of the cartridges that were found.</summary>
/// <param name="Cartridges">These.</param>
/// <param name="Total">How many there are in all.</param>
public sealed record CartridgePage(IReadOnlyList<CartridgeRecord> Cartridges, int Total);
