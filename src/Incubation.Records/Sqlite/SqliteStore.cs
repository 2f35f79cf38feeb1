using System.Data.Common;
using System.Globalization;
using Incubation.Records.Log;
using Incubation.Records.Storage;
using Microsoft.Data.Sqlite;
using Microsoft.EntityFrameworkCore;
using NodaTime;

namespace Incubation.Records.Sqlite;

/// <summary>A SQLite file that this process has to itself.</summary>
internal sealed class SqliteStore : OpenStore
{
    private readonly string path;
    private readonly string readerConnection;
    private readonly ConnectionPragmas pragmas;
    private readonly SqliteConnection writer;

    private SqliteStore(string path, SqliteConnection writer, string readerConnection, ConnectionPragmas pragmas)
    {
        this.path = path;
        this.writer = writer;
        this.readerConnection = readerConnection;
        this.pragmas = pragmas;
        Writing = SqliteEngine.Options().UseSqlite(writer).Options;
        Reading = SqliteEngine.Options()
            .UseSqlite(readerConnection)
            .UseQueryTrackingBehavior(QueryTrackingBehavior.NoTracking)
            .AddInterceptors(pragmas)
            .Options;
    }

    public override DbConnection Writer => writer;

    public override DbContextOptions<RecordsContext> Writing { get; }

    public override DbContextOptions<RecordsContext> Reading { get; }

    /// <summary>
    /// Opens or makes a file; throws <see cref="DataFileException"/> or <see cref="SqliteException"/>.
    /// </summary>
    public static SqliteStore Open(string path, Duration busy)
    {
        var pragmas = new ConnectionPragmas(busy);
        FileIdentity.RefuseForeignHeader(path);
        if (!File.Exists(path))
            OwnFile.MakeEmpty(path);
        var writer = new SqliteConnection(ConnectionString(path, busy, pooling: false));
        try
        {
            writer.Open();
            FileIdentity.RefuseOrMark(writer, path);
            pragmas.ApplyToWriter(writer, path);
            return new SqliteStore(path, writer, ConnectionString(path, busy, pooling: true), pragmas);
        }
        catch
        {
            writer.Dispose();
            throw;
        }
    }

    public override DbConnection OpenReader()
    {
        var connection = new SqliteConnection(readerConnection);
        try
        {
            connection.Open();
            pragmas.ApplyToReader(connection);
            return connection;
        }
        catch
        {
            connection.Dispose();
            throw;
        }
    }

    public override string? BringUpToDate(RecordsContext context) => Migrating.BringUpToDate(context, path);

    // Freed pages are overwritten (secure_delete), so what was deleted is nowhere any more once the log is empty.
    public override void EmptyLog() => Queries.Scalar(writer, "PRAGMA wal_checkpoint(TRUNCATE)");

    public override void ProveWritable()
    {
        // The version number that SQLite keeps for a program's own use; this program uses it for nothing else.
        var proofs = (long)(Queries.Scalar(writer, "PRAGMA user_version") ?? 0L);
        Queries.Run(writer,
            string.Create(CultureInfo.InvariantCulture, $"PRAGMA user_version = {(proofs + 1) % int.MaxValue}"));
    }

    public override AppendException WriteFailure(StreamName stream, DbException e) =>
        Failures.OfWriting(stream, path, e);

    public override void Dispose()
    {
        using (var reader = new SqliteConnection(readerConnection))
            SqliteConnection.ClearPool(reader);
        writer.Dispose();
    }

    private static string ConnectionString(string path, Duration busy, bool pooling) =>
        new SqliteConnectionStringBuilder
        {
            DataSource = path,
            Pooling = pooling,
            Mode = SqliteOpenMode.ReadWriteCreate,
            ForeignKeys = true,
            RecursiveTriggers = true,
            DefaultTimeout = Math.Max(1, (int)Math.Ceiling(busy.TotalSeconds)),
        }.ToString();
}
