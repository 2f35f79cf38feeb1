using System.Text.Json;
using Incubation.Model;
using Incubation.Records.Events;
using Incubation.Records.Storage;

namespace Incubation.Records.Batches;

/// <summary>What is told of a batch and its cartridges, as rows of the tables.</summary>
internal static class BatchRows
{
    /// <summary>A batch's row.</summary>
    public static BatchRow Of(BenchId bench, BatchRecord batch) => new()
    {
        Bench = bench.Value,
        Number = batch.Number,
        First = batch.First,
        Last = batch.Closed is null ? null : batch.Last,
        StartedAt = batch.Started is { } started ? Nanoseconds.Of(started.At) : null,
        ClosedAt = batch.Closed is { } closed ? Nanoseconds.Of(closed.Arrived) : null,
        Cartridges = batch.Cartridges.Length,
        Before = batch.Before is null ? null : JsonSerializer.Serialize(batch.Before, EventJson.Options),
        WorkedTo = batch.Use is { } use ? Nanoseconds.Of(use.To) : null,
        Hands = batch.Use?.Hands,
        Slots = batch.Use?.Slots,
        Readers = batch.Use?.Readers,
        HandsBusy = batch.Use is { HandsBusy: var hands } ? Nanoseconds.Of(hands) : null,
        SlotsBusy = batch.Use is { SlotsBusy: var slots } ? Nanoseconds.Of(slots) : null,
        ReadersBusy = batch.Use is { ReadersBusy: var readers } ? Nanoseconds.Of(readers) : null,
        PlannedEnd = batch.Use?.PlannedEnd is { } planned ? Nanoseconds.Of(planned) : null,
        PlannedCartridges = batch.Use?.PlannedCartridges,
        Worked = batch.Use?.Cartridges,
    };

    /// <summary>A cartridge's row.</summary>
    public static CartridgeRow Of(CartridgeRecord cartridge) => new()
    {
        Bench = cartridge.Bench.Value,
        Batch = cartridge.Batch,
        Request = cartridge.Request.Value,
        Specimen = cartridge.Specimen.Value,
        Assay = cartridge.Assay.Value,
        Lot = cartridge.Lot.Value,
        At = Nanoseconds.Of(cartridge.At),
        Standing = cartridge.Standing.ToString(),
        Json = JsonSerializer.Serialize(cartridge, EventJson.Options),
    };
}
