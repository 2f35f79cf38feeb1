using System.Collections.Immutable;
using System.Data.Common;
using Incubation.Bench;
using Incubation.Clinic;
using Incubation.Clinic.Connections;
using Incubation.Model;
using Incubation.Records.Clinic;
using Incubation.Records.Log;
using Incubation.Records.Seals;
using Incubation.Records.Storage;
using Microsoft.EntityFrameworkCore;
using NodaTime;

namespace Incubation.Records.Connections;

/// <summary>What a notice is about, as the outbox keeps it.</summary>
/// <param name="Id">Names it.</param>
/// <param name="Kind">What it says.</param>
/// <param name="Revision">Which of the notices about its request.</param>
/// <param name="IsLatest">Whether it is the last of them.</param>
/// <param name="Bench">The bench.</param>
/// <param name="Batch">The batch; 0 for an alarm.</param>
/// <param name="At">When what it tells of was recorded.</param>
/// <param name="RowHash">The hash of the row of the log from which it follows: after a backup was restored, another
/// row may stand in that place.</param>
public sealed record Notice(NoticeId Id, NoticeKind Kind, int Revision, bool IsLatest, BenchId Bench, int Batch,
    Instant At, ReadOnlyMemory<byte> RowHash);

/// <summary>
/// What waits for each destination, and what became of what was sent. Notices are written with their events; here they
/// are read, and marked. A mark is sealed; one whose seal does not hold counts for nothing, so that a message may be
/// sent again and never goes lost. May be used from any thread; one per data file.
/// </summary>
public sealed class OutboxStore(DataFile file, ClinicLog log)
{
    private const string Columns = """
        n."Stream", n."Sequence", n."Request", n."Kind", n."Number", n."Revision",
        d."Status", d."Tries", d."NextTry", d."LastTry", d."Answer", d."Seal", n."At"
        """;

    private const string WithDeliveries = """
        "Notices" n LEFT JOIN "Deliveries" d ON d."Destination" = @destination
          AND d."Stream" = n."Stream" AND d."Sequence" = n."Sequence" AND d."Request" = n."Request"
        """;

    /// <summary>Notices were written; on the thread that wrote them, after they are on the disk.</summary>
    public event Action? Added
    {
        add => file.NoticesAdded += value;
        remove => file.NoticesAdded -= value;
    }

    /// <summary>The ends of the benches' streams: what a destination that is added now is not told of.</summary>
    public ImmutableArray<StreamEnd> Ends() => [.. file.Log.Streams().Where(stream => stream.Bench is not null)
        .Select(stream => new StreamEnd(stream.Bench!.Value, file.Log.Head(stream).Sequence))];

    /// <summary>What is still to be sent to a destination, or waits for a person, in order.</summary>
    /// <param name="connection">The destination.</param>
    /// <param name="after">Leave out what has a number up to this; 0 for nothing.</param>
    /// <param name="most">So much of it at most.</param>
    /// <param name="upTo">The number up to which this has looked.</param>
    public IReadOnlyList<Delivery> Open(Connection connection, long after, int most, out long upTo)
    {
        ArgumentNullException.ThrowIfNull(connection);
        using var reading = file.OpenReader();
        using var command = reading.CreateCommand();
        command.CommandText = $"""
            SELECT {Columns} FROM {WithDeliveries}
            WHERE n."Number" > @after ORDER BY n."Number"
            """;
        command.Add("@destination", connection.Id.Value);
        command.Add("@after", after);
        var open = new List<Delivery>();
        upTo = after;
        using var rows = command.ExecuteReader();
        while (open.Count < most && rows.Read())
        {
            var delivery = DeliveryOf(rows, connection.Id);
            upTo = delivery.Number;
            if (IsOpen(connection, delivery, rows))
                open.Add(delivery);
        }

        return open;
    }

    /// <summary>
    /// How many messages a destination is sent if it is told again of a span's results: those that do not wait already.
    /// </summary>
    public int CountAgain(Connection connection, Interval span)
    {
        ArgumentNullException.ThrowIfNull(connection);
        using var reading = file.OpenReader();
        using var command = reading.CreateCommand();
        command.CommandText = $"""
            SELECT {Columns} FROM {WithDeliveries}
            WHERE n."At" >= @from AND n."At" < @until AND n."Kind" <> 'Alarm'
            """;
        command.Add("@destination", connection.Id.Value);
        command.Add("@from", Nanoseconds.Of(span.Start));
        command.Add("@until", Nanoseconds.Of(span.End));
        var count = 0;
        using var rows = command.ExecuteReader();
        while (rows.Read())
        {
            if (!IsOpen(connection, DeliveryOf(rows, connection.Id), rows))
                count++;
        }

        return count;
    }

    /// <summary>Whether a row's message is still to be sent, or waits for a person.</summary>
    private static bool IsOpen(Connection connection, Delivery delivery, DbDataReader rows) => !delivery.IsOver
        && connection.IsToldOf(delivery.Id, delivery.Kind, Nanoseconds.ToInstant(rows.GetInt64(12)));

    /// <summary>What was sent to a destination last; null where nothing was.</summary>
    public Delivery? LastOf(DestinationId destination)
    {
        using var reading = file.OpenReader();
        using var command = reading.CreateCommand();
        command.CommandText = $"""
            SELECT {Columns} FROM "Deliveries" d JOIN "Notices" n
              ON d."Stream" = n."Stream" AND d."Sequence" = n."Sequence" AND d."Request" = n."Request"
            WHERE d."Destination" = @destination AND d."Status" = 'Sent' ORDER BY d."LastTry" DESC LIMIT 1
            """;
        command.Add("@destination", destination.Value);
        using var rows = command.ExecuteReader();
        return rows.Read() ? DeliveryOf(rows, destination) : null;
    }

    /// <summary>What a notice is about; null where it is gone with its batch.</summary>
    public Notice? Find(NoticeId id)
    {
        ArgumentNullException.ThrowIfNull(id);
        var (stream, request) = (NoticeProjection.StreamOf(id), id.Request?.Value ?? "");
        using var reading = file.OpenReader();
        using var command = reading.CreateCommand();
        command.CommandText = """
            SELECT n."Kind", n."Revision", n."Bench", n."Batch", n."At", h."Hash", n."Request" <> '' AND EXISTS (
              SELECT 1 FROM "Notices" later WHERE later."Request" = n."Request" AND later."Number" > n."Number")
            FROM "Notices" n JOIN "EventHeaders" h ON h."Stream" = n."Stream" AND h."Sequence" = n."Sequence"
            WHERE n."Stream" = @stream AND n."Sequence" = @sequence AND n."Request" = @request
            """;
        command.Name(id);
        using var rows = command.ExecuteReader();
        return !rows.Read() ? null : new Notice(id, Enum.Parse<NoticeKind>(rows.GetString(0)), rows.GetInt32(1),
            !rows.GetBoolean(6), new BenchId(rows.GetString(2)), rows.GetInt32(3),
            Nanoseconds.ToInstant(rows.GetInt64(4)), rows.GetFieldValue<byte[]>(5));
    }

    /// <summary>What an alarm's notice says; null where its row is none.</summary>
    public ClinicEvent.AlarmNoticed? AlarmOf(NoticeId id)
    {
        ArgumentNullException.ThrowIfNull(id);
        return id.Bench is null && file.Log.ReadAll(StreamName.Clinic, id.Sequence - 1).FirstOrDefault() is
        { Payload: not null } row ? ClinicLog.EntryOf(row).Event as ClinicEvent.AlarmNoticed : null;
    }

    /// <summary>
    /// Writes down what became of messages, in one transaction. Throws <see cref="AppendException"/> where the file
    /// cannot take it: then they will be sent again, under the same ids.
    /// </summary>
    public void Mark(IReadOnlyCollection<(DestinationId Destination, Delivery Delivery)> marks)
    {
        ArgumentNullException.ThrowIfNull(marks);
        var last = marks.GroupBy(mark => (mark.Destination, mark.Delivery.Id)).Select(group => group.Last()).ToList();
        if (last.Count > 0)
            file.Write(StreamName.Clinic, context =>
            {
                foreach (var mark in last)
                    Put(context, mark.Destination, mark.Delivery);
                return last.Count;
            });
    }

    /// <summary>Records a person's word about a message, and what the message is by it, in one transaction.</summary>
    public ClinicOutcome Record(ClinicEvent said, Provenance provenance, DestinationId destination,
        Delivery delivery) => log.Record([said], provenance, context => Put(context, destination, delivery));

    /// <summary>
    /// Records that a destination is told again of a day's results, and forgets in the same transaction what became of
    /// those that are over: what waits, or was refused for good, stays as it is.
    /// </summary>
    public ClinicOutcome Record(ClinicEvent.DayResent said, Provenance provenance)
    {
        ArgumentNullException.ThrowIfNull(said);
        return log.Record([said], provenance, context =>
        {
            using var command = context.Database.GetDbConnection().CreateCommand();
            command.CommandText = """
                DELETE FROM "Deliveries" WHERE "Destination" = @destination AND "Status" IN ('Sent', 'GivenUp')
                  AND EXISTS (SELECT 1 FROM "Notices" n WHERE n."Stream" = "Deliveries"."Stream"
                    AND n."Sequence" = "Deliveries"."Sequence" AND n."Request" = "Deliveries"."Request"
                    AND n."At" >= @from AND n."At" < @until AND n."Kind" <> 'Alarm')
                """;
            command.Add("@destination", said.Destination.Value);
            command.Add("@from", Nanoseconds.Of(said.From));
            command.Add("@until", Nanoseconds.Of(said.Until));
            command.ExecuteNonQuery();
        });
    }

    private void Put(RecordsContext context, DestinationId destination, Delivery delivery)
    {
        var row = new DeliveryRow
        {
            Destination = destination.Value,
            Stream = NoticeProjection.StreamOf(delivery.Id),
            Sequence = delivery.Id.Sequence,
            Request = delivery.Id.Request?.Value ?? "",
            Status = delivery.Status,
            Tries = delivery.Tries,
            NextTry = delivery.NextTry,
            LastTry = delivery.LastTry,
            Answer = delivery.Answer,
        };
        // A batch may have been erased, with all that was said of it, while a message was on its way. Past Entity
        // Framework: a bench waits while many marks are written.
        var connection = context.Database.GetDbConnection();
        using var command = connection.CreateCommand();
        command.CommandText = """
            DELETE FROM "Deliveries" WHERE "Destination" = @destination AND "Stream" = @stream
              AND "Sequence" = @sequence AND "Request" = @request;
            INSERT INTO "Deliveries" ("Destination", "Stream", "Sequence", "Request", "Status", "Tries", "NextTry",
              "LastTry", "Answer", "Seal")
            SELECT @destination, @stream, @sequence, @request, @status, @tries, @next, @last, @answer, @seal
            WHERE EXISTS (SELECT 1 FROM "Notices" WHERE "Stream" = @stream AND "Sequence" = @sequence
              AND "Request" = @request)
            """;
        command.Name(delivery.Id);
        command.Add("@destination", row.Destination);
        command.Add("@status", row.Status.ToString());
        command.Add("@tries", (long)row.Tries);
        command.Add("@next", Nanoseconds.Of(row.NextTry));
        command.Add("@last", row.LastTry is { } last ? Nanoseconds.Of(last) : DBNull.Value);
        command.Add("@answer", row.Answer ?? (object)DBNull.Value);
        command.Add("@seal", file.Seal.Of(row));
        command.ExecuteNonQuery();
    }

    private Delivery DeliveryOf(DbDataReader row, DestinationId destination)
    {
        var (stream, sequence, request) = (row.GetString(0), row.GetInt64(1), row.GetString(2));
        var fresh = new Delivery(NoticeProjection.IdOf(stream, sequence, request), row.GetInt64(4),
            Enum.Parse<NoticeKind>(row.GetString(3)), row.GetInt32(5), DeliveryStatus.Waiting, 0, Instant.MinValue);
        if (SealCheck.Delivery(destination.Value, stream, sequence, request,
            [.. Enumerable.Range(6, 6).Select(column => row.IsDBNull(column) ? null : row.GetValue(column))])
            is not { } mark || !RecordSeal.Holds(mark.Seal, file.Seal.Of(mark)))
            return fresh;
        return fresh with
        {
            Status = mark.Status,
            Tries = mark.Tries,
            NextTry = mark.NextTry,
            LastTry = mark.LastTry,
            Answer = mark.Answer,
        };
    }
}

/// <summary>Names of notices in statements.</summary>
file static class NoticeNames
{
    /// <summary>Gives a statement the stream, the row and the request of a notice.</summary>
    public static void Name(this DbCommand command, NoticeId id)
    {
        command.Add("@stream", NoticeProjection.StreamOf(id));
        command.Add("@sequence", id.Sequence);
        command.Add("@request", id.Request?.Value ?? "");
    }
}
