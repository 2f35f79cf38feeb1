using Incubation.Service.People;
using Microsoft.Extensions.Configuration;
using Microsoft.Extensions.Time.Testing;

namespace Incubation.Service.Tests.People;

/// <summary>Challenges: each once, for a few minutes, and never more than so many.</summary>
public sealed class PasskeyChallengesTest
{
    private readonly FakeTimeProvider time = new(new DateTimeOffset(2026, 3, 2, 8, 0, 0, TimeSpan.Zero));
    private readonly PasskeyChallenges challenges;

    public PasskeyChallengesTest() => challenges = new PasskeyChallenges(time);

    [Fact]
    public void Take_Twice_OnceThere()
    {
        var ticket = challenges.Keep(new PasskeyChallenge("one"), "here");

        Assert.Equal("one", challenges.Take(ticket)!.State);
        Assert.Null(challenges.Take(ticket));
        Assert.Null(challenges.Take(null));
        Assert.Null(challenges.Take("another"));
    }

    [Fact]
    public void Take_AfterItsTime_Gone()
    {
        var late = challenges.Keep(new PasskeyChallenge("late"), "here");
        time.Advance(PasskeyChallenges.Lasts.ToTimeSpan());
        Assert.Null(challenges.Take(late));

        challenges.Keep(new PasskeyChallenge("old"), "here");
        time.Advance(PasskeyChallenges.Lasts.ToTimeSpan());
        challenges.Keep(new PasskeyChallenge("new"), "here");
        Assert.Equal(1, challenges.Count);
    }

    [Fact]
    public void Keep_ManyOfOnePlace_TheOldestOfThatPlaceGoes()
    {
        var other = challenges.Keep(new PasskeyChallenge("other"), "there");
        List<string> tickets = [.. Enumerable.Range(0, PasskeyChallenges.MostOfAPlace + 1)
            .Select(number => challenges.Keep(new PasskeyChallenge($"{number}"), "here"))];

        Assert.Equal(PasskeyChallenges.MostOfAPlace + 1, challenges.Count);
        Assert.Null(challenges.Take(tickets[0]));
        Assert.NotNull(challenges.Take(tickets[1]));
        Assert.NotNull(challenges.Take(other));
    }

    [Fact]
    public void Keep_ManyPlaces_ThePlaceWithMostLosesItsOldest()
    {
        var mine = challenges.Keep(new PasskeyChallenge("mine"), "mine");
        var flood = challenges.Keep(new PasskeyChallenge("flood"), "place 0");
        for (var number = 0; number < 3 * PasskeyChallenges.Most; number++)
            challenges.Keep(new PasskeyChallenge("flood"), $"place {number % 100}");

        Assert.Equal(PasskeyChallenges.Most, challenges.Count);
        Assert.Null(challenges.Take(flood));
        Assert.NotNull(challenges.Take(mine));
    }

    [Theory]
    [InlineData("https://clinic.example")]
    [InlineData("clinic.example:5443")]
    [InlineData("192.0.2.7")]
    [InlineData("a b")]
    public void ReadDomain_ThatIsNone_Sentence(string domain)
    {
        List<string> faults = [];
        PasskeySettings.Read(new ConfigurationManager { ["Incubation:PasskeyDomain"] = domain }, faults);
        Assert.Contains("not a domain name", Assert.Single(faults), StringComparison.Ordinal);
    }

    [Fact]
    public void ReadDomain_Stated_InSmallLetters()
    {
        List<string> faults = [];
        Assert.Equal("clinic.example", PasskeySettings.Read(
            new ConfigurationManager { ["Incubation:PasskeyDomain"] = " Clinic.Example " }, faults).Domain);
        Assert.Null(PasskeySettings.Read(new ConfigurationManager(), faults).Domain);
        Assert.Equal("localhost",
            PasskeySettings.Read(new ConfigurationManager { ["Incubation:Demo"] = "demo" }, faults).Domain);
        Assert.Empty(faults);
    }
}
