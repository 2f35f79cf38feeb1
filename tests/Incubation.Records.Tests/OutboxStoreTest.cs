using Incubation.Bench;
using Incubation.Clinic;
using Incubation.Clinic.Connections;
using Incubation.Clinic.TestKit;
using Incubation.Model;
using Incubation.Records.Backup;
using Incubation.Records.Batches;
using Incubation.Records.Benches;
using Incubation.Records.Clinic;
using Incubation.Records.Connections;
using Incubation.Records.Integrity;
using Xunit;

namespace Incubation.Records.Tests;

/// <summary>
/// The outbox: written with the event, in order; what somebody without the key changes in it is found, and loses and
/// doubles nothing.
/// </summary>
public sealed class OutboxStoreTest : IDisposable
{
    private readonly TempFolder folder = new();

    public void Dispose() => folder.Dispose();

    [Fact]
    public void Append_ResultsHeldReleasedAmended_TellWhatMayBeKnown_CommandByCommand()
    {
        using var file = Filled(out var clinic, out var store);
        Assert.Equal([(1, NoticeKind.Ready), (2, NoticeKind.Withheld), (3, NoticeKind.Ready), (4, NoticeKind.Withheld),
            (5, NoticeKind.Amended), (6, NoticeKind.Withheld)], Open(clinic, store)
            .Select(one => (one.Revision, one.Kind)));
        var last = store.Find(Open(clinic, store)[^1].Id)!;
        Assert.Equal((true, Rows.Bench, 1), (last.IsLatest, last.Bench, last.Batch));
        Assert.False(store.Find(Open(clinic, store)[0].Id)!.IsLatest);
    }

    [Theory]
    [InlineData(1)]
    [InlineData(7)]
    public void Append_SoManyCommandsAtATime_TellsTheSameAsAllAtOnce(int atATime)
    {
        using var file = Filled(out var clinic, out var store);
        using var other = DataFile.Open(folder.At("other.db"));
        Begin(ClinicLog.Open(other));
        BenchState? state = null;
        var streams = new BenchStreams(other);
        foreach (var commands in BenchStory.TellSecondLooks().GroupBy(entry => entry.Provenance.Id).Chunk(atATime))
            state = streams.Append(state, [.. commands.SelectMany(command => command)]);
        var again = ClinicLog.Open(other);
        Assert.Equal(Open(clinic, store), Open(again, new OutboxStore(other, again)));
    }

    [Fact]
    public void Append_ACommandByTheStatesAroundIt_TellsTheSame()
    {
        using var file = Filled(out var clinic, out var store);
        using var other = DataFile.Open(folder.At("other.db"));
        Begin(ClinicLog.Open(other));
        BenchState? before = null;
        foreach (var command in BenchStory.TellSecondLooks().GroupBy(entry => entry.Provenance.Id))
        {
            var after = command.Aggregate(before, LiveBench.Apply)!;
            new BenchStreams(other).Append(before, after, [.. command]);
            before = after;
        }

        var again = ClinicLog.Open(other);
        Assert.Equal(Open(clinic, store), Open(again, new OutboxStore(other, again)));
    }

    [Fact]
    public void Mark_SentAndParked_SurvivesARestart_AndIsNotOpenAnyMore()
    {
        using (var file = Filled(out var clinic, out var store))
        {
            var open = Open(clinic, store);
            store.Mark([(To, open[0] with { Status = DeliveryStatus.Sent, Tries = 1, LastTry = Rows.Morning }),
                (To, open[1] with { Status = DeliveryStatus.Parked, Tries = 1, Answer = "422" })]);
        }

        using (var file = DataFile.Open(folder.DataFile))
        {
            var clinic = ClinicLog.Open(file);
            var store = new OutboxStore(file, clinic);
            Assert.Equal([(2, DeliveryStatus.Parked), (3, DeliveryStatus.Waiting)], Open(clinic, store).Take(2)
                .Select(one => (one.Revision, one.Status)));
            Assert.Equal(1, store.LastOf(To)!.Revision);
        }
    }

    [Theory]
    [InlineData("UPDATE Notices SET Kind = 'Ready' WHERE Revision = 2", "Notices")]
    [InlineData("UPDATE Notices SET Number = 99 WHERE Revision = 1", null)]
    [InlineData("DELETE FROM Notices WHERE Revision = 3", "Notices")]
    [InlineData("INSERT INTO Notices SELECT Stream, Sequence, 'R77', Kind, Bench, Batch, At, 77, 1, Seal FROM Notices "
        + "WHERE Revision = 1", "Notices")]
    [InlineData("UPDATE Deliveries SET Status = 'Sent'", null)]
    public void Check_SomebodyChangesTheOutbox_IsFound_AndMadeAnewWithoutLossOrDouble(string edit, string? table)
    {
        using (var file = Filled(out var clinic, out var store))
        {
            var open = Open(clinic, store);
            store.Mark([(To, open[0] with { Status = DeliveryStatus.Sent }),
                (To, open[3] with { Status = DeliveryStatus.Waiting, Tries = 2 })]);
        }

        Assert.True(RecordCheck.Run(folder.DataFile).IsWhole);
        RawFile.Run(folder.DataFile, edit);
        var report = RecordCheck.Run(folder.DataFile);
        Assert.False(report.IsWhole);
        if (table is not null)
            Assert.Contains(table, report.Tables.Tables);
        using (var file = DataFile.Open(folder.DataFile))
        {
            var clinic = ClinicLog.Open(file);
            NoticeProjection.MakeAnew(file);
            var left = Open(clinic, new OutboxStore(file, clinic));
            // What was sent stays sent; a mark that was forged counts for nothing; nothing is missing or there twice.
            Assert.Equal(5, left.Count);
            Assert.Equal(left.Count, left.DistinctBy(one => one.Id).Count());
            Assert.Equal(0, ProjectionCheck.Now(file, new CartridgeProjection(file, clinic.Amended)).Count);
        }
    }

    [Fact]
    public void MakeAnew_OfAWholeOutbox_ChangesNothing()
    {
        using var file = Filled(out var clinic, out var store);
        var before = Open(clinic, store);
        NoticeProjection.MakeAnew(file);
        Assert.Equal(before, Open(clinic, store));
    }

    [Fact]
    public void Record_AnAlarmAndAClosedResult_StandInTheOutboxWithTheirEvents()
    {
        using var file = Filled(out var clinic, out var store);
        clinic.Record(new ClinicEvent.DestinationAdded(Connection.IdOf(2), ConnectionsStory.Pager, store.Ends()),
            Rows.Provenance(901));
        var alarm = new ClinicEvent.AlarmNoticed(Rows.Bench, AlarmKind.WindowInDanger, "slot 3", Rows.Morning, null);
        clinic.Record(alarm, Rows.Provenance(902));
        clinic.Record(new ClinicEvent.ResultNoticed(Rows.Bench, 1, RequestId.Of("R01"), NoticeKind.InDoubt),
            Rows.Provenance(903));
        var pager = store.Open(clinic.Connections.Find(Connection.IdOf(2))!, 0, 100, out _);
        Assert.Equal([NoticeKind.Alarm, NoticeKind.InDoubt], pager.Select(one => one.Kind));
        Assert.Equal(alarm, store.AlarmOf(pager[0].Id));
        // The first destination is told of no alarms.
        Assert.Equal(NoticeKind.InDoubt, Open(clinic, store)[^1].Kind);
        Assert.Equal(7, Open(clinic, store)[^1].Revision);
    }

    private static DestinationId To => Connection.IdOf(1);

    private DataFile Filled(out ClinicLog clinic, out OutboxStore store)
    {
        var file = DataFile.Open(folder.DataFile);
        clinic = ClinicLog.Open(file);
        Begin(clinic);
        new BenchStreams(file).Append(Rows.Bench, 0, BenchStory.TellSecondLooks());
        store = new OutboxStore(file, clinic);
        return file;
    }

    private static void Begin(ClinicLog clinic)
    {
        Assert.Empty(clinic.Tell(ClinicStory.Commands));
        Assert.IsType<ClinicOutcome.Recorded>(clinic.Record(
            new ClinicEvent.DestinationAdded(To, ConnectionsStory.Records, []), Rows.Provenance(900)));
    }

    private static IReadOnlyList<Delivery> Open(ClinicLog clinic, OutboxStore store) =>
        store.Open(clinic.Connections.Find(To)!, 0, 100, out _);
}
