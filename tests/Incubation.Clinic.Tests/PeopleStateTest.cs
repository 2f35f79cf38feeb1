using Incubation.Bench;
using Incubation.Clinic.People;
using Incubation.Clinic.TestKit;
using Incubation.Model;
using NodaTime;
using Xunit;

namespace Incubation.Clinic.Tests;

/// <summary>Who may do what, and what may be changed in it.</summary>
public sealed class PeopleStateTest
{
    private readonly MemoryClinic clinic = new(PeopleStory.Commands);
    private int commands = 100;

    [Fact]
    public void Story_Told_NothingRefusedAndAllOfItThere()
    {
        var people = clinic.People;
        Assert.Equal(24, people.RetentionMonths);
        Assert.Equal(new ClinicPerson(PeopleStory.Aide, "Lena", Role.Supervisor, true, false, false),
            people.Person(PeopleStory.Aide));
        Assert.True(people.Devices[PeopleStory.Tablet].IsRevoked);
        Assert.False(people.Devices[DeviceId.Of("wall-0001")].IsRevoked);
        Assert.True(Assert.Single(people.Keys.Values).IsRevoked);
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
        { new ClinicEvent.DeviceEnrolled(PeopleStory.Tablet, "T", DeviceKind.Tablet, null),
            ClinicRefusal.DeviceAlreadyThere },
        { new ClinicEvent.DeviceEnrolled(DeviceId.Of("t"), "T", DeviceKind.Tablet, BenchId.Of("none")),
            ClinicRefusal.UnknownBench },
        { new ClinicEvent.DeviceRevoked(PeopleStory.Tablet), ClinicRefusal.UnknownDevice },
        { new ClinicEvent.KeyRevoked(DeviceId.Of("key-0001")), ClinicRefusal.UnknownKey },
        { new ClinicEvent.KeyMade(DeviceId.Of("k"), "K", [], null, Today), ClinicRefusal.NameMissing },
        { new ClinicEvent.PersonAdded(PersonId.Of("x"), "X", Role.Inspector), ClinicRefusal.InspectorEndOutOfRange },
        { Admitted("x", Today.PlusDays(-1)), ClinicRefusal.InspectorEndOutOfRange },
        { Admitted("x", Today.PlusDays(ClinicPerson.MostInspectorDays + 1)), ClinicRefusal.InspectorEndOutOfRange },
        { Admitted("lena", Today), ClinicRefusal.PersonAlreadyThere },
        { Admitted("x", Today) with { Name = " " }, ClinicRefusal.NameMissing },
        { new ClinicEvent.RoleChanged(PeopleStory.Inspector, Role.Administrator), ClinicRefusal.InspectorReads },
        { new ClinicEvent.RoleChanged(PeopleStory.Aide, Role.Inspector), ClinicRefusal.InspectorReads },
        { new ClinicEvent.SecretSet(PeopleStory.Inspector, SecretKind.Pin), ClinicRefusal.InspectorReads },
        { PeopleStory.Passkey with { Passkey = DeviceId.Of("passkey-9"), Person = PeopleStory.Inspector },
            ClinicRefusal.InspectorReads },
        { Key(null), ClinicRefusal.KeyEndOutOfRange },
        { Key(Today.PlusDays(-1)), ClinicRefusal.KeyEndOutOfRange },
        { Key(Today.PlusYears(2).PlusDays(1)), ClinicRefusal.KeyEndOutOfRange },
    };

    [Theory]
    [MemberData(nameof(Refused))]
    public void Record_AgainstARule_RefusedWithItsReason(ClinicEvent happened, ClinicRefusal why)
    {
        Assert.Equal(why, Assert.IsType<ClinicDecision.Refused>(Record(happened)).Why);
    }

    [Fact]
    public void Failures_OfUnknownDevices_DoNotCountOnTheTablet()
    {
        Record(new ClinicEvent.DeviceEnrolled(DeviceId.Of("tablet-2"), "T", DeviceKind.Tablet, null));

        for (var tries = 0; tries < 3; tries++)
            Record(new ClinicEvent.SignInRefused(PeopleStory.Chief, SignInWay.Password, SignInFault.Wrong,
                "192.0.2.1"), "browser");
        Record(new ClinicEvent.SignInRefused(PeopleStory.Chief, SignInWay.Pin, SignInFault.Wrong, "192.0.2.1"),
            "tablet-2");
        Record(new ClinicEvent.SignedIn(PeopleStory.Chief, SignInWay.Pin, "192.0.2.1"), "tablet-2");

        Assert.Equal(3, clinic.People.Failures[(PeopleStory.Chief, SignInWay.Password, "")]);
        Assert.DoesNotContain(clinic.People.Failures.Keys, key => key.Device == "tablet-2");
    }

    [Fact]
    public void Key_WithItsLastDay_GoodUntilThenAndShownAsEndingSoon()
    {
        Record(Key(Today));
        Record(Key(Today.PlusYears(2)) with { Key = DeviceId.Of("k2") });
        var (soon, later) = (clinic.People.Keys[DeviceId.Of("k")], clinic.People.Keys[DeviceId.Of("k2")]);
        var old = soon with { LastDay = null };

        Assert.True(soon.IsGood(Today) && soon.EndsSoon(Today) && soon.HasEnded(Today.PlusDays(1)));
        Assert.False(soon.IsGood(Today.PlusDays(1)) || soon.EndsSoon(Today.PlusDays(1)));
        Assert.False(later.EndsSoon(Today.PlusYears(2).PlusDays(-31)));
        Assert.True(later.EndsSoon(Today.PlusYears(2).PlusDays(-30)));
        Assert.True(old.IsGood(Today.PlusYears(50)) && !old.EndsSoon(Today.PlusYears(50)));
    }

    [Fact]
    public void Inspector_AfterTheLastDay_MayNotSignInAndComesBackUnderAnotherName()
    {
        Record(Admitted("kim", Today));
        Record(Admitted("late", Today.PlusDays(ClinicPerson.MostInspectorDays)));
        var kim = clinic.People.Person(PersonId.Of("kim"))!;

        Assert.False(kim.HasEnded(Today));
        Assert.True(kim.HasEnded(Today.PlusDays(1)));
        Assert.IsType<ClinicDecision.Accepted>(Record(new ClinicEvent.PersonEnded(kim.Id)));
        Assert.IsType<ClinicDecision.Accepted>(Record(new ClinicEvent.PersonResumed(kim.Id)));
        foreach (var late in (ClinicEvent[])[new ClinicEvent.PersonResumed(kim.Id),
            new ClinicEvent.SignedIn(kim.Id, SignInWay.Password, "192.0.2.7")])
        {
            var tomorrow = Provenance();
            Assert.Equal(ClinicRefusal.InspectorEndOutOfRange, Assert.IsType<ClinicDecision.Refused>(clinic.Record(late,
                tomorrow with { Arrived = tomorrow.Arrived + Duration.FromDays(1) })).Why);
        }
    }

    /// <summary>Each right that there is and that will be: whoever inspects has those to read and no other.</summary>
    [Theory]
    [InlineData(SignInWay.Password)]
    [InlineData(SignInWay.Passkey)]
    [InlineData(SignInWay.Pin)]
    public void May_OfAnInspector_ReadsAlone(SignInWay way)
    {
        var session = new Session("s", PeopleStory.Inspector, way, null, DeviceId.Of("browser-1"), default, default);
        var tablet = new ClinicDevice(PeopleStory.Tablet, "T", DeviceKind.Tablet, null, default, PeopleStory.Chief,
            false);
        foreach (var on in (ClinicDevice?[])[null, tablet])
            Assert.Equal([Right.Look, Right.ReadEvents, Right.SeeRecord, Right.SeeStock, Right.SeeReports],
                Enum.GetValues<Right>().Where(right => Access.May(
                    new Actor.Person(clinic.People.Person(PeopleStory.Inspector)!, session, on), right)));
    }

    private static ClinicEvent.InspectorAdmitted Admitted(string id, LocalDate lastDay) =>
        new(PersonId.Of(id), "Kim", lastDay);

    private static LocalDate Today =>
        StoryProvenance.Of(1).Arrived.InZone(DateTimeZoneProviders.Tzdb["Europe/Berlin"]).Date;

    private static ClinicEvent.KeyMade Key(LocalDate? lastDay) =>
        new(DeviceId.Of("k"), "K", [KeyScope.Look], null, lastDay);

    private ClinicDecision Record(ClinicEvent happened, string device = "server") =>
        clinic.Record(happened, Provenance() with { Device = DeviceId.Of(device) });

    private Provenance Provenance() => StoryProvenance.Of(++commands);
}
