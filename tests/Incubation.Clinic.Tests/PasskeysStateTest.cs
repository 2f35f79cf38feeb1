using Incubation.Clinic.People;
using Incubation.Clinic.TestKit;
using Incubation.Model;
using Xunit;

namespace Incubation.Clinic.Tests;

/// <summary>Passkeys: what may be said of them, and what they leave.</summary>
public sealed class PasskeysStateTest
{
    private readonly MemoryClinic clinic = new(PeopleStory.Commands);
    private int commands = 100;

    private static ClinicEvent.PasskeyAdded New => PeopleStory.Passkey with
    {
        Passkey = DeviceId.Of("passkey-9"),
        Credential = "Y3JlZGVudGlhbC05",
    };

    private PasskeysState Passkeys => clinic.People.Passkeys;

    [Fact]
    public void Story_Told_OneIsGoodAndOneRemoved()
    {
        var good = Assert.Single(Passkeys.Of(PeopleStory.Chief));
        Assert.Equal(("Laptop", 4, "clinic.example"), (good.Name, good.Count, Passkeys.Domain));
        Assert.NotNull(good.UsedAt);
        Assert.Null(Passkeys.Find(PeopleStory.Phone.Passkey));
        Assert.Null(Passkeys.Find(PeopleStory.Phone.Credential));
        Assert.Equal(PeopleStory.Chief, Passkeys.PersonOf(PeopleStory.Passkey.Handle));
    }

    public static TheoryData<ClinicEvent, ClinicRefusal> Refused => new()
    {
        { New with { Person = PersonId.Of("x") }, ClinicRefusal.UnknownPerson },
        { New with { Name = " " }, ClinicRefusal.NameMissing },
        { New with { Passkey = PeopleStory.Phone.Passkey }, ClinicRefusal.PasskeyAlreadyThere },
        { New with { Credential = PeopleStory.Passkey.Credential }, ClinicRefusal.PasskeyAlreadyThere },
        { New with { Domain = "other.example" }, ClinicRefusal.PasskeyDomainDiffers },
        { New with { Handle = "another" }, ClinicRefusal.PasskeyImpossible },
        { New with { Person = PeopleStory.Aide }, ClinicRefusal.PasskeyImpossible },
        { New with { Credential = "" }, ClinicRefusal.PasskeyImpossible },
        { New with { Credential = new string('A', PasskeysState.LongestCredential + 1) },
            ClinicRefusal.PasskeyImpossible },
        { New with { PublicKey = new string('A', PasskeysState.LongestPublicKey + 1) },
            ClinicRefusal.PasskeyImpossible },
        { New with { Count = -1 }, ClinicRefusal.PasskeyImpossible },
        { New with { Count = uint.MaxValue + 1L }, ClinicRefusal.PasskeyImpossible },
        { New with { Transports = [.. Enumerable.Repeat("usb", 9)] }, ClinicRefusal.PasskeyImpossible },
        { New with { Transports = [""] }, ClinicRefusal.PasskeyImpossible },
        { new ClinicEvent.PasskeyUsed(PeopleStory.Phone.Passkey, 0), ClinicRefusal.UnknownPasskey },
        { new ClinicEvent.PasskeyRemoved(PeopleStory.Phone.Passkey), ClinicRefusal.UnknownPasskey },
    };

    [Theory]
    [MemberData(nameof(Refused))]
    public void Record_AgainstARule_RefusedWithItsReason(ClinicEvent happened, ClinicRefusal why)
    {
        Record(new ClinicEvent.PersonResumed(PeopleStory.Aide));

        Assert.Equal(why, Assert.IsType<ClinicDecision.Refused>(Record(happened)).Why);
    }

    /// <summary>W3C Web Authentication level 3, 7.2, step 22.</summary>
    [Theory]
    [InlineData(5, true)]
    [InlineData(4, false)]
    [InlineData(3, false)]
    [InlineData(0, false)]
    public void Used_AfterFour_OnlyWhereItHasCountedOn(long count, bool isTaken)
    {
        var decision = Record(new ClinicEvent.PasskeyUsed(PeopleStory.Passkey.Passkey, count));

        Assert.Equal(isTaken, decision is ClinicDecision.Accepted);
        Assert.Equal(isTaken ? count : 4, Passkeys.Find(PeopleStory.Passkey.Passkey)!.Count);
    }

    [Fact]
    public void Used_ByOneThatCountsNothing_TakenEachTime()
    {
        Record(New with { Count = 0 });

        Assert.IsType<ClinicDecision.Accepted>(Record(new ClinicEvent.PasskeyUsed(New.Passkey, 0)));
        Assert.IsType<ClinicDecision.Accepted>(Record(new ClinicEvent.PasskeyUsed(New.Passkey, 0)));
        Assert.IsType<ClinicDecision.Accepted>(Record(new ClinicEvent.PasskeyUsed(New.Passkey, 1)));
        Assert.IsType<ClinicDecision.Refused>(Record(new ClinicEvent.PasskeyUsed(New.Passkey, 0)));
    }

    [Fact]
    public void Domain_LastPasskeyRemoved_TheNextOneFixesItAnew()
    {
        Record(new ClinicEvent.PasskeyRemoved(PeopleStory.Passkey.Passkey));
        Assert.Null(Passkeys.Domain);

        Assert.IsType<ClinicDecision.Accepted>(Record(New with { Domain = "other.example" }));
        Assert.Equal("other.example", Passkeys.Domain);
    }

    [Fact]
    public void Added_BeyondTheMost_Refused()
    {
        for (var more = 1; more < PasskeysState.MostOfAPerson; more++)
            Assert.IsType<ClinicDecision.Accepted>(Record(New with
            {
                Passkey = DeviceId.Of($"more-{more}"),
                Credential = $"more-{more}",
            }));

        Assert.Equal(ClinicRefusal.TooManyPasskeys, Assert.IsType<ClinicDecision.Refused>(Record(New)).Why);
    }

    [Fact]
    public void AccessEnded_PasskeysGoWithIt()
    {
        Record(new ClinicEvent.PersonAdded(PersonId.Of("nora"), "Nora", Role.Administrator));
        Record(new ClinicEvent.SecretSet(PersonId.Of("nora"), SecretKind.Password));

        Assert.IsType<ClinicDecision.Accepted>(Record(new ClinicEvent.PersonEnded(PeopleStory.Chief)));

        Assert.Empty(Passkeys.Of(PeopleStory.Chief));
        Assert.Null(Passkeys.Domain);
    }

    private ClinicDecision Record(ClinicEvent happened) => clinic.Record(happened, StoryProvenance.Of(++commands));
}
