using Incubation.Bench;
using Incubation.Clinic;
using Incubation.Clinic.People;
using Incubation.Model;
using Incubation.Records.Clinic;
using Incubation.Records.People;
using Xunit;

namespace Incubation.Records.Tests;

/// <summary>Who may do what, and what may be changed in it.</summary>
public sealed class PeopleStateTest : IDisposable
{
    private readonly TempFolder folder = new();
    private readonly DataFile file;
    private readonly ClinicLog log;
    private int commands = 100;

    public PeopleStateTest()
    {
        file = DataFile.Open(folder.DataFile);
        log = ClinicLog.Open(file);
    }

    public void Dispose()
    {
        file.Dispose();
        folder.Dispose();
    }

    [Fact]
    public void Story_Told_NothingRefusedAndAllOfItThere()
    {
        Assert.Empty(PeopleStory.Tell(log));

        var people = log.People;
        Assert.Equal(24, people.RetentionMonths);
        Assert.Equal(new ClinicPerson(PeopleStory.Aide, "Lena", Role.Supervisor, true, false, false), people.Person(PeopleStory.Aide));
        Assert.True(people.Devices[PeopleStory.Tablet].IsRevoked);
        Assert.False(people.Devices[DeviceId.Of("wall-0001")].IsRevoked);
        Assert.True(Assert.Single(people.Keys.Values).IsRevoked);
    }

    [Fact]
    public void Reopened_SamePeople()
    {
        PeopleStory.Tell(log);

        var again = ClinicLog.Open(file).People;

        Assert.Equal(log.People.Persons, again.Persons);
        Assert.Equal(log.People.Devices, again.Devices);
    }

    public static TheoryData<ClinicEvent, ClinicRefusal> Refused => new()
    {
        { new ClinicEvent.RetentionSet(0), ClinicRefusal.RetentionOutOfRange },
        { new ClinicEvent.RetentionSet(23), ClinicRefusal.RetentionOutOfRange },
        { new ClinicEvent.RetentionSet(1201), ClinicRefusal.RetentionOutOfRange },
        { new ClinicEvent.PersonAdded(PeopleStory.Aide, "Another Lena", Role.Aide), ClinicRefusal.PersonAlreadyThere },
        { new ClinicEvent.PersonAdded(PersonId.Of("x"), " ", Role.Aide), ClinicRefusal.NameMissing },
        { new ClinicEvent.RoleChanged(PeopleStory.Chief, Role.Supervisor), ClinicRefusal.LastAdministrator },
        { new ClinicEvent.PersonEnded(PeopleStory.Chief), ClinicRefusal.LastAdministrator },
        { new ClinicEvent.PersonEnded(PersonId.Of("x")), ClinicRefusal.UnknownPerson },
        { new ClinicEvent.SignedIn(PersonId.Of("x"), SignInWay.Pin, ""), ClinicRefusal.UnknownPerson },
        { new ClinicEvent.DeviceEnrolled(PeopleStory.Tablet, "T", DeviceKind.Tablet, null), ClinicRefusal.DeviceAlreadyThere },
        { new ClinicEvent.DeviceEnrolled(DeviceId.Of("t"), "T", DeviceKind.Tablet, BenchId.Of("none")), ClinicRefusal.UnknownBench },
        { new ClinicEvent.DeviceRevoked(PeopleStory.Tablet), ClinicRefusal.UnknownDevice },
        { new ClinicEvent.KeyRevoked(DeviceId.Of("key-0001")), ClinicRefusal.UnknownKey },
        { new ClinicEvent.KeyMade(DeviceId.Of("k"), "K", [], null), ClinicRefusal.NameMissing },
    };

    [Theory]
    [MemberData(nameof(Refused))]
    public void Record_AgainstARule_RefusedWithItsReason(ClinicEvent happened, ClinicRefusal why)
    {
        PeopleStory.Tell(log);

        Assert.Equal(why, Assert.IsType<ClinicOutcome.Refused>(Record(happened)).Why);
    }

    [Fact]
    public void Failures_OfUnknownDevices_DoNotCountOnTheTablet()
    {
        PeopleStory.Tell(log);
        Record(new ClinicEvent.DeviceEnrolled(DeviceId.Of("tablet-2"), "T", DeviceKind.Tablet, null));

        for (var tries = 0; tries < 3; tries++)
            Record(new ClinicEvent.SignInRefused(PeopleStory.Chief, SignInWay.Password, SignInFault.Wrong, "192.0.2.1"), "browser");
        Record(new ClinicEvent.SignInRefused(PeopleStory.Chief, SignInWay.Pin, SignInFault.Wrong, "192.0.2.1"), "tablet-2");
        Record(new ClinicEvent.SignedIn(PeopleStory.Chief, SignInWay.Pin, "192.0.2.1"), "tablet-2");

        Assert.Equal(3, log.People.Failures[(PeopleStory.Chief, SignInWay.Password, "")]);
        Assert.DoesNotContain(log.People.Failures.Keys, key => key.Device == "tablet-2");
    }

    [Fact]
    public void Secrets_ReplacedWithTheirEvent_AndNotWithoutIt()
    {
        PeopleStory.Tell(log);
        var store = new PeopleStore(file, log);
        var owner = PeopleStory.Aide.Value;

        store.Record([new ClinicEvent.SecretSet(PeopleStory.Aide, SecretKind.Pin)], Touch(), [new Secret(owner, SecretKind.Pin, "h1")]);
        store.Record([new ClinicEvent.SecretSet(PeopleStory.Aide, SecretKind.Pin)], Touch(), [new Secret(owner, SecretKind.Pin, "h2")]);
        store.Record([new ClinicEvent.SecretSet(PersonId.Of("x"), SecretKind.Pin)], Touch(), [new Secret(owner, SecretKind.Pin, "h3")]);

        Assert.Equal("h2", store.Find(owner, SecretKind.Pin)!.Hash);
        Assert.Null(store.Find(owner, SecretKind.Password));
    }

    [Fact]
    public void Locked_ReportThenSettled_StandsAsUncheckedUntilThen()
    {
        var entries = PeopleStory.TellLockedTablet();
        var before = entries.Take(entries.Count - 1).Aggregate((BenchState?)null, LiveBench.Apply)!;
        var after = LiveBench.Apply(before, entries[^1]);

        Assert.Equal(PeopleStory.Tablet, Assert.Single(before.Unchecked).Device);
        Assert.Empty(after.Unchecked);
        Assert.Contains(entries, entry => entry.Event is BenchEvent.IdentityNotChecked);
    }

    [Fact]
    public void Undo_OfUncheckedReport_KeepsTheMark()
    {
        var entries = PeopleStory.TellLockedTablet();
        var mixed = entries.Single(entry => entry.Event is BenchEvent.Mixed);
        var state = entries.TakeWhile(entry => entry.Event is not BenchEvent.Discarded).Aggregate((BenchState?)null, LiveBench.Apply)!;

        var undone = LiveBench.Apply(state, new BenchEntry(new BenchEvent.ReportUndone(mixed.Touch.Id), Rows.Touch(50)));

        Assert.Equal(mixed.Touch.Id, Assert.Single(undone.Unchecked).Report);
    }

    private ClinicOutcome Record(ClinicEvent happened, string device = "server") =>
        log.Record(happened, Touch() with { Device = DeviceId.Of(device) });

    private Touch Touch() => Rows.Touch(++commands);
}
