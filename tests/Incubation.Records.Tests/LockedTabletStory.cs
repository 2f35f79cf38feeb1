using Incubation.Bench;
using Incubation.Clinic.TestKit;
using Incubation.Model;

namespace Incubation.Records.Tests;

/// <summary>A tablet of an invented clinic at which nobody was signed in when somebody reported.</summary>
internal static class LockedTabletStory
{
    /// <summary>A bench on which a report came while its tablet was locked, and was settled.</summary>
    public static IReadOnlyList<BenchEntry> Tell()
    {
        List<BenchEntry> entries = [];
        BenchState? state = null;
        void Say(BenchCommand command, Identity identity)
        {
            var provenance = Rows.Provenance(entries.Count) with
            { Device = PeopleStory.Tablet, Person = PeopleStory.Aide, Identity = identity };
            foreach (var happened in ((Decision.Accepted)LiveBench.Decide(state, command, provenance)).Events)
            {
                entries.Add(new BenchEntry(happened, provenance));
                state = LiveBench.Apply(state, entries[^1]);
            }
        }

        Say(BenchStory.Open, Identity.Checked);
        Say(new BenchCommand.AddRequests([BenchStory.Request("R01", "A", 3)]), Identity.Checked);
        Say(new BenchCommand.StartBatch(), Identity.Checked);
        Say(new BenchCommand.Mixed(RequestId.Of("R01")), Identity.NotChecked);
        Say(new BenchCommand.Discarded(RequestId.Of("R01"), DiscardReason.Dropped, null), Identity.Checked);
        Say(new BenchCommand.SettleIdentity(), Identity.Checked);
        return entries;
    }
}
