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
        var lena = new BackOff.Guess("lena", "here");
        List<double> waits = [];
        for (var tries = 0; tries < 16; tries++)
        {
            time.Advance(backOff.Wait(lena).ToTimeSpan());
            Assert.Equal(Duration.Zero, backOff.Take(lena));
            waits.Add(backOff.Wait(lena).TotalSeconds);
        }

        Assert.Equal([0, 0, 0, 0, 5, 10, 20, 40, 80, 160, 320, 640, 900, 900, 900, 900], waits);
        Assert.Equal(Duration.Zero, backOff.Wait(new BackOff.Guess("lena", "elsewhere")));
        Assert.Equal(Duration.Zero, backOff.Wait(new BackOff.Guess("tomas", "here")));
        time.Advance(TimeSpan.FromMinutes(15));
        Assert.Equal(Duration.Zero, backOff.Wait(lena));
        backOff.Right(lena);
        backOff.Take(lena);
        Assert.Equal(Duration.Zero, backOff.Wait(lena));
    }

    [Fact]
    public void Take_StrangeNames_MemoryIsBoundedByCountAndAge()
    {
        var backOff = new BackOff(time);
        var held = long.MaxValue;
        // Other tests take memory of the same process meanwhile: what is really held is held at each try.
        for (var tries = 0; tries < 5 && held > 8_000_000; tries++)
            held = Math.Min(held, HeldBy(backOff = new BackOff(time)));

        Assert.InRange(backOff.Size, 1, 10_000);
        Assert.InRange(held, long.MinValue, 8_000_000);
        time.Advance(TimeSpan.FromHours(25));
        backOff.Take(new BackOff.Guess("one more", "there"));
        Assert.Equal(1, backOff.Size);
    }

    private static long HeldBy(BackOff backOff)
    {
        var long1 = new string('x', 1_000_000);
        var before = GC.GetTotalMemory(forceFullCollection: true);
        for (var at = 0; at < 100_000; at++)
            backOff.Take(new BackOff.Guess($"stranger {at}", $"address 192.0.2.{at % 250}") { IsStranger = true });
        for (var at = 0; at < 200; at++)
            backOff.Take(new BackOff.Guess(long1 + at, "address 192.0.2.1") { IsStranger = true });
        return GC.GetTotalMemory(forceFullCollection: true) - before;
    }

    [Fact]
    public void Take_StrangeNamesWithoutEnd_GuessesAtAPersonAreStillCounted()
    {
        var backOff = new BackOff(time);
        var mara = new BackOff.Guess("mara", "address 192.0.2.1") { IsPerson = true };
        for (var tries = 0; tries <= BackOff.Free; tries++)
            backOff.Take(mara);

        for (var at = 0; at < 20_000; at++)
            backOff.Take(new BackOff.Guess($"stranger {at}", "address 192.0.2.1"));

        Assert.True(backOff.Wait(mara) > Duration.Zero);
    }

    [Fact]
    public void Take_FromEverNewPlaces_EachWaitsLongerAndIsHeardInTheEnd()
    {
        var backOff = new BackOff(time);
        static BackOff.Guess From(int place) =>
            new("mara", $"address 192.0.2.{place}") { IsPerson = true, IsStranger = true, Way = "Password" };
        List<double> waits = [];
        for (var place = 0; place < 30; place++)
        {
            var wait = backOff.Take(From(place));
            waits.Add(wait.TotalSeconds);
            time.Advance(wait.ToTimeSpan());
            if (wait > Duration.Zero)
                Assert.Equal(Duration.Zero, backOff.Take(From(place)));
        }

        Assert.Equal([.. Enumerable.Repeat(0.0, 11), 5, 10, 20, 40, 80, 160, 320, 640,
            .. Enumerable.Repeat(900.0, 11)], waits);
        // Where she has signed in before she need not wait; and a stranger's place that has waited is heard.
        var own = new BackOff.Guess("mara", "device browser-1") { IsPerson = true };
        Assert.Equal(Duration.Zero, backOff.Take(own));
        Assert.Equal(Duration.FromMinutes(15), backOff.Take(From(200)));
        for (var others = 0; others < 20; others++)
            backOff.Take(From(100 + others));
        time.Advance(TimeSpan.FromMinutes(15));
        Assert.Equal(Duration.Zero, backOff.Take(From(200)));
    }

    [Fact]
    public async Task Hashing_TooManyAtOnce_SomeWaitAndTheRestMayTryAgain()
    {
        using var queue = new HashingQueue(1, 2);
        var first = await queue.EnterAsync();
        var second = queue.EnterAsync();
        var third = queue.EnterAsync();

        Assert.Null(await queue.EnterAsync());
        Assert.False(second.IsCompleted);
        first!.Dispose();
        first.Dispose();
        (await second)!.Dispose();
        (await third)!.Dispose();
        Assert.NotNull(await queue.EnterAsync());
    }

    [Fact]
    public void DailyLimit_UsedUp_AgainTheNextDay()
    {
        var limit = new DailyLimit(2);
        var now = Instant.FromUtc(2026, 3, 2, 8, 0);

        Assert.Equal([true, true, false, false], Enumerable.Range(0, 4).Select(_ => limit.Take(now)));
        Assert.True(limit.Take(now + Duration.FromDays(1)));
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
