using Incubation.Bench;
using Incubation.Model;

namespace Incubation.Records.Tests;

/// <summary>A bench with requests that got no value: repeated, carried over, given up, and taken back again.</summary>
internal static class FatesStory
{
    /// <summary>Two batches: what was carried over from the first is run in the second.</summary>
    public static IReadOnlyList<BenchEntry> Tell() => LockedTabletStory.Tell([
        .. new BenchCommand[]
        {
            BenchStory.Open,
            new BenchCommand.AddRequests([.. Enumerable.Range(1, 5)
                .Select(number => BenchStory.Request($"R0{number}", "A", 3))]),
            new BenchCommand.StartBatch(),
            new BenchCommand.Mixed(R("R01")),
            new BenchCommand.Discarded(R("R01"), DiscardReason.Dropped, null),
            new BenchCommand.OrderRepeat(R("R01")),
            new BenchCommand.CarryOver(R("R01-2")),
            new BenchCommand.Mixed(R("R02")),
            new BenchCommand.Discarded(R("R02"), DiscardReason.Bubbles, null),
            new BenchCommand.GiveUpRequest(R("R02"), "specimen clotted", Confirmed: true),
            new BenchCommand.RevokeFate(R("R02")),
            new BenchCommand.CarryOver(R("R02")),
            new BenchCommand.ChangeReady(R("R03"), null),
            new BenchCommand.CarryOver(R("R03")),
            new BenchCommand.WithdrawRequest(R("R04"), "asked for by mistake"),
            new BenchCommand.GiveUpRequest(R("R05"), "ein neues Röhrchen kommt morgen", Confirmed: true),
            new BenchCommand.CloseBatch([new OtherLot(R("R03"), new LotCode("A-L2"), null)]),
            new BenchCommand.StartBatch(),
            new BenchCommand.Mixed(R("R02-2")),
        }.Select(command => (command, (Func<Provenance, Provenance>)(touch => touch))),
    ]);

    private static RequestId R(string id) => new(id);
}
