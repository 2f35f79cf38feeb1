using Incubation.Clinic.Stock;
using Incubation.Model;
using Incubation.Model.Terms;
using NodaTime;

namespace Incubation.Clinic.TestKit;

/// <summary>Everything that can happen to lots, in an invented clinic.</summary>
public static class StockStory
{
    public static LotCode First { get; } = LotCode.Of("A-L7");

    public static IReadOnlyList<StoryCommand> Commands { get; } = StoryCommand.Numbered(
    [
        [ClinicStory.Opened],
        [ClinicStory.Drafted(ClinicStory.A, 3, 1)],
        [ClinicStory.Approved(ClinicStory.A, 3, 1)],
        [.. Box(First, new LocalDate(2027, 4, 30), 25)],
        [new ClinicEvent.StockReceived(StockKind.Control, LotCode.Of("C-L1"), null, new LocalDate(2026, 9, 30), 4,
            null, null)],
        [new ClinicEvent.StockOpened(StockKind.Kit, First)],
        [new ClinicEvent.StockCounted(StockKind.Kit, First, 23, "two broken")],
        [.. Box(First, new LocalDate(2027, 4, 30), 25)],
        [new ClinicEvent.StockQuarantined(StockKind.Buffer, First, "cloudy")],
        [new ClinicEvent.StockLetOut(StockKind.Buffer, First, "was the light")],
        [ClinicStory.Lot("A-L8", ClinicStory.A)],
        [new ClinicEvent.StockFinished(StockKind.Kit, LotCode.Of("A-L8"))],
    ]);

    /// <summary>After that story: below which number kits and vials are ordered, and one no more.</summary>
    public static IReadOnlyList<StoryCommand> Reordered { get; } = StoryCommand.Numbered(
    [
        [new ClinicEvent.ReorderPointSet(StockKind.Kit, ClinicStory.A, 30)],
        [new ClinicEvent.ReorderPointSet(StockKind.Control, null, 5)],
        [new ClinicEvent.ReorderPointSet(StockKind.Control, null, null)],
    ], 70);

    /// <summary>A kit's box with its buffer and its card.</summary>
    public static IEnumerable<ClinicEvent.StockReceived> Box(LotCode lot, LocalDate expiry, int count) =>
    [
        In(StockKind.Kit, lot, expiry, count) with { Item = new Gtin("00844588003288"), Serial = "S-7" },
        In(StockKind.Buffer, lot, expiry, count), In(StockKind.ReaderCard, lot, expiry, 1),
    ];

    public static ClinicEvent.StockReceived In(StockKind kind, LotCode lot, LocalDate expiry, int count) =>
        new(kind, lot, ClinicStory.A, expiry, count, null, null);
}
