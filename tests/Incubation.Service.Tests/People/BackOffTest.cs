using Incubation.Clinic;
using Incubation.Clinic.People;
using Incubation.Model;
using Incubation.Records;
using Incubation.Records.People;
using Incubation.Service.Clinic;
using Incubation.Service.Clock;
using Incubation.Service.People;
using Microsoft.Data.Sqlite;
using Microsoft.Extensions.Time.Testing;
using NodaTime;

namespace Incubation.Service.Tests.People;

/// <summary>Waiting after wrong secrets, and sign-ins that come to their end, on virtual time.</summary>
public sealed class BackOffTest : IDisposable
{
    private readonly string folder = Directory.CreateTempSubdirectory("incubation-backoff-").FullName;
    private readonly FakeTimeProvider time = new(new DateTimeOffset(2026, 3, 2, 8, 0, 0, TimeSpan.Zero));
    private readonly DataFile file;
    private readonly ClinicHost clinic;
    private readonly Sessions sessions;

    public BackOffTest()
    {
        file = DataFile.Open(Path.Combine(folder, "a.db"),
            new DataFileOptions(BusyTimeout: Duration.FromMilliseconds(1)));
        clinic = new ClinicHost(file);
        var provenance = Provenances.Of(new PersonId("test"), new DeviceId("test"), new BenchClock(time, 1));
        clinic.Log.Record(
            [
                new ClinicEvent.ClinicOpened("Test clinic", "Europe/Berlin"),
                new ClinicEvent.PersonAdded(new PersonId("lena"), "Lena", Role.Aide),
                new ClinicEvent.DeviceEnrolled(new DeviceId("tablet-1"), "T", DeviceKind.Tablet, null),
            ], provenance);
        sessions = New();
    }

    public void Dispose()
    {
        file.Dispose();
        Directory.Delete(folder, recursive: true);
    }

    [Fact]
    public void Wait_AfterEachWrongOne_TwiceAsLongUpToItsLimit()
    {
        var backOff = new BackOff(time);
        List<double> waits = [];
        for (var tries = 0; tries < 16; tries++)
        {
            time.Advance(backOff.Wait("lena", "here").ToTimeSpan());
            Assert.Equal(Duration.Zero, backOff.Take("lena", "here"));
            waits.Add(backOff.Wait("lena", "here").TotalSeconds);
        }

        Assert.Equal([0, 0, 0, 0, 5, 10, 20, 40, 80, 160, 320, 640, 900, 900, 900, 900], waits);
        Assert.Equal(Duration.Zero, backOff.Wait("lena", "elsewhere"));
        Assert.Equal(Duration.Zero, backOff.Wait("tomas", "here"));
        time.Advance(TimeSpan.FromMinutes(15));
        Assert.Equal(Duration.Zero, backOff.Wait("lena", "here"));
        backOff.Right("lena", "here");
        backOff.Take("lena", "here");
        Assert.Equal(Duration.Zero, backOff.Wait("lena", "here"));
    }

    [Fact]
    public void Tablet_NotTouched_LocksAndSaysSoInTheLog()
    {
        sessions.Begin(new PersonId("lena"), SignInWay.Pin, new DeviceId("tablet-1"), "test");
        time.Advance(TimeSpan.FromMinutes(9));
        sessions.Touched(sessions.On(new DeviceId("tablet-1"))!.Id);
        time.Advance(TimeSpan.FromMinutes(9));
        Assert.NotNull(sessions.On(new DeviceId("tablet-1")));

        time.Advance(TimeSpan.FromMinutes(2));

        Assert.Null(sessions.On(new DeviceId("tablet-1")));
        sessions.Sweep();
        Assert.Contains(clinic.Log.Entries(), entry => entry.Event is ClinicEvent.SignedOut { Why: SignOutCause.Idle });
    }

    [Fact]
    public void Sweep_FileCannotBeWritten_SignInHasEndedAndIsWrittenLater()
    {
        var token = sessions.Begin(new PersonId("lena"), SignInWay.Password, null, "test")!;
        using var other = new SqliteConnection($"Data Source={Path.Combine(folder, "a.db")};Pooling=false");
        other.Open();
        using var hold = other.BeginTransaction(System.Data.IsolationLevel.Serializable);

        sessions.End(Tokens.Hash(token), SignOutCause.ByPerson);
        Assert.Null(sessions.Find(Tokens.Hash(token)));
        Assert.Throws<Records.Log.AppendException>(sessions.Sweep);

        hold.Rollback();
        sessions.Sweep();
        Assert.Contains(clinic.Log.Entries(), entry =>
            entry.Event is ClinicEvent.SignedOut { Why: SignOutCause.ByPerson });
        Assert.Null(New().Find(Tokens.Hash(token)));
    }

    [Fact]
    public void Browser_HoweverBusy_EndsAfterItsLongest()
    {
        var token = sessions.Begin(new PersonId("lena"), SignInWay.Password, null, "test")!;
        for (var minutes = 0; minutes < 12 * 60; minutes += 30)
        {
            Assert.NotNull(sessions.Find(Tokens.Hash(token)));
            time.Advance(TimeSpan.FromMinutes(30));
            sessions.Touched(Tokens.Hash(token));
        }

        time.Advance(TimeSpan.FromMinutes(1));
        Assert.Null(sessions.Find(Tokens.Hash(token)));
    }

    [Fact]
    public void Restart_SignInsHold_AndEndedOnesStayEnded()
    {
        var holds = sessions.Begin(new PersonId("lena"), SignInWay.Password, null, "test")!;
        var ended = sessions.Begin(new PersonId("lena"), SignInWay.Password, null, "test")!;
        sessions.End(Tokens.Hash(ended), SignOutCause.ByPerson);

        var again = New();

        Assert.NotNull(again.Find(Tokens.Hash(holds)));
        Assert.Null(again.Find(Tokens.Hash(ended)));
    }

    [Fact]
    public void Switch_OnATablet_EndsTheOneBefore()
    {
        clinic.Log.Record(new ClinicEvent.PersonAdded(new PersonId("tomas"), "Tomas", Role.Aide),
            Provenances.Of(new PersonId("test"), new DeviceId("test"), new BenchClock(time, 1)));
        sessions.Begin(new PersonId("lena"), SignInWay.Pin, new DeviceId("tablet-1"), "test");
        sessions.Begin(new PersonId("tomas"), SignInWay.Pin, new DeviceId("tablet-1"), "test");

        Assert.Equal("tomas", sessions.On(new DeviceId("tablet-1"))!.Person.Value);
        Assert.Contains(clinic.Log.Entries(), entry =>
            entry.Event is ClinicEvent.SignedOut { Person.Value: "lena", Why: SignOutCause.Switched });
        Assert.Equal(new PersonId("tomas"), clinic.Log.People.LastOn[new DeviceId("tablet-1")]);
    }

    [Fact]
    public void Hash_Slow_FitsItsSecretAlone()
    {
        var hash = SlowHasher.Hash("violet ladder seventeen", 1000);

        Assert.Equal(Microsoft.AspNetCore.Identity.PasswordVerificationResult.SuccessRehashNeeded,
            SlowHasher.Verify(hash, "violet ladder seventeen"));
        Assert.Equal(Microsoft.AspNetCore.Identity.PasswordVerificationResult.Failed,
            SlowHasher.Verify(hash, "violet ladder"));
        Assert.NotEqual(hash, SlowHasher.Hash("violet ladder seventeen", 1000));
        Assert.StartsWith("pbkdf2-sha256$600000$", SlowHasher.Unfitting, StringComparison.Ordinal);
    }

    private Sessions New() =>
        new(clinic, new PeopleStore(file, clinic.Log), new BenchClock(time, 1), SessionLengths.Usual, time);
}
