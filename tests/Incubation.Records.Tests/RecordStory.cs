using Incubation.Bench;
using Incubation.Clinic;
using Incubation.Clinic.TestKit;
using Incubation.Model;
using Incubation.Records.Clinic;
using NodaTime;

namespace Incubation.Records.Tests;

/// <summary>What can happen to a record itself. Invented.</summary>
internal static class RecordStory
{
    /// <summary>A key that was lost, and batches whose time was over.</summary>
    public static void Tell(ClinicLog clinic)
    {
        clinic.Tell(ClinicStory.Commands);
        clinic.Record(new ClinicEvent.RecordKeyRenewed("0123456789abcdef", "fedcba9876543210"), Rows.Provenance(500));
        clinic.Record(new ClinicEvent.RecordErased(Rows.Bench, 1, 1, 20, 2, Rows.Morning - Duration.FromDays(1), 24,
            [new RowRange(5, 5), new RowRange(7, 8)]), Rows.Provenance(501));
    }

    /// <summary>Tables that somebody else had changed, and copies that were older than allowed.</summary>
    public static void TellTables(ClinicLog clinic)
    {
        clinic.Tell(ClinicStory.Commands);
        clinic.Record(new ClinicEvent.TablesRebuilt(["Assays", "Cartridges"], 3), Rows.Provenance(510));
        clinic.Record(new ClinicEvent.CopiesErased(["clinic.replaced-20260101T000000Z.db"], 90), Rows.Provenance(511));
    }

    /// <summary>A bench whose standing between two batches was kept.</summary>
    public static IReadOnlyList<BenchEntry> TellStanding()
    {
        List<BenchEntry> entries = [.. BenchStory.Tell()];
        BenchState? state = null;
        (long Row, BenchCheckpoint Standing)? kept = null;
        foreach (var entry in entries)
        {
            state = LiveBench.Apply(state, entry);
            if (entry.Event is BenchEvent.BatchClosed)
                kept ??= (state.Revision, BenchCheckpoint.Of(state));
        }

        var provenance = Rows.Provenance(5000);
        var decision = (Decision.Accepted)LiveBench.Decide(state,
            new BenchCommand.KeepCheckpoint(kept!.Value.Row, kept.Value.Standing with
            {
                LotGates = [new GatedLot(LotCode.Of("A-L1"), LotGate.Failed, Rows.Morning)],
                Probes = [new ExpectedProbe(new DeviceId("key-probe"), Duration.FromMinutes(5), Rows.Morning, null)],
                Labels = LabelDemand.Demanded,
            }), provenance);
        return [.. entries, .. decision.Entries(provenance)];
    }
}
