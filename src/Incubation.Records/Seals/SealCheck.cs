using System.Data.Common;
using Incubation.Clinic.Connections;
using Incubation.Clinic.People;
using Incubation.Records.Log;
using Incubation.Records.Storage;

namespace Incubation.Records.Seals;

/// <summary>A row beside the log, and what speaks against it.</summary>
/// <param name="Row">The row; null where it holds something that no program ever wrote there.</param>
/// <param name="Fault">Why it is not to be trusted, or null.</param>
internal sealed record Judged<TRow>(TRow? Row, LogBrokenException? Fault)
    where TRow : class;

/// <summary>
/// Reads secrets, sign-ins, snapshots, notices and what became of them, and holds each against its seal and against
/// what the clinic's stream says of
/// it. In a file that no program has sealed yet everything is taken as it stands.
/// </summary>
internal sealed class SealCheck(DbConnection connection, RecordSeal seal, SecretsState secrets)
{
    /// <summary>What is wrong with any of them, by table and key.</summary>
    /// <param name="connection">A connection to the file.</param>
    /// <param name="key">The record's key.</param>
    /// <param name="secrets">What the clinic's stream says of secrets.</param>
    public static IReadOnlyList<LogBrokenException> Faults(DbConnection connection, SigningKey key,
        SecretsState secrets)
    {
        // A file of an older program has neither the columns nor anything in them.
        if (!secrets.IsSealed)
            return [];
        var check = new SealCheck(connection, new RecordSeal(key), secrets);
        return [.. check.Secrets().Select(one => one.Fault).Concat(check.Sessions().Select(one => one.Fault))
            .Concat(check.Snapshots().Select(one => one.Fault)).Concat(check.Notices().Select(one => one.Fault))
            .Concat(check.Deliveries().Select(one => one.Fault)).OfType<LogBrokenException>()];
    }

    /// <summary>The secrets, or one of them.</summary>
    public IReadOnlyList<Judged<SecretRow>> Secrets(string? owner = null, SecretKind? kind = null) =>
        [.. Rows("Secrets", "\"Owner\", \"Kind\", \"Hash\", \"Expires\", \"SetBy\", \"Seal\"",
            owner is null ? null : ("\"Owner\" = @owner AND \"Kind\" = @kind",
                [("@owner", owner), ("@kind", kind.ToString()!)]),
            values => values is [string of, string kindText, string hash, var expires, long setBy, var sealing]
                && Enum.TryParse<SecretKind>(kindText, out var known) && expires is null or long
                ? Judge(new SecretRow
                {
                    Owner = of,
                    Kind = known,
                    Hash = hash,
                    Expires = expires is long at ? Nanoseconds.ToInstant(at) : null,
                    SetBy = setBy,
                    Seal = sealing as byte[],
                })
                : Unreadable<SecretRow>($"Secrets: {values[0]}, {values[1]}"))];

    /// <summary>The sign-ins.</summary>
    public IReadOnlyList<Judged<SessionRow>> Sessions() =>
        [.. Rows("Sessions",
            "\"Id\", \"Person\", \"Way\", \"Device\", \"Name\", \"Started\", \"LastSeen\", \"Begun\", \"Seal\", "
            // A file that is only looked at may come from a program that kept no browser's name.
            + (StorageEngine.Present.HasColumn(connection, "Sessions", "Browser") ? "\"Browser\"" : "NULL"), null,
            values => values is [string id, string person, string way, var device, string name, long started,
                long seen, long begun, var sealing, var browser] && Enum.TryParse<SignInWay>(way, out var known)
                && device is null or string && browser is null or string
                ? Judge(new SessionRow
                {
                    Id = id,
                    Person = person,
                    Way = known,
                    Device = device as string,
                    Name = name,
                    Started = Nanoseconds.ToInstant(started),
                    LastSeen = Nanoseconds.ToInstant(seen),
                    Begun = begun,
                    Browser = browser as string,
                    Seal = sealing as byte[],
                })
                : Unreadable<SessionRow>(NameOf(values[0], values[1])))];

    /// <summary>Whether a file holds a sign-in that a program kept which seals them.</summary>
    public static bool HasSealedSessions(DbConnection connection) =>
        StorageEngine.Present.HasColumn(connection, "Sessions", "Seal")
        && Queries.Scalar(connection, "SELECT 1 FROM \"Sessions\" WHERE \"Seal\" IS NOT NULL LIMIT 1") is not null;

    /// <summary>The snapshots.</summary>
    public IReadOnlyList<Judged<SnapshotRow>> Snapshots() =>
        [.. Rows("Snapshots", "\"Stream\", \"Sequence\", \"RowHash\", \"Program\", \"Json\", \"Hash\"", null,
            values => values is [string stream, long sequence, byte[] hash, string program, string json,
                byte[] sealing]
                ? Judge(new SnapshotRow
                {
                    Stream = stream,
                    Sequence = sequence,
                    RowHash = hash,
                    Program = program,
                    Json = json,
                    Hash = sealing,
                })
                : Unreadable<SnapshotRow>($"Snapshots: {values[0]}"))];

    /// <summary>The notices; none in a file of a program that had no such table.</summary>
    public IReadOnlyList<Judged<NoticeRow>> Notices() => !StorageEngine.Present.HasTable(connection, "Notices") ? []
        : [.. Rows("Notices",
            "\"Stream\", \"Sequence\", \"Request\", \"Kind\", \"Bench\", \"Batch\", \"At\", \"Number\", "
            + "\"Revision\", \"Seal\"", null,
            values => values is [string stream, long sequence, string request, string kind, string bench, long batch,
                long at, long number, long revision, var sealing] && Enum.TryParse<NoticeKind>(kind, out var known)
                ? Judge(new NoticeRow
                {
                    Stream = stream,
                    Sequence = sequence,
                    Request = request,
                    Kind = known,
                    Bench = bench,
                    Batch = (int)batch,
                    At = Nanoseconds.ToInstant(at),
                    Number = number,
                    Revision = (int)revision,
                    Seal = sealing as byte[],
                })
                : Unreadable<NoticeRow>($"Notices: {values[0]}, {values[1]}, {values[2]}"))];

    /// <summary>What became of messages; none in a file of a program that had no such table.</summary>
    public IReadOnlyList<Judged<DeliveryRow>> Deliveries() =>
        !StorageEngine.Present.HasTable(connection, "Deliveries") ? []
        : [.. Rows("Deliveries",
            "\"Destination\", \"Stream\", \"Sequence\", \"Request\", \"Status\", \"Tries\", \"NextTry\", "
            + "\"LastTry\", \"Answer\", \"Seal\"", null,
            values => values is [string destination, string stream, long sequence, string request, ..]
                && Delivery(destination, stream, sequence, request, values[4..]) is { } row
                ? new Judged<DeliveryRow>(row, RecordSeal.Holds(row.Seal, seal.Of(row)) ? null
                    : Fault($"Deliveries: {destination}, {stream}, {sequence}, {request}", LogDifference.SealDiffers))
                : Unreadable<DeliveryRow>($"Deliveries: {values[0]}, {values[1]}, {values[2]}, {values[3]}"))];

    /// <summary>
    /// What became of a message, of the columns from its status on; null where no program wrote them.
    /// </summary>
    public static DeliveryRow? Delivery(string destination, string stream, long sequence, string request,
        object?[] values) => values is [string status, long tries, long next, var last, var answer, var sealing]
            && Enum.TryParse<DeliveryStatus>(status, out var known) && last is null or long
            && answer is null or string && tries is >= 0 and <= int.MaxValue
            ? new DeliveryRow
            {
                Destination = destination,
                Stream = stream,
                Sequence = sequence,
                Request = request,
                Status = known,
                Tries = (int)tries,
                NextTry = Nanoseconds.ToInstant(next),
                LastTry = last is long at ? Nanoseconds.ToInstant(at) : null,
                Answer = answer as string,
                Seal = sealing as byte[],
            } : null;

    /// <summary>The hash of a row of the clinic's stream, as it is stored; null where there is none.</summary>
    public static Digest? HashAt(DbConnection connection, long sequence) => Queries.Scalar(connection,
        "SELECT \"Hash\" FROM \"EventHeaders\" WHERE \"Stream\" = @stream AND \"Sequence\" = @sequence",
        ("@stream", StreamName.Clinic.ToString()), ("@sequence", sequence)) is byte[] { Length: Digest.Length } hash
        ? Digest.FromBytes(hash) : null;

    private Judged<SecretRow> Judge(SecretRow row)
    {
        var name = $"Secrets: {row.Owner}, {row.Kind}";
        return new Judged<SecretRow>(row, !secrets.IsSealed ? null
            : HashAt(connection, row.SetBy) is not { } setBy || !RecordSeal.Holds(row.Seal, seal.Of(row, setBy))
            ? Fault(name, LogDifference.SealDiffers)
            : secrets.SetBy.GetValueOrDefault((row.Owner, row.Kind)) != row.SetBy
            ? Fault(name, LogDifference.PutBack) : null);
    }

    private Judged<SessionRow> Judge(SessionRow row) => new(row, !secrets.IsSealed ? null
        : HashAt(connection, row.Begun) is not { } begun || !RecordSeal.Holds(row.Seal, seal.Of(row, begun))
        ? Fault(NameOf(row.Id, row.Person), LogDifference.SealDiffers)
        : HasEnded(begun) ? Fault(NameOf(row.Id, row.Person), LogDifference.PutBack) : null);

    private Judged<SnapshotRow> Judge(SnapshotRow row) => new(row, RecordSeal.Holds(row.Hash, seal.Of(row)) ? null
        : Fault($"Snapshots: {row.Stream}", LogDifference.SealDiffers));

    private Judged<NoticeRow> Judge(NoticeRow row) => new(row, RecordSeal.Holds(row.Seal, seal.Of(row)) ? null
        : Fault($"Notices: {row.Stream}, {row.Sequence}, {row.Request}", LogDifference.SealDiffers));

    private bool HasEnded(Digest begun) => Queries.Scalar(connection,
        "SELECT 1 FROM \"EventHeaders\" WHERE \"Stream\" = @stream AND \"Report\" = @report",
        ("@stream", StreamName.Clinic.ToString()), ("@report", seal.EndOf(begun).Value)) is not null;

    /// <summary>Names a sign-in without what opens it: its id is a hash, of which a part is enough.</summary>
    private static string NameOf(object? id, object? person)
    {
        var text = id?.ToString() ?? "";
        return $"Sessions: {text[..Math.Min(text.Length, 12)]}, {person}";
    }

    private static LogBrokenException Fault(string row, LogDifference difference) => new(row, 0, difference);

    private static Judged<TRow> Unreadable<TRow>(string row)
        where TRow : class => new(null, Fault(row, LogDifference.SealDiffers));

    private List<Judged<TRow>> Rows<TRow>(string table, string columns,
        (string Where, (string Name, object Value)[] Values)? filter, Func<object?[], Judged<TRow>> read)
        where TRow : class
    {
        var all = new List<object?[]>();
        using (var command = connection.CreateCommand())
        {
            command.CommandText = $"SELECT {columns} FROM \"{table}\""
                + (filter is { } only ? " WHERE " + only.Where : "");
            foreach (var (name, value) in filter?.Values ?? [])
                command.Add(name, value);
            using var reader = command.ExecuteReader();
            while (reader.Read())
                all.Add([.. Enumerable.Range(0, reader.FieldCount)
                    .Select(column => reader.IsDBNull(column) ? null : reader.GetValue(column))]);
        }
        return [.. all.Select(read)];
    }
}
