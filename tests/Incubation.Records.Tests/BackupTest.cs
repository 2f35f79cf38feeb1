using Incubation.Bench;
using Incubation.Clinic;
using Incubation.Clinic.TestKit;
using Incubation.Records.Backup;
using Incubation.Records.Benches;
using Incubation.Records.Clinic;
using Incubation.Records.Log;
using Incubation.Records.Sqlite;
using Microsoft.EntityFrameworkCore;
using Microsoft.EntityFrameworkCore.Infrastructure;
using Microsoft.EntityFrameworkCore.Migrations;
using NodaTime;
using Xunit;

namespace Incubation.Records.Tests;

/// <summary>Backups of real files, and putting them back.</summary>
public sealed class BackupTest : IDisposable
{
    private static readonly Instant Now = Instant.FromUtc(2026, 3, 2, 12, 0);
    private readonly TempFolder folder = new();

    private string Backup => folder.At("backup.db");

    public void Dispose() => folder.Dispose();

    [Fact]
    public void Make_FileInUse_HoldsWhatWasRecorded()
    {
        using var file = Story();
        var report = DataBackup.Make(folder.DataFile, Backup);

        Assert.Equal(
            [(StreamName.OfBench(Rows.Bench).ToString(), file.Log.Head(StreamName.OfBench(Rows.Bench))),
                ("clinic", file.Log.Head(StreamName.Clinic))],
            report.Streams.Select(stream => (stream.Stream, stream.Head)));
        using var copy = DataFile.Open(Backup);
        Assert.Empty(copy.Log.VerifyAll().Faults);
        Assert.Equal(new BenchStreams(file).Load(Rows.Bench).Count(), new BenchStreams(copy).Load(Rows.Bench).Count());
        Assert.Equal(new Catalogue(file, ClinicLog.Open(file)).Lots(),
            new Catalogue(copy, ClinicLog.Open(copy)).Lots());
    }

    [Fact]
    public async Task Make_WhileReportsGoOn_CopyIsOneInstantOfWholeCommands()
    {
        using var file = Story();
        var streams = new BenchStreams(file);
        using var stop = new CancellationTokenSource();
        using var begun = new ManualResetEventSlim();
        var other = new Incubation.Model.BenchId("bench-2");
        var writing = Task.Run(
            () =>
            {
                streams.Append(other, 0, [OpenedAs(other)]);
                for (var number = 0L; !stop.IsCancellationRequested; number++)
                {
                    // Two entries a command: a copy that holds one of them alone is torn.
                    streams.Append(other, 1 + (number * 2), [Seen((int)number), Seen((int)number)]);
                    begun.Set();
                }
            },
            TestContext.Current.CancellationToken);
        begun.Wait(TestContext.Current.CancellationToken);
        var reports = Enumerable.Range(0, 5)
            .Select(number => DataBackup.Make(folder.DataFile, folder.At($"backup-{number}.db"))).ToList();
        await stop.CancelAsync();
        await writing;

        var copied = reports.Select(report =>
            report.Streams.Single(stream => stream.Stream == "bench/bench-2").Head.Sequence).ToList();
        Assert.All(copied, rows => Assert.Equal(1, rows % 2));
        Assert.Equal(copied.Order(), copied);
        Assert.True(copied[^1] > copied[0],
            "Nothing was written between the first copy and the last: this test shows nothing.");
    }

    [Fact]
    public void Make_Always_LeavesOneFileForItsOwnerAlone()
    {
        using var file = Story();
        DataBackup.Make(folder.DataFile, Backup);
        Assert.Equal(["backup.db"], Directory.GetFiles(Path.GetDirectoryName(Backup)!, "backup*")
            .Select(Path.GetFileName));
        if (!OperatingSystem.IsWindows())
            Assert.Equal(UnixFileMode.UserRead | UnixFileMode.UserWrite, File.GetUnixFileMode(Backup));
    }

    [Fact]
    public void Make_TargetThere_IsRefusedAndUntouched()
    {
        using var file = Story();
        File.WriteAllText(Backup, "yesterday's");
        Assert.Equal(BackupProblem.TargetExists,
            Assert.Throws<BackupException>(() => DataBackup.Make(folder.DataFile, Backup)).Problem);
        Assert.Equal("yesterday's", File.ReadAllText(Backup));
    }

    [Fact]
    public void Make_NoSource_IsRefused() =>
        Assert.Equal(BackupProblem.Missing,
            Assert.Throws<BackupException>(() => DataBackup.Make(folder.DataFile, Backup)).Problem);

    [Fact]
    public void Make_PartLeftByAKilledBackup_IsReplaced()
    {
        using var file = Story();
        File.WriteAllText(Backup + ".part", "half of it");
        DataBackup.Make(folder.DataFile, Backup);
        Assert.False(File.Exists(Backup + ".part"));
    }

    [Fact]
    public void Make_RecordAltered_IsNoBackup()
    {
        Story().Dispose();
        RawFile.Tamper(folder.DataFile,
            "UPDATE EventPayloads SET Json = replace(Json, 'Bench 1', 'Bench 2') WHERE Sequence = 1");
        var refused = Assert.Throws<BackupException>(() => DataBackup.Make(folder.DataFile, Backup));
        Assert.Equal(BackupProblem.Broken, refused.Problem);
        Assert.Contains("row 1", refused.Message, StringComparison.Ordinal);
        Assert.Single(Directory.GetFiles(Path.GetDirectoryName(Backup)!, "*.db"));
    }

    [Fact]
    public void Make_EventNobodyUnderstands_IsNoBackup()
    {
        using (var file = Story())
            AppendRaw(file, new Events.EncodedEvent("from-the-future", 1, "{}"));
        Assert.Equal(BackupProblem.Broken,
            Assert.Throws<BackupException>(() => DataBackup.Make(folder.DataFile, Backup)).Problem);
    }

    [Fact]
    public void Make_FileCutOff_IsNoBackup()
    {
        Story().Dispose();
        using (var cut = File.OpenWrite(folder.DataFile))
            cut.SetLength(cut.Length / 2);
        Assert.ThrowsAny<Exception>(() => DataBackup.Make(folder.DataFile, Backup));
        Assert.False(File.Exists(Backup));
        Assert.False(File.Exists(Backup + ".part"));
    }

    [Fact]
    public void Run_DataGone_EverythingIsThereAgain()
    {
        LogHead head;
        using (var file = Story())
        {
            head = file.Log.Head(StreamName.OfBench(Rows.Bench));
            DataBackup.Make(folder.DataFile, Backup);
        }
        File.Delete(folder.DataFile);

        var done = DataRestore.Run(Backup, folder.DataFile, force: false, Now);
        Assert.Null(done.Kept);
        Assert.Equal(["backup.db"], Directory.GetFiles(Path.GetDirectoryName(Backup)!, "backup*")
            .Select(Path.GetFileName));
        if (!OperatingSystem.IsWindows())
            Assert.Equal(UnixFileMode.UserRead | UnixFileMode.UserWrite, File.GetUnixFileMode(folder.DataFile));
        using var restored = DataFile.Open(folder.DataFile);
        Assert.Equal(head, restored.Log.Head(StreamName.OfBench(Rows.Bench)));
        Assert.True(File.Exists(Backup));
    }

    [Fact]
    public void Run_SameState_KeepsWhatItReplaces()
    {
        Story().Dispose();
        DataBackup.Make(folder.DataFile, Backup);
        var done = DataRestore.Run(Backup, folder.DataFile, force: false, Now);
        Assert.Equal(folder.At("clinic.replaced-20260302T120000Z.db"), done.Kept);
        using var kept = DataFile.Open(done.Kept!);
        Assert.Equal(2, kept.Log.Streams().Count);
    }

    [Fact]
    public void Run_BackupOlder_IsRefusedUnlessForced()
    {
        using (var file = Story())
        {
            DataBackup.Make(folder.DataFile, Backup);
            Append(file, 3);
        }
        var refused = Assert.Throws<BackupException>(() => DataRestore.Run(Backup, folder.DataFile, force: false, Now));
        Assert.Equal(BackupProblem.Older, refused.Problem);
        Assert.Contains("more events: 3", refused.Message, StringComparison.Ordinal);
        Assert.False(File.Exists(folder.DataFile + ".part"));

        var done = DataRestore.Run(Backup, folder.DataFile, force: true, Now);
        using var kept = DataFile.Open(done.Kept!);
        using var restored = DataFile.Open(folder.DataFile);
        Assert.Equal(3,
            kept.Log.Head(StreamName.OfBench(Rows.Bench)).Sequence - restored.Log.Head(
                StreamName.OfBench(Rows.Bench)).Sequence);
    }

    [Fact]
    public void Run_ServerKilled_CountsWhatItsWriteAheadLogHolds()
    {
        var left = folder.At("left.db");
        using (var file = Story())
        {
            DataBackup.Make(folder.DataFile, Backup);
            Append(file, 4);
            File.Copy(folder.DataFile, left);
            File.Copy(folder.DataFile + "-wal", left + "-wal");
        }
        var refused = Assert.Throws<BackupException>(() => DataRestore.Run(Backup, left, force: false, Now));
        Assert.Contains("more events: 4", refused.Message, StringComparison.Ordinal);
        var done = DataRestore.Run(Backup, left, force: true, Now);
        Assert.False(File.Exists(left + "-wal"));
        using var kept = DataFile.Open(done.Kept!);
        Assert.Empty(kept.Log.VerifyAll().Faults);
    }

    [Fact]
    public void Run_FileLostButNotItsWriteAheadLog_LogIsKeptAsideAndNotReadIn()
    {
        var left = folder.At("left.db");
        using (var file = Story())
        {
            DataBackup.Make(folder.DataFile, Backup);
            Append(file, 4);
            File.Copy(folder.DataFile + "-wal", left + "-wal");
        }

        DataRestore.Run(Backup, left, force: false, Now);

        Assert.NotEmpty(Directory.GetFiles(Path.GetDirectoryName(left)!, "left.replaced-*-wal"));
        using var restored = DataFile.Open(left);
        using var backup = DataFile.Open(Backup);
        Assert.Equal(backup.Log.Head(StreamName.OfBench(Rows.Bench)),
            restored.Log.Head(StreamName.OfBench(Rows.Bench)));
    }

    [Fact]
    public void Run_AnotherClinic_IsRefusedUnlessForced()
    {
        using (var other = DataFile.Open(folder.At("other.db")))
            ClinicLog.Open(other).Tell(ClinicStory.Commands);
        DataBackup.Make(folder.At("other.db"), Backup);
        using (var file = DataFile.Open(folder.DataFile))
            new BenchStreams(file).Append(Rows.Bench, 0, [OpenedAs(Rows.Bench)]);
        using (var file = DataFile.Open(folder.DataFile))
            ClinicLog.Open(file).Record(new ClinicEvent.ClinicOpened("Another clinic", "UTC"), Rows.Provenance(900));

        Assert.Equal(BackupProblem.Foreign, RestoreProblem());
        Assert.NotNull(DataRestore.Run(Backup, folder.DataFile, force: true, Now).Kept);
    }

    [Fact]
    public void Run_PresentDamaged_IsRefusedUnlessForcedAndThenKept()
    {
        Story().Dispose();
        DataBackup.Make(folder.DataFile, Backup);
        File.WriteAllText(folder.DataFile, "the disk wrote this");
        Assert.Equal(BackupProblem.PresentUnreadable, RestoreProblem());
        var done = DataRestore.Run(Backup, folder.DataFile, force: true, Now);
        Assert.Equal("the disk wrote this", File.ReadAllText(done.Kept!));
        using var restored = DataFile.Open(folder.DataFile);
        Assert.Equal(2, restored.Log.Streams().Count);
    }

    [Fact]
    public void Run_ServerRunning_IsRefused()
    {
        using var file = Story();
        DataBackup.Make(folder.DataFile, Backup);
        Assert.Equal(DataFileProblem.InUse,
            Assert.Throws<DataFileException>(() => DataRestore.Run(Backup, folder.DataFile, force: true, Now)).Problem);
    }

    [Theory]
    [InlineData("a letter to the clinic", DataFileProblem.NotADataFile)]
    [InlineData(null, DataFileProblem.OtherProgram)]
    public void Run_BackupOfAnotherProgram_IsRefusedEvenForced(string? content, DataFileProblem problem)
    {
        if (content is null)
            RawFile.Run(Backup, "CREATE TABLE T (x)");
        else
            File.WriteAllText(Backup, content);
        Assert.Equal(problem,
            Assert.Throws<DataFileException>(() => DataRestore.Run(Backup, folder.DataFile, force: true, Now)).Problem);
        Assert.False(File.Exists(folder.DataFile));
    }

    [Fact]
    public void Run_BackupOfANewerProgram_IsRefusedEvenForced()
    {
        Story().Dispose();
        DataBackup.Make(folder.DataFile, Backup);
        RawFile.Run(Backup, "INSERT INTO __EFMigrationsHistory VALUES ('29990101000000_FromTheFuture', '99.0')");
        Assert.Equal(DataFileProblem.Newer,
            Assert.Throws<DataFileException>(() => DataRestore.Run(Backup, folder.DataFile, force: true, Now)).Problem);
    }

    [Fact]
    public void Open_FileOfAnOlderProgram_IsCopiedThenBroughtForward()
    {
        Older();
        string kept;
        using (var file = DataFile.Open(folder.DataFile, new DataFileOptions(SignAsItStands: true)))
        {
            kept = Assert.IsType<string>(file.KeptBeforeChange);
            Assert.Single(file.Log.Streams());
            Assert.Empty(file.Log.VerifyAll().Faults);
            Assert.True(file.Log.VerifyAll().IsSigned);
            using var context = file.Read();
            Assert.Empty(context.Database.GetPendingMigrations());
        }
        Assert.Equal("20261125095806_Beginning",
            RawFile.Scalar(kept, "SELECT MAX(MigrationId) FROM __EFMigrationsHistory"));
        Assert.Equal(1L, RawFile.Scalar(kept, "SELECT COUNT(*) FROM EventHeaders"));
        using (var again = DataFile.Open(folder.DataFile))
            Assert.Null(again.KeptBeforeChange);
        Assert.Single(DataRestore.Run(kept, folder.At("new.db"), force: false, Now,
            new RestoreOptions(SignAsItStands: true)).Restored.Streams);
    }

    [Fact]
    public void Open_OlderFileCannotBeCopied_IsUnchanged()
    {
        Older();
        // Where the copy would be written stands a folder.
        using (var present = DataFile.Open(folder.At("probe.db")))
        using (var context = present.Read())
            Directory.CreateDirectory(
                folder.At($"clinic.before-{context.Database.GetMigrations().ElementAt(1)}.db.part"));
        Assert.Equal(DataFileProblem.CannotOpen, Assert.Throws<DataFileException>(() =>
            DataFile.Open(folder.DataFile, new DataFileOptions(SignAsItStands: true))).Problem);
        Assert.Equal("20261125095806_Beginning",
            RawFile.Scalar(folder.DataFile, "SELECT MAX(MigrationId) FROM __EFMigrationsHistory"));
    }

    [Fact]
    public void Open_FileWithEventsAndWithoutSignatures_IsRefusedUntouched()
    {
        Older();
        var refused = Assert.Throws<DataFileException>(() => DataFile.Open(folder.DataFile));
        Assert.Equal(DataFileProblem.HeadsMissing, refused.Problem);
        Assert.Contains("--sign-as-it-stands", refused.Message, StringComparison.Ordinal);
        Assert.Equal("20261125095806_Beginning",
            RawFile.Scalar(folder.DataFile, "SELECT MAX(MigrationId) FROM __EFMigrationsHistory"));
        Assert.False(File.Exists(folder.At(SigningKey.FileName)));
    }

    [Fact]
    public void Restore_BackupWithEventsAndWithoutSignatures_OnlyWhereThatIsSaid()
    {
        Older();
        Assert.Equal(SignatureCheck.Unsigned, DataBackup.Make(folder.DataFile, Backup).Signatures);
        Assert.Equal(BackupProblem.Unsigned, Assert.Throws<BackupException>(() =>
            DataRestore.Run(Backup, folder.At("new.db"), force: true, Now)).Problem);
        Assert.False(File.Exists(folder.At("new.db")));
        var options = new RestoreOptions(SignAsItStands: true);
        Assert.Single(DataRestore.Run(Backup, folder.At("new.db"), force: false, Now, options).Restored.Streams);
    }

    [Fact]
    public void Backup_KeyElsewhere_IsCheckedWhereItIsNamed()
    {
        Story().Dispose();
        var key = folder.At("apart/clinic.key");
        Directory.CreateDirectory(folder.At("apart"));
        File.Move(folder.At(SigningKey.FileName), key);
        Assert.Equal(SignatureCheck.NoKey, DataBackup.Make(folder.DataFile, folder.At("unchecked.db")).Signatures);
        Assert.Equal(SignatureCheck.Checked, DataBackup.Make(folder.DataFile, Backup, key).Signatures);
        RawFile.Run(folder.DataFile, "UPDATE Heads SET Signature = x'00'");
        Assert.Equal(BackupProblem.Broken, Assert.Throws<BackupException>(() =>
            DataBackup.Make(folder.DataFile, folder.At("forged.db"), key)).Problem);
        var options = new RestoreOptions([folder.At("none.key"), key]);
        Assert.Equal(SignatureCheck.Checked,
            DataRestore.Run(Backup, folder.At("new.db"), force: false, Now, options).Restored.Signatures);
    }

    /// <summary>A file as the first release of the tables wrote it, with one event.</summary>
    private void Older()
    {
        RawFile.Run(folder.DataFile, $"PRAGMA application_id = {FileIdentity.ApplicationId}");
        using (var context = new Storage.RecordsContext(new DbContextOptionsBuilder<Storage.RecordsContext>()
            .UseSqlite($"Data Source={folder.DataFile};Pooling=false").Options))
            context.GetService<IMigrator>().Migrate("20261125095806_Beginning");
        var made = folder.At("made.db");
        using (var file = DataFile.Open(made))
            new BenchStreams(file).Append(Rows.Bench, 0, [OpenedAs(Rows.Bench)]);
        RawFile.Run(
            folder.DataFile,
            $"ATTACH '{made}' AS made",
            "INSERT INTO EventHeaders SELECT * FROM made.EventHeaders",
            "INSERT INTO EventPayloads SELECT * FROM made.EventPayloads");
        // That program had no key.
        File.Delete(folder.At(SigningKey.FileName));
    }

    private DataFile Story()
    {
        var file = DataFile.Open(folder.DataFile);
        ClinicLog.Open(file).Tell(ClinicStory.Commands);
        var at = 0L;
        foreach (var command in BenchStory.Tell().GroupBy(entry => entry.Provenance.Id))
            at = new BenchStreams(file).Append(Rows.Bench, at, [.. command]).Sequence;
        return file;
    }

    private BackupProblem RestoreProblem() =>
        Assert.Throws<BackupException>(() => DataRestore.Run(Backup, folder.DataFile, force: false, Now)).Problem;

    private static BenchEntry OpenedAs(Incubation.Model.BenchId bench) =>
        new(new BenchEvent.BenchOpened(bench, "Bench", BenchStory.Open.Setup, BenchStory.Open.PromptAhead),
            Rows.Provenance(1));

    private static BenchEntry Seen(int number) =>
        new(
            new BenchEvent.AlarmAcknowledged(
                new AlarmKey(AlarmKind.WindowClosed, new Incubation.Model.RequestId("R01"))),
            Rows.Provenance(1000 + number));

    private static void Append(DataFile file, int count)
    {
        var streams = new BenchStreams(file);
        var head = file.Log.Head(StreamName.OfBench(Rows.Bench)).Sequence;
        for (var number = 0; number < count; number++)
            head = streams.Append(Rows.Bench, head, [Seen(number)]).Sequence;
    }

    private static void AppendRaw(DataFile file, Events.EncodedEvent encoded)
    {
        var stream = StreamName.OfBench(Rows.Bench);
        file.Log.Append(stream, file.Log.Head(stream).Sequence, [new NewRow(encoded, Rows.Provenance(5000))]);
    }
}
