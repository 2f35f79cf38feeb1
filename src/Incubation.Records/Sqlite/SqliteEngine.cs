using System.Data.Common;
using Incubation.Records.Storage;
using Microsoft.EntityFrameworkCore;
using Microsoft.EntityFrameworkCore.Infrastructure;
using NodaTime;

namespace Incubation.Records.Sqlite;

/// <summary>One SQLite file with its write-ahead log beside it.</summary>
internal sealed class SqliteEngine : StorageEngine
{
    private const string LogEnding = "-wal";

    public override IReadOnlyList<string> EndingsBeside { get; } = [LogEnding, "-shm"];

    // A server that runs has the end of its record in the write-ahead log.
    public override bool MayBeOpen(string path) => File.Exists(path + LogEnding);

    public override bool HasMoreBeside(string path) => new FileInfo(path + LogEnding) is { Exists: true, Length: > 0 };

    public override void RefuseForeign(string path) => FileIdentity.RefuseForeignHeader(path);

    public override OpenStore Open(string path, Duration busy) => SqliteStore.Open(path, busy);

    public override DbConnection OpenForReading(string path, bool still) =>
        still ? RawConnection.OpenStill(path) : RawConnection.OpenForReading(path);

    public override DbConnection OpenOwn(string path, bool still)
    {
        FileIdentity.RefuseForeignHeader(path);
        var connection = OpenForReading(path, still);
        try
        {
            if (Queries.Scalar(connection, "PRAGMA application_id") is not (long)FileIdentity.ApplicationId)
                throw new DataFileException(DataFileProblem.OtherProgram, path, Words.FileOtherProgram);
            Migrating.RefuseNewer(connection, path);
            return connection;
        }
        catch
        {
            connection.Dispose();
            throw;
        }
    }

    public override DbConnection OpenForWriting(string path) => RawConnection.OpenForWriting(path);

    public override void Copy(string from, string to, bool still) => LiveCopy.Make(from, to, still);

    public override bool HasTable(DbConnection connection, string name) => RawConnection.HasTable(connection, name);

    public override bool HasColumn(DbConnection connection, string table, string column) =>
        RawConnection.HasColumn(connection, table, column);

    public override DbContextOptions<RecordsContext> WithoutFile =>
        Options().UseSqlite("Data Source=:memory:").Options;

    public override bool HasPresentForm(DbConnection connection) => Migrating.IsUpToDate(connection);

    public override IReadOnlyList<string> ChangedForm(DbConnection connection) => SchemaCheck.Of(connection);

    public override void RefuseDamage(DbConnection connection, string path, bool whole)
    {
        var found = Queries.Texts(connection, whole ? "PRAGMA integrity_check(1)" : "PRAGMA quick_check(1)");
        if (found is not ["ok"])
            throw new DataFileException(DataFileProblem.Damaged, path, Words.FileDamaged, string.Join("; ", found));
    }

    public override void Settle(DbConnection connection) =>
        Queries.Scalar(connection, "PRAGMA wal_checkpoint(TRUNCATE)");

    public override IEnumerable<string> ChangedGuards(DbConnection connection) => LogTriggers.All
        .Where(trigger => !Equals(
            Queries.Scalar(connection, "SELECT sql FROM sqlite_schema WHERE type = 'trigger' AND name = @name",
                ("@name", trigger.Key)),
            trigger.Value))
        .Select(trigger => trigger.Key);

    public override string JsonText(string column, string member) => $"json_extract({column}, '$.{member}')";

    // A truth is read as 1 or 0.
    public override string JsonIsFalse(string column, string member) => $"json_extract({column}, '$.{member}') = 0";

    public override DataFileException OpenFailure(string path, DbException e) => Failures.OfOpening(path, e);

    /// <summary>What every context of this engine is told.</summary>
    public static DbContextOptionsBuilder<RecordsContext> Options()
    {
        var builder = new DbContextOptionsBuilder<RecordsContext>();
        builder.ReplaceService<IModelCustomizer, SqliteModel>();
        return builder;
    }
}
