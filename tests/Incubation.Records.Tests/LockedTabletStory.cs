using Incubation.Bench;
using Incubation.Clinic.TestKit;
using Incubation.Model;

namespace Incubation.Records.Tests;

/// <summary>A tablet of an invented clinic at which nobody was signed in when somebody reported.</summary>
internal static class LockedTabletStory
{
    /// <summary>A bench on which a report came while its tablet was locked, and was settled.</summary>
    public static IReadOnlyList<BenchEntry> Tell() => Tell(
        (BenchStory.Open, As),
        (new BenchCommand.AddRequests([BenchStory.Request("R01", "A", 3)]), As),
        (new BenchCommand.StartBatch(), As),
        (new BenchCommand.Mixed(RequestId.Of("R01")), touch => touch with { Identity = Identity.NotChecked }),
        (new BenchCommand.Discarded(RequestId.Of("R01"), DiscardReason.Dropped, null), As),
        (new BenchCommand.SettleIdentity(), As));

    /// <summary>
    /// A bench on which a report came with a time that nobody can read, sent by another than it names.
    /// </summary>
    public static IReadOnlyList<BenchEntry> TellOfAWrongClock() => Tell(
        (BenchStory.Open, As),
        (new BenchCommand.AddRequests([BenchStory.Request("R01", "A", 3), BenchStory.Request("R02", "A", 3)]), As),
        (new BenchCommand.StartBatch(), As),
        (new BenchCommand.Mixed(RequestId.Of("R01")), touch => touch with
        {
            Claimed = "2026-13-45T25:00:00Z",
            Identity = Identity.NotChecked,
            Sender = PeopleStory.Chief,
        }));

    /// <summary>A bench on which one aide sent a result under another's name.</summary>
    public static IReadOnlyList<BenchEntry> TellOfASentResult() => Tell(
        (BenchStory.Open, As),
        (new BenchCommand.AddRequests([BenchStory.Request("R01", "A", 3)]), As),
        (new BenchCommand.StartBatch(), As),
        (new BenchCommand.ResultEntered(RequestId.Of("R01"), new ShownResult.Value("5"), ShownIdentity.None),
            touch => touch with { Identity = Identity.NotChecked, Sender = PeopleStory.Chief }));

    /// <summary>A bench on which a result was entered anew at a locked tablet, and that was undone.</summary>
    public static List<BenchEntry> TellOfAnUndoneResult()
    {
        (BenchCommand, Func<Provenance, Provenance>)[] told =
        [
            (BenchStory.Open, As),
            (new BenchCommand.AddRequests([BenchStory.Request("R01", "A", 3)]), As),
            (new BenchCommand.StartBatch(), As),
            (new BenchCommand.ResultEntered(RequestId.Of("R01"), new ShownResult.Value("5"), ShownIdentity.None), As),
            (new BenchCommand.ResultEntered(RequestId.Of("R01"), new ShownResult.Value("6"), ShownIdentity.None),
                touch => touch with { Identity = Identity.NotChecked, Person = PeopleStory.Chief }),
        ];
        var again = Tell(told).FindLast(entry => entry.Event is BenchEvent.ResultEntered)!.Provenance.Id;
        return Tell([.. told, (new BenchCommand.Undo(again), As)]);
    }

    private static Provenance As(Provenance touch) => touch;

    /// <summary>What is recorded when commands are said one after the other, each as its touch is changed.</summary>
    public static List<BenchEntry> Tell(params (BenchCommand Command, Func<Provenance, Provenance> As)[] told)
    {
        List<BenchEntry> entries = [];
        BenchState? state = null;
        foreach (var (command, touched) in told)
        {
            var provenance = touched(
                Rows.Provenance(entries.Count) with { Device = PeopleStory.Tablet, Person = PeopleStory.Aide });
            foreach (var entry in ((Decision.Accepted)LiveBench.Decide(state, command, provenance)).Entries(provenance))
            {
                entries.Add(entry);
                state = LiveBench.Apply(state, entries[^1]);
            }
        }

        return entries;
    }
}
