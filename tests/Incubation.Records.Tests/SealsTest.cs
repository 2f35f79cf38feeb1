using Incubation.Clinic;
using Incubation.Clinic.People;
using Incubation.Clinic.TestKit;
using Incubation.Model;
using Incubation.Records.Backup;
using Incubation.Records.Benches;
using Incubation.Records.Clinic;
using Incubation.Records.Log;
using Incubation.Records.People;
using Xunit;

namespace Incubation.Records.Tests;

/// <summary>
/// What somebody with the data file and without its key can do to secrets, sign-ins and snapshots: nothing that is
/// believed, and nothing that is not named.
/// </summary>
public sealed class SealsTest : IDisposable
{
    private static readonly string Aide = PeopleStory.Aide.Value;
    private readonly TempFolder folder = new();
    private int commands = 100;

    public SealsTest()
    {
        using var file = DataFile.Open(folder.DataFile);
        var log = ClinicLog.Open(file);
        log.Tell(PeopleStory.Commands);
        var store = new PeopleStore(file, log);
        Set(store, "first");
        WithKept("CREATE TABLE kept.Before AS SELECT * FROM Secrets");
        Set(store, "second");
        Set(store, "code", SecretKind.WelcomeCode);
        store.Keep(Begin(log, "one"));
        store.Keep(Begin(log, "two"));
    }

    /// <summary>Runs on the data file, with what was kept of it earlier beside it, in a file of its own.</summary>
    private void WithKept(string statements) => RawFile.Run(folder.DataFile,
        $"ATTACH DATABASE '{folder.DataFile}.kept' AS kept; {statements}; DETACH DATABASE kept");

    public void Dispose() => folder.Dispose();

    [Fact]
    public void Secret_InTheFile_IsNotItsHash()
    {
        Assert.StartsWith("aes-256-gcm-1$", (string)RawFile.Scalar(folder.DataFile, "SELECT Hash FROM Secrets")!,
            StringComparison.Ordinal);
        using var file = DataFile.Open(folder.DataFile);
        Assert.Equal("second", Store(file).Find(Aide, SecretKind.Pin)!.Hash);
        Assert.Null(file.Distrusted);
        Assert.Empty(file.Log.VerifyAll().Faults);
    }

    [Theory]
    [InlineData("UPDATE Secrets SET Hash = 'pbkdf2-sha256$1$c2FsdA==$aGFzaA=='")]
    [InlineData("UPDATE Secrets SET Hash = (SELECT Hash FROM Secrets WHERE Kind = 'WelcomeCode')")]
    [InlineData("UPDATE Secrets SET Seal = NULL")]
    [InlineData("UPDATE Secrets SET Expires = 1")]
    [InlineData("UPDATE Secrets SET SetBy = SetBy - 1")]
    [InlineData("UPDATE Secrets SET Hash = x'00'")]
    [InlineData("DELETE FROM Secrets; INSERT INTO Secrets SELECT * FROM kept.Before")]
    public void Secret_Changed_OpensNothingAndIsNamed(string how)
    {
        WithKept(how);
        using (var file = DataFile.Open(folder.DataFile))
        {
            Assert.Null(Store(file).Find(Aide, SecretKind.Pin));
            Assert.Equal($"Secrets: {Aide}, Pin", file.Distrusted!.Stream);
            Assert.Contains(file.Log.VerifyAll().Faults, fault => fault.Stream == $"Secrets: {Aide}, Pin");
        }

        var report = RecordCheck.Run(folder.DataFile);
        Assert.False(report.IsWhole);
        Assert.Equal(how.StartsWith("DELETE", StringComparison.Ordinal)
            ? LogDifference.PutBack : LogDifference.SealDiffers,
            report.Verdict.Faults.First(fault => fault.Stream == $"Secrets: {Aide}, Pin").Difference);
        // Nobody is without backups because of it, and what is restored from one has the row no more.
        var made = DataBackup.Make(folder.DataFile, folder.At("copy.db"));
        Assert.Contains(made.Seals, fault => fault.Stream == $"Secrets: {Aide}, Pin");
        DataRestore.Run(folder.At("copy.db"), folder.DataFile, force: false, Rows.Morning);
        using var restored = DataFile.Open(folder.DataFile);
        Assert.Null(Store(restored).Find(Aide, SecretKind.Pin));
        Assert.Empty(restored.Log.VerifyAll().Faults);
        Assert.Null(restored.Distrusted);
    }

    [Fact]
    public void Secret_OfSomebodyElse_IsNotTakenForAnothers()
    {
        RawFile.Run(folder.DataFile, $"UPDATE Secrets SET Owner = 'another' WHERE Kind = 'Pin'");
        using var file = DataFile.Open(folder.DataFile);
        Assert.Null(Store(file).Find("another", SecretKind.Pin));
    }

    [Fact]
    public void Secret_HashedAnew_StaysSealed()
    {
        using var file = DataFile.Open(folder.DataFile);
        var store = Store(file);
        store.Rehash(store.Find(Aide, SecretKind.Pin)! with { Hash = "more rounds" });
        Assert.Equal("more rounds", store.Find(Aide, SecretKind.Pin)!.Hash);
        Assert.Empty(file.Log.VerifyAll().Faults);
    }

    [Fact]
    public void Secret_SetByNoEvent_IsRefused()
    {
        using var file = DataFile.Open(folder.DataFile);
        var store = Store(file);
        Assert.Throws<InvalidOperationException>(() => store.Record(
            [new ClinicEvent.RoleChanged(PeopleStory.Aide, Role.Supervisor)], Rows.Provenance(900),
            [new Secret(Aide, SecretKind.Pin, "h")]));
        Assert.Equal("second", store.Find(Aide, SecretKind.Pin)!.Hash);
    }

    [Theory]
    [InlineData("UPDATE Sessions SET Person = 'administrator' WHERE Id = 'one'")]
    [InlineData("UPDATE Sessions SET Way = 'Pin' WHERE Id = 'one'")]
    [InlineData("UPDATE Sessions SET LastSeen = LastSeen + 3600000000000 WHERE Id = 'one'")]
    [InlineData("UPDATE Sessions SET Seal = NULL WHERE Id = 'one'")]
    [InlineData("UPDATE Sessions SET Begun = 'no number' WHERE Id = 'one'")]
    public void SignIn_Changed_IsNoneAndIsNamed(string how)
    {
        RawFile.Run(folder.DataFile, how);
        using var file = DataFile.Open(folder.DataFile);
        Assert.Equal("two", Assert.Single(Store(file).Sessions()).Id);
        Assert.StartsWith("Sessions: one, ", file.Distrusted!.Stream, StringComparison.Ordinal);
        Assert.StartsWith("Sessions: one, ", Assert.Single(file.Log.VerifyAll().Faults).Stream,
            StringComparison.Ordinal);
    }

    [Fact]
    public void SignIn_EndedAndPutBack_DoesNotComeAlive()
    {
        WithKept("CREATE TABLE kept.Earlier AS SELECT * FROM Sessions");
        using (var file = DataFile.Open(folder.DataFile))
        {
            var log = ClinicLog.Open(file);
            var store = new PeopleStore(file, log);
            var session = store.Sessions().Single(one => one.Id == "one");
            store.End("one");
            log.Record(new ClinicEvent.SignedOut(session.Person, SignOutCause.ByPerson),
                Rows.Provenance(950) with { Id = store.EndOf(session) });
        }
        WithKept("DELETE FROM Sessions; INSERT INTO Sessions SELECT * FROM kept.Earlier");

        using var again = DataFile.Open(folder.DataFile);
        Assert.Equal("two", Assert.Single(Store(again).Sessions()).Id);
        Assert.Equal(LogDifference.PutBack, Assert.Single(again.Log.VerifyAll().Faults).Difference);
    }

    [Fact]
    public void SignIn_OfBeforeARestore_DoesNotComeAlive()
    {
        DataBackup.Make(folder.DataFile, folder.At("backup.db"));
        DataRestore.Run(folder.At("backup.db"), folder.DataFile, force: false, Rows.Morning);
        RawFile.Run(folder.DataFile, $"ATTACH '{folder.At("backup.db")}' AS backup",
            "INSERT INTO Sessions SELECT * FROM backup.Sessions");
        Assert.False(File.Exists(folder.DataFile + ".part.lock"));
        using var file = DataFile.Open(folder.DataFile);
        Assert.Empty(Store(file).Sessions());
        Assert.All(file.Log.VerifyAll().Faults, fault => Assert.Equal(LogDifference.PutBack, fault.Difference));
        Assert.NotNull(Store(file).Find(Aide, SecretKind.Pin));
    }

    [Fact]
    public void Snapshot_Changed_IsNotUsedAndIsNamed()
    {
        using (var file = DataFile.Open(folder.DataFile))
        {
            new BenchStreams(file).Append(Rows.Bench, 0, [.. BenchStory.Tell()]);
            new BenchSnapshots(file).Save(new BenchSnapshots(file).Load(Rows.Bench, out _)!);
            Assert.Empty(file.Log.VerifyAll().Faults);
        }

        RawFile.Run(folder.DataFile, "UPDATE Snapshots SET Json = replace(Json, 'A', 'B')");
        using var again = DataFile.Open(folder.DataFile);
        new BenchSnapshots(again).Load(Rows.Bench, out var replayed);
        Assert.True(replayed > 1);
        Assert.Equal($"Snapshots: {StreamName.OfBench(Rows.Bench)}", again.Distrusted!.Stream);
        Assert.Equal(LogDifference.SealDiffers, Assert.Single(again.Log.VerifyAll().Faults).Difference);
    }

    [Fact]
    public void NewKey_KeyLost_TellsWhatWentWithIt()
    {
        File.Delete(SigningKey.PathBeside(folder.DataFile));
        var renewed = RecordKey.Renew(folder.DataFile, null, Rows.Morning);
        Assert.Equal(2, renewed.Secrets);
        Assert.True(RecordCheck.Run(folder.DataFile).IsWhole);
        using var file = DataFile.Open(folder.DataFile);
        var store = Store(file);
        Assert.Empty(store.Sessions());
        Assert.Null(store.Find(Aide, SecretKind.Pin));
        Set(store, "third");
        Assert.Equal("third", store.Find(Aide, SecretKind.Pin)!.Hash);
        Assert.Empty(file.Log.VerifyAll().Faults);
    }

    private static PeopleStore Store(DataFile file) => new(file, ClinicLog.Open(file));

    private void Set(PeopleStore store, string hash, SecretKind kind = SecretKind.Pin) =>
        store.Record([new ClinicEvent.SecretSet(PeopleStory.Aide, kind)], Rows.Provenance(++commands),
            [new Secret(Aide, kind, hash)]);

    private Session Begin(ClinicLog log, string id)
    {
        var begun = Assert.IsType<ClinicOutcome.Recorded>(log.Record(
            new ClinicEvent.SignedIn(PeopleStory.Aide, SignInWay.Password, "::1"), Rows.Provenance(++commands)));
        return new Session(id, PeopleStory.Aide, SignInWay.Password, null, new DeviceId("browser-1"), Rows.Morning,
            Rows.Morning)
        { Begun = begun.Head.Sequence };
    }
}
