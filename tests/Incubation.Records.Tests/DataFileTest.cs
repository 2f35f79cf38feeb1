using Incubation.Records.Benches;
using Incubation.Records.Sqlite;
using Incubation.Records.Storage;
using Microsoft.EntityFrameworkCore;
using Xunit;

namespace Incubation.Records.Tests;

/// <summary>Opening a data file, and refusing what is none.</summary>
public sealed class DataFileTest : IDisposable
{
    private readonly TempFolder folder = new();

    public void Dispose() => folder.Dispose();

    [Fact]
    public void Open_NoFolderYet_MakesIt()
    {
        var path = folder.At("new/deeper/clinic.db");
        using var file = DataFile.Open(path);
        Assert.True(File.Exists(path));
        if (!OperatingSystem.IsWindows())
            Assert.Equal(UnixFileMode.UserRead | UnixFileMode.UserWrite, File.GetUnixFileMode(path));
        Assert.Equal(path, file.Path);
        Assert.Empty(file.Log.Streams());
    }

    [Fact]
    public void Open_EmptyFile_IsTakenAsNew()
    {
        File.WriteAllBytes(folder.DataFile, []);
        using var file = DataFile.Open(folder.DataFile);
        Assert.Empty(file.Log.VerifyAll().Streams);
        Assert.Empty(file.Log.VerifyAll().Faults);
    }

    [Fact]
    public void Open_HeldByAnotherHandle_IsRefusedUntilItIsClosed()
    {
        using (DataFile.Open(folder.DataFile))
        {
            var refused = Assert.Throws<DataFileException>(() => DataFile.Open(folder.DataFile));
            Assert.Equal(DataFileProblem.InUse, refused.Problem);
            Assert.Contains(folder.DataFile, refused.Message, StringComparison.Ordinal);
        }
        using var again = DataFile.Open(folder.DataFile);
        Assert.NotNull(again);
    }

    [Fact]
    public void Open_LockFileLeftBehind_IsNoObstacle()
    {
        File.WriteAllText(folder.DataFile + ".lock", "left by a process that was killed");
        using var file = DataFile.Open(folder.DataFile);
        Assert.NotNull(file);
    }

    [Theory]
    [InlineData("a letter to the clinic")]
    [InlineData(
        "SQLite format 3, but then something else that goes on and on for more than the hundred bytes that a "
        + "database's head has")]
    public void Open_NoDatabase_IsRefusedAndUntouched(string content)
    {
        File.WriteAllText(folder.DataFile, content);
        Assert.Equal(DataFileProblem.NotADataFile, Refused());
        Assert.Equal(content, File.ReadAllText(folder.DataFile));
    }

    [Theory]
    [InlineData("PRAGMA application_id = 42", "CREATE TABLE T (x)")]
    [InlineData("CREATE TABLE T (x)", "INSERT INTO T VALUES (1)")]
    public void Open_DatabaseOfAnotherProgram_IsRefusedAndUntouched(string first, string second)
    {
        RawFile.Run(folder.DataFile, first, second);
        var before = File.ReadAllBytes(folder.DataFile);
        Assert.Equal(DataFileProblem.OtherProgram, Refused());
        Assert.Equal(before, File.ReadAllBytes(folder.DataFile));
    }

    [Fact]
    public void Open_WrittenByANewerProgram_IsRefused()
    {
        using (DataFile.Open(folder.DataFile))
        {
        }
        RawFile.Run(folder.DataFile,
            "INSERT INTO __EFMigrationsHistory VALUES ('29990101000000_FromTheFuture', '99.0')");
        var refused = Assert.Throws<DataFileException>(() => DataFile.Open(folder.DataFile));
        Assert.Equal(DataFileProblem.Newer, refused.Problem);
        Assert.Contains("FromTheFuture", refused.Message, StringComparison.Ordinal);
    }

    [Fact]
    public void Open_FolderIsAFile_IsRefused()
    {
        File.WriteAllText(folder.At("file"), "");
        var refused = Assert.Throws<DataFileException>(() => DataFile.Open(folder.At("file/clinic.db")));
        Assert.Equal(DataFileProblem.CannotOpen, refused.Problem);
    }

    /// <summary>
    /// A process killed while it migrated leaves a lock in the database that nobody else would ever take away.
    /// </summary>
    [Fact]
    public void Open_MigrationLockLeftBehind_Opens()
    {
        RawFile.Run(
            folder.DataFile,
            $"PRAGMA application_id = {FileIdentity.ApplicationId}",
            "CREATE TABLE \"__EFMigrationsLock\" (\"Id\" INTEGER NOT NULL CONSTRAINT \"PK___EFMigrationsLock\" PRIMARY "
            + "KEY, \"Timestamp\" TEXT NOT NULL)",
            "INSERT INTO \"__EFMigrationsLock\" VALUES (1, '2026-03-02 08:00:00')");
        using var file = DataFile.Open(folder.DataFile);
        Assert.Empty(file.Log.Streams());
    }

    [Fact]
    public void Open_Always_MarksTheFileAndKeepsWritesSafe()
    {
        using var file = DataFile.Open(folder.DataFile);
        using var context = file.Read();
        Assert.Equal(FileIdentity.ApplicationId, Pragma(context, "application_id"));
        Assert.Equal(2, Pragma(context, "synchronous"));
        Assert.Equal(1, Pragma(context, "foreign_keys"));
        Assert.Equal(1, Pragma(context, "recursive_triggers"));
        Assert.Equal(5000, Pragma(context, "busy_timeout"));
        Assert.Equal(1, Pragma(context, "query_only"));
        Assert.Equal("wal", RawFile.Scalar(folder.DataFile, "PRAGMA journal_mode"));
        using var writing = file.Writer.CreateCommand();
        foreach (var (pragma, value) in new[] { ("synchronous", 2L), ("foreign_keys", 1L), ("recursive_triggers", 1L),
            ("busy_timeout", 5000L) })
        {
            writing.CommandText = "PRAGMA " + pragma;
            Assert.Equal(value, writing.ExecuteScalar());
        }
    }

    [Fact]
    public void Migrations_Model_HasNoChangeWithoutAMigration()
    {
        using var file = DataFile.Open(folder.DataFile);
        using var context = file.Read();
        Assert.False(context.Database.HasPendingModelChanges());
    }

    /// <summary>
    /// A later migration that makes a table anew takes its triggers away: they must stand at the end of all migrations.
    /// </summary>
    [Fact]
    public void Migrations_AllApplied_TriggersStand()
    {
        using (DataFile.Open(folder.DataFile))
        {
        }
        Assert.Equal(5L,
            RawFile.Scalar(folder.DataFile,
                "SELECT COUNT(*) FROM sqlite_schema WHERE type = 'trigger' AND tbl_name IN ('EventHeaders', "
                + "'EventPayloads')"));
    }

    [Fact]
    public void Dispose_AfterAnAppend_LeavesOneFileAndItsLock()
    {
        using (var file = DataFile.Open(folder.DataFile))
        {
            new BenchStreams(file).Append(Rows.Bench, 0, Rows.BenchEntries(1, 5));
            Assert.Single(file.Log.Streams());
        }
        Assert.False(File.Exists(folder.DataFile + "-wal"));
        Assert.True(File.Exists(folder.DataFile + ".lock"));
    }

    private DataFileProblem Refused() => Assert.Throws<DataFileException>(() => DataFile.Open(folder.DataFile)).Problem;

    private static long Pragma(RecordsContext context, string name)
    {
        context.Database.OpenConnection();
        using var command = context.Database.GetDbConnection().CreateCommand();
        command.CommandText = "PRAGMA " + name;
        return (long)command.ExecuteScalar()!;
    }
}
