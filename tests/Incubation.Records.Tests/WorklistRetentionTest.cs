using System.Text;
using Incubation.Bench;
using Incubation.Clinic;
using Incubation.Clinic.Worklist;
using Incubation.Model;
using Incubation.Records.Backup;
using Incubation.Records.Batches;
using Incubation.Records.Clinic;
using Incubation.Records.Retention;
using NodaTime;
using Xunit;

namespace Incubation.Records.Tests;

/// <summary>Orders have a retention of their own: with the batch that ran them, or days after they were cancelled.
/// </summary>
public sealed class WorklistRetentionTest : IDisposable
{
    private static readonly OrderSource Source = new("Ward 7");
    private readonly TempFolder folder = new();
    private int said = 8000;

    public WorklistRetentionTest()
    {
        using var file = DataFile.Open(folder.DataFile);
        _ = new OldClinic(file);
    }

    public void Dispose() => folder.Dispose();

    [Fact]
    public void Cancelled_AfterItsDays_IsNowhereInTheFile_AndTheRecordIsWhole()
    {
        using (var file = DataFile.Open(folder.DataFile))
        {
            var clinic = ClinicLog.Open(file);
            var (gone, stays) = (Receive(clinic, "SP-GONE"), Receive(clinic, "SP-STAYS"));
            Say(clinic, new ClinicEvent.OrderCancelled(gone, "REASON-GONE"), OldClinic.Now);
            var retention = new WorklistRetention(file, clinic);
            Assert.Equal(0, Erase(retention, OldClinic.Now + Duration.FromDays(89)));
            Assert.Contains("SP-GONE", Bytes(), StringComparison.Ordinal);
            Assert.Equal(1, Erase(retention, OldClinic.Now + Duration.FromDays(90)));
            Assert.Equal(0, Erase(retention, OldClinic.Now + Duration.FromDays(90)));
            Assert.Equal([stays], clinic.Worklist.All.Keys);
            Assert.Empty(file.Log.VerifyAll().Faults);
        }

        Assert.DoesNotContain("GONE", Bytes(), StringComparison.Ordinal);
        Assert.Contains("SP-STAYS", Bytes(), StringComparison.Ordinal);
        Assert.True(RecordCheck.Run(folder.DataFile).IsWhole);
        using var again = DataFile.Open(folder.DataFile);
        Assert.Equal(["SP-STAYS"], ClinicLog.Open(again).Worklist.All.Values.Select(one => one.Content.Specimen.Value));
    }

    [Fact]
    public void Run_GoesWithItsBatch_AndWhatWaitsStays()
    {
        using (var file = DataFile.Open(folder.DataFile))
        {
            var clinic = ClinicLog.Open(file);
            var (gone, later, stays) = (Receive(clinic, "SP-GONE"), Receive(clinic, "SP-LATER"),
                Receive(clinic, "SP-STAYS"));
            Say(clinic, new ClinicEvent.OrderPlaced(gone, Rows.Bench, RequestId.Of("B1-R1")), OldClinic.Now);
            Say(clinic, new ClinicEvent.OrderPlaced(later, Rows.Bench, RequestId.Of("B3-R1")), OldClinic.Now);
            var retention = new RecordRetention(file, clinic,
                new CartridgeProjection(file, CartridgeProjection.AsToldOnBench));
            var line = Assert.Single(retention.Preview(OldClinic.Now).Benches);
            Assert.IsType<ClinicOutcome.Recorded>(OldClinic.Erase(file, clinic, OldClinic.Now, line));
            Assert.Equal([later, stays], clinic.Worklist.All.Keys);
            Assert.Equal(["SP-LATER"], clinic.Worklist.RunAs(RequestId.Of("B3-R1"))
                .Select(one => one.Content.Specimen.Value));
        }

        Assert.DoesNotContain("SP-GONE", Bytes(), StringComparison.Ordinal);
        Assert.True(RecordCheck.Run(folder.DataFile).IsWhole);
        using var again = DataFile.Open(folder.DataFile);
        Assert.Equal(["SP-LATER", "SP-STAYS"],
            ClinicLog.Open(again).Worklist.All.Values.Select(one => one.Content.Specimen.Value));
    }

    /// <summary>A payload that an event of the worklist does not name is missed all the same.</summary>
    [Fact]
    public void Payload_OfAnotherOrderTakenAway_IsFound()
    {
        long other;
        using (var file = DataFile.Open(folder.DataFile))
        {
            var clinic = ClinicLog.Open(file);
            var gone = Receive(clinic, "SP-GONE");
            other = Receive(clinic, "SP-STAYS");
            Say(clinic, new ClinicEvent.OrderCancelled(gone, "It was a mistake."), OldClinic.Now);
            Erase(new WorklistRetention(file, clinic), OldClinic.Now + Duration.FromDays(90));
        }

        RawFile.Run(folder.DataFile, $"INSERT INTO Erasures VALUES ('clinic', {other}, {other}, 0)",
            $"DELETE FROM EventPayloads WHERE Stream = 'clinic' AND Sequence = {other}");
        Assert.Equal([other], RecordCheck.Run(folder.DataFile).Verdict.Faults.Select(fault => fault.Sequence));
    }

    private long Receive(ClinicLog clinic, string specimen)
    {
        Say(clinic, new ClinicEvent.OrderReceived(Source, new OrderNumber(specimen + "-N"), new OrderContent(
            SpecimenId.Of(specimen), clinic.Assays.Versions.Keys.First(), Priority.Routine, null, null, null, null,
            null)), OldClinic.Now);
        return clinic.Revision;
    }

    private void Say(ClinicLog clinic, ClinicEvent happened, Instant at) =>
        Assert.IsType<ClinicOutcome.Recorded>(clinic.Record(happened, At(at)));

    private int Erase(WorklistRetention retention, Instant at) => retention.EraseOver(at, () => At(at));

    private Provenance At(Instant at) => Rows.Provenance(++said) with { Arrived = at, At = at };

    private string Bytes() =>
        string.Concat(new[] { "", "-wal" }.Select(ending => folder.DataFile + ending).Where(File.Exists)
            .Select(path =>
            {
                using var stream = new FileStream(path, FileMode.Open, FileAccess.Read, FileShare.ReadWrite);
                using var memory = new MemoryStream();
                stream.CopyTo(memory);
                return Encoding.Latin1.GetString(memory.ToArray());
            }));
}
