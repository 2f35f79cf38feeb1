using Incubation.Clinic.TestKit;
using System.Globalization;
using CsCheck;
using Incubation.Records.Backup;
using Incubation.Records.Benches;
using Incubation.Records.Clinic;
using Incubation.Records.Log;
using Incubation.Records.Sqlite;
using Incubation.Records.Storage;
using Xunit;

namespace Incubation.Records.Tests;

/// <summary>
/// A real file, tampered with by somebody who knows SQLite and the forms of this program, has the data file and has not
/// the key. Each way is found and named.
/// </summary>
public sealed class TamperTest : IDisposable
{
    private const long Last = 9;
    private static readonly string Bench = StreamName.OfBench(Rows.Bench).ToString();
    private readonly TempFolder folder = new();

    public TamperTest()
    {
        using var file = DataFile.Open(folder.DataFile);
        ClinicLog.Open(file).Tell(ClinicStory.Commands);
        new BenchStreams(file).Append(Rows.Bench, 0, Rows.BenchEntries(1, (int)Last));
    }

    public void Dispose() => folder.Dispose();

    [Fact]
    public void Run_Untouched_IsWhole()
    {
        var report = RecordCheck.Run(folder.DataFile);
        Assert.True(report.IsWhole, string.Join('\n', report.Verdict.Faults.Select(fault => fault.Message)));
        Assert.True(report.Verdict.IsSigned);
        Assert.NotNull(report.Key);
        Assert.Equal([Bench, "clinic"], report.Verdict.Streams.Select(stream => stream.Stream));
    }

    public static TheoryData<string, LogDifference, long, string[]> Ways => new()
    {
        { "header field", LogDifference.HeaderDiffers, 5,
            ["UPDATE EventHeaders SET Person = 'somebody else' WHERE Stream LIKE 'bench/%' AND Sequence = 5"] },
        { "payload", LogDifference.PayloadDiffers, 4,
            ["UPDATE EventPayloads SET Json = replace(Json, '{', '{ ') WHERE Stream LIKE 'bench/%' AND Sequence = 4"] },
        { "row deleted", LogDifference.RowMissing, 6,
            ["DELETE FROM EventPayloads WHERE Stream LIKE 'bench/%' AND Sequence = 6",
                "DELETE FROM EventHeaders WHERE Stream LIKE 'bench/%' AND Sequence = 6"] },
        {
            "row inserted", LogDifference.HeaderDiffers, 4,
            [
                "UPDATE EventHeaders SET Sequence = -Sequence WHERE Stream LIKE 'bench/%' AND Sequence > 3",
                    "UPDATE EventPayloads SET Sequence = -Sequence WHERE Stream LIKE 'bench/%' AND Sequence > 3",
                "UPDATE EventHeaders SET Sequence = 1 - Sequence WHERE Sequence < 0",
                    "UPDATE EventPayloads SET Sequence = 1 - Sequence WHERE Sequence < 0",
                "INSERT INTO EventHeaders SELECT Stream, 4, Arrived, Reported, Person, Device, 'new', 0, EventType, "
                + "SchemaVersion, PayloadHash, PreviousHash, Hash FROM EventHeaders WHERE Stream LIKE 'bench/%' AND "
                + "Sequence = 3",
                "INSERT INTO EventPayloads SELECT Stream, 4, Json FROM EventPayloads WHERE Stream LIKE 'bench/%' AND "
                + "Sequence = 3",
            ]
        },
        {
            "rows swapped", LogDifference.HeaderDiffers, 3,
            [
                "UPDATE EventHeaders SET Sequence = 10 - Sequence WHERE Stream LIKE 'bench/%' AND Sequence IN (3)",
                    "UPDATE EventPayloads SET Sequence = 10 - Sequence WHERE Stream LIKE 'bench/%' AND Sequence IN (3)",
            ]
        },
        { "headers cut off the end", LogDifference.HeaderMissing, 8,
            ["DELETE FROM EventHeaders WHERE Stream LIKE 'bench/%' AND Sequence >= 8"] },
        { "tail cut off with what it said", LogDifference.TailCut, 8,
            ["DELETE FROM EventPayloads WHERE Stream LIKE 'bench/%' AND Sequence >= 8",
                "DELETE FROM EventHeaders WHERE Stream LIKE 'bench/%' AND Sequence >= 8"] },
        {
            "tail cut off and the head changed to fit", LogDifference.HeadDiffers, 7,
            [
                "DELETE FROM EventPayloads WHERE Stream LIKE 'bench/%' AND Sequence >= 8",
                    "DELETE FROM EventHeaders WHERE Stream LIKE 'bench/%' AND Sequence >= 8",
                "UPDATE Heads SET Sequence = 7, Hash = (SELECT Hash FROM EventHeaders WHERE Stream LIKE 'bench/%' AND "
                + "Sequence = 7) WHERE Stream LIKE 'bench/%'",
            ]
        },
        { "head row changed", LogDifference.HeadDiffers, Last,
            ["UPDATE Heads SET Signature = zeroblob(32) WHERE Stream LIKE 'bench/%'"] },
        { "head of another stream", LogDifference.HeadDiffers, Last,
            ["UPDATE Heads SET Signature = (SELECT Signature FROM Heads WHERE Stream = 'clinic') WHERE Stream LIKE "
                + "'bench/%'"] },
        { "head row removed", LogDifference.HeadMissing, Last, ["DELETE FROM Heads WHERE Stream LIKE 'bench/%'"] },
    };

    [Theory]
    [MemberData(nameof(Ways))]
    public void Run_TamperedWith_IsFoundAndNamed(string way, LogDifference difference, long row, string[] statements)
    {
        RawFile.Tamper(folder.DataFile, way == "rows swapped" ? Swap(3, 4) : statements);
        var broken =
            Assert.IsType<LogBrokenException>(RecordCheck.Run(folder.DataFile).Verdict.Streams.Single(stream =>
                stream.Stream == Bench).Broken);
        Assert.Equal((way, difference, row, Bench), (way, broken.Difference, broken.Sequence, broken.Stream));
        Assert.Contains($"'{Bench}' is broken at row {row}", broken.Message, StringComparison.Ordinal);
    }

    [Fact]
    public void Run_ChainMadeAnew_IsFound()
    {
        Forge(from: 3);
        AssertBroken(LogDifference.ChainAnew, Last);
    }

    [Fact]
    public void Run_ChainMadeAnewAndHeadChangedToFit_IsFoundWithTheKeyAlone()
    {
        Forge(from: 3);
        RawFile.Run(folder.DataFile,
            $"UPDATE Heads SET Hash = (SELECT Hash FROM EventHeaders WHERE Stream = '{Bench}' AND Sequence = {Last}) "
            + $"WHERE Stream = '{Bench}'");
        AssertBroken(LogDifference.HeadDiffers, Last);

        // What is said without the key: that it would not be found.
        File.Move(folder.At(SigningKey.FileName), folder.At("elsewhere.key"));
        var without = RecordCheck.Run(folder.DataFile);
        Assert.Null(without.Key);
        Assert.Null(without.Verdict.Streams.Single(stream => stream.Stream == Bench).Broken);
        AssertBroken(LogDifference.HeadDiffers, Last, folder.At("elsewhere.key"));
    }

    [Fact]
    public void Run_RowsAddedByAnotherProgram_AreFound()
    {
        using (var other = DataFile.Open(folder.At("other.db")))
            new BenchStreams(other).Append(Rows.Bench, 0, Rows.BenchEntries(1, (int)Last + 2));
        RawFile.Tamper(
            folder.DataFile, $"ATTACH '{folder.At("other.db")}' AS other",
            $"INSERT INTO EventHeaders SELECT * FROM other.EventHeaders WHERE Sequence > {Last}",
                $"INSERT INTO EventPayloads SELECT * FROM other.EventPayloads WHERE Sequence > {Last}");
        AssertBroken(LogDifference.RowsUnsigned, Last + 1);
    }

    [Theory]
    [InlineData(false)]
    [InlineData(true)]
    public void Run_StreamRemoved_IsFound(bool withItsHead)
    {
        RawFile.Tamper(
            folder.DataFile, $"DELETE FROM EventPayloads WHERE Stream = '{Bench}'",
                $"DELETE FROM EventHeaders WHERE Stream = '{Bench}'",
            withItsHead ? $"DELETE FROM Heads WHERE Stream = '{Bench}'" : "SELECT 1");
        Assert.Contains(RecordCheck.Run(folder.DataFile).Verdict.Beside, fault =>
            (fault.Difference, fault.Stream) == (LogDifference.StreamMissing, Bench));
    }

    [Fact]
    public void Run_StreamRemovedFromTheListToo_IsFound()
    {
        RawFile.Tamper(
            folder.DataFile, $"DELETE FROM EventPayloads WHERE Stream = '{Bench}'",
                $"DELETE FROM EventHeaders WHERE Stream = '{Bench}'",
            $"DELETE FROM Heads WHERE Stream = '{Bench}'", "UPDATE StreamLists SET Streams = '[\"clinic\"]'");
        Assert.Contains(RecordCheck.Run(folder.DataFile).Verdict.Beside, fault =>
            fault.Difference == LogDifference.ListDiffers);
    }

    [Fact]
    public void Run_EverySignatureRemoved_IsFound()
    {
        RawFile.Run(folder.DataFile, "DELETE FROM Heads", "DELETE FROM StreamLists");
        Assert.Contains(RecordCheck.Run(folder.DataFile).Verdict.Beside, fault =>
            fault.Difference == LogDifference.ListDiffers);
        Assert.Equal(DataFileProblem.HeadsMissing,
            Assert.Throws<DataFileException>(() => DataFile.Open(folder.DataFile)).Problem);
    }

    [Theory]
    [InlineData("DROP TRIGGER EventPayloads_NoDelete")]
    [InlineData(
        "DROP TRIGGER EventPayloads_NoDelete; CREATE TRIGGER EventPayloads_NoDelete BEFORE DELETE ON EventPayloads "
        + "BEGIN SELECT 1; END")]
    public void Run_TriggerDroppedOrEdited_IsFound(string statement)
    {
        RawFile.Run(folder.DataFile, statement);
        var fault = Assert.Single(RecordCheck.Run(folder.DataFile).Verdict.Faults);
        Assert.Equal((LogDifference.TriggerDiffers, "EventPayloads_NoDelete"), (fault.Difference, fault.Stream));
        Assert.Contains("'EventPayloads_NoDelete'", fault.Message, StringComparison.Ordinal);
    }

    /// <summary>What was cut off is not signed over by whatever is recorded next.</summary>
    [Fact]
    public void Append_TailCutBefore_IsRefused()
    {
        RawFile.Tamper(folder.DataFile, $"DELETE FROM EventPayloads WHERE Stream = '{Bench}' AND Sequence = {Last}",
            $"DELETE FROM EventHeaders WHERE Stream = '{Bench}' AND Sequence = {Last}");
        using var file = DataFile.Open(folder.DataFile);
        Assert.Equal(LogDifference.TailCut, Assert.Throws<LogBrokenException>(file.Log.RefuseCut).Difference);
        Assert.Equal(LogDifference.TailCut,
            Assert.Throws<LogBrokenException>(() => new BenchStreams(file)
                .Append(Rows.Bench, Last - 1, Rows.BenchEntries(20, 1))).Difference);
    }

    [Fact]
    public void Run_NoteOfARow_StandsUntilTheRowIsAnother()
    {
        PrintedHead note;
        using (var file = DataFile.Open(folder.DataFile))
            note = file.Log.Note(StreamName.OfBench(Rows.Bench), 6);
        Assert.True(PrintedHead.TryParse(note.ToString(), out var read));
        Assert.Equal(note, read);
        Assert.Equal(NoteVerdict.Stands, Verdict(note));
        Assert.Equal(NoteVerdict.SignatureDiffers, Verdict(note with { Signature = new string('0', 32) }));
        Assert.Equal(NoteVerdict.RowDiffers, Verdict(note with { Hash = new string('0', 32) }));
        Assert.Equal(NoteVerdict.RowMissing, Verdict(note with { Sequence = 77 }));

        // A file put back to an earlier day, heads and all, is whole in itself: only the note shows what is missing.
        using (var earlier = DataFile.Open(folder.At("earlier.db")))
            new BenchStreams(earlier).Append(Rows.Bench, 0, Rows.BenchEntries(1, 5));
        var report = RecordCheck.Run(folder.At("earlier.db"), null, [note]);
        Assert.Empty(report.Verdict.Faults);
        Assert.Equal(NoteVerdict.RowMissing, Assert.Single(report.Notes).Verdict);
        Assert.False(report.IsWhole);
    }

    [Theory]
    [InlineData("")]
    [InlineData("clinic 1 abc def")]
    [InlineData("clinic 0 00000000000000000000000000000000 00000000000000000000000000000000")]
    [InlineData("somewhere 1 00000000000000000000000000000000 00000000000000000000000000000000")]
    public void TryParse_NoNote_IsFalse(string text) => Assert.False(PrintedHead.TryParse(text, out _));

    [Fact]
    public void Triggers_OfANewFile_AreThoseThatAreChecked() =>
        Assert.All(LogTriggers.All, trigger =>
            Assert.Equal(trigger.Value,
                RawFile.Scalar(folder.DataFile, $"SELECT sql FROM sqlite_schema WHERE name = '{trigger.Key}'")));

    /// <summary>Names that the engine and its tools use are no cover for a trigger.</summary>
    [Theory]
    [InlineData("__EFMigrationsLock")]
    [InlineData("sqlite_stat1")]
    [InlineData("sqlite_other")]
    public void Run_TriggerUnderANameOfTheEngines_IsFound(string name)
    {
        var words = $"CREATE TRIGGER \"{name}\" AFTER INSERT ON \"EventHeaders\" BEGIN DELETE FROM \"Sessions\"; END";
        RawFile.Run(folder.DataFile, "PRAGMA writable_schema = ON",
            $"INSERT INTO sqlite_schema VALUES ('trigger', '{name}', 'EventHeaders', 0, '{words}')");
        var fault = Assert.Single(RecordCheck.Run(folder.DataFile).Verdict.Faults);
        Assert.Equal((LogDifference.FormDiffers, $"trigger '{name}'"), (fault.Difference, fault.Stream));
    }

    /// <summary>The engine's own statistics are no change of the file's form.</summary>
    [Fact]
    public void Run_Analyzed_IsWhole()
    {
        RawFile.Run(folder.DataFile, "ANALYZE");
        Assert.True(RecordCheck.Run(folder.DataFile).IsWhole);
    }

    /// <summary>What a check cannot read because it is gone is named, by a backup too.</summary>
    [Theory]
    [InlineData("ALTER TABLE Secrets DROP COLUMN Seal", "Secrets")]
    [InlineData("DROP TABLE Sessions", "Sessions")]
    [InlineData("DROP TABLE Snapshots", "Snapshots")]
    public void Run_TableOrColumnGone_IsNamed(string edit, string table)
    {
        RawFile.Run(folder.DataFile, edit);
        var broken = Assert.Throws<LogBrokenException>(() => RecordCheck.Run(folder.DataFile));
        Assert.Equal((LogDifference.FormDiffers, $"table '{table}'"), (broken.Difference, broken.Stream));
        var refused = Assert.Throws<BackupException>(() => DataBackup.Make(folder.DataFile, folder.At("backup.db")));
        Assert.Equal(BackupProblem.Broken, refused.Problem);
        Assert.Contains($"table '{table}'", refused.Message, StringComparison.Ordinal);
    }

    /// <summary>
    /// Whatever a person changes in whatever row, it is found in that row, or in the next where the hash was made anew.
    /// </summary>
    [Fact]
    public void Run_AnyColumnOfAnyRowChanged_IsFoundThere() =>
        Gen.Select(Gen.Long[1, Last], Gen.Int[0, Columns.Length - 1], Gen.Int[0, 255]).Sample(
        (row, column, value) =>
        {
            var copy = folder.At("copy.db");
            File.Copy(folder.DataFile, copy, overwrite: true);
            var (table, name, change) = Columns[column];
            RawFile.Tamper(copy,
                string.Format(CultureInfo.InvariantCulture,
                    $"UPDATE {table} SET {name} = {change} WHERE Stream = '{Bench}' AND Sequence = {row}", value));
            var broken = RecordCheck.Run(copy).Verdict.Streams.Single(stream => stream.Stream == Bench).Broken;
            return broken is not null && broken.Sequence == row;
        },
        iter: 40, threads: 1);

    private static readonly (string Table, string Name, string Change)[] Columns =
    [
        ("EventHeaders", "Arrived", "Arrived + {0} + 1"), ("EventHeaders", "Reported", "Reported - {0} - 1"),
            ("EventHeaders", "Person", "Person || char({0} + 33)"), ("EventHeaders", "Device", "'x' || Device"),
        ("EventHeaders", "Report", "'{0}' || Report"), ("EventHeaders", "IndexInCommand", "IndexInCommand + 1"),
            ("EventHeaders", "EventType", "'mixed' || {0}"), ("EventHeaders", "SchemaVersion", "SchemaVersion + 1"),
        ("EventHeaders", "PayloadHash", "randomblob(32)"), ("EventHeaders", "PreviousHash", "randomblob(32)"),
            ("EventHeaders", "Hash", "randomblob(32)"), ("EventPayloads", "Json", "Json || char({0} + 33)"),
    ];

    private NoteVerdict Verdict(PrintedHead note) =>
        Assert.Single(RecordCheck.Run(folder.DataFile, null, [note]).Notes).Verdict;

    private void AssertBroken(LogDifference difference, long row, string? key = null)
    {
        var broken =
            Assert.IsType<LogBrokenException>(RecordCheck.Run(folder.DataFile, key).Verdict.Streams.Single(stream =>
                stream.Stream == Bench).Broken);
        Assert.Equal((difference, row), (broken.Difference, broken.Sequence));
    }

    private static string[] Swap(int one, int other) =>
    [
        .. new[] { "EventHeaders", "EventPayloads" }.SelectMany(table =>
            new[] { (one, 1000), (other, one), (1000, other) }
            .Select(move =>
                $"UPDATE {table} SET Sequence = {move.Item2} WHERE Stream LIKE 'bench/%' AND Sequence = {move.Item1}")),
    ];

    /// <summary>Alters a row and makes every hash from it on anew, as the forms in the room's README say.</summary>
    private void Forge(long from)
    {
        List<LogHeader> headers;
        using (var file = DataFile.Open(folder.DataFile))
            headers = [.. file.Log.ReadAll(StreamName.OfBench(Rows.Bench), from - 1).Select(row => row.Header)];
        List<string> statements = [];
        Digest? previous = null;
        foreach (var header in headers)
        {
            var row = Chain.RowOf(header) with
            { Person = "somebody else", PreviousHash = (previous ?? header.PreviousHash).ToBytes() };
            previous = Chain.OfHeader(row);
            statements.Add(
                $"UPDATE EventHeaders SET Person = 'somebody else', PreviousHash = "
                + $"x'{Convert.ToHexString(row.PreviousHash)}', Hash = x'{previous}' WHERE Stream = '{Bench}' AND "
                + $"Sequence = {row.Sequence}");
        }
        RawFile.Tamper(folder.DataFile, [.. statements]);
    }
}
