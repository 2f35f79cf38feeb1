using Incubation.Model;
using Xunit;
using static Incubation.Bench.Tests.Scene;

namespace Incubation.Bench.Tests;

/// <summary>
/// An amendment that waits for a second person: until then neither value is used; never decided by who entered it.
/// </summary>
public sealed class SecondLookTest
{
    private static readonly PersonId Second = new("second");

    private readonly Scene scene = ReadResults.Of("160");

    public SecondLookTest()
    {
        scene.Say(690, new BenchCommand.TellCritical(R("R1"), "Dr. Invented", true));
        scene.Say(700, Propose("16"));
    }

    [Fact]
    public void Proposed_TheResultIsHeldAndStaysWhatItWas()
    {
        var cartridge = scene.Find("R1");
        Assert.Equal(new ResultUse(ResultHold.AmendmentWaits, false, false), cartridge.Use);
        Assert.True(cartridge.IsHeld);
        Assert.Equal(new ReadResult.Measured("160", "mg/L"), cartridge.Result);
        Assert.Equal(new AmendmentProposal(new ReadResult.Measured("160", "mg/L"),
            new ReadResult.Measured("16", "mg/L"), "Typing", AmendmentReason.Typed, At(700), new PersonId("aide")),
            cartridge.Status!.Proposal);
        // Nobody is told of a value that may be wrong; what was told of the first still stands.
        Assert.Null(cartridge.Telling);
        Assert.Equal(TellingCause.Correction, cartridge.TellingAfter(cartridge.Status.Proposal!.After)!.Cause);
    }

    [Fact]
    public void Looked_ByWhoEnteredIt_OrUnchecked_OrWithoutWords_IsRefused()
    {
        Assert.Equal(new Decision.Refused(Refusal.OwnAmendment, "R1"),
            scene.Say(710, new BenchCommand.ConfirmAmendment(R("R1"), "Compared")));
        Assert.Equal(new Decision.Refused(Refusal.OwnAmendment, "R1"), scene.Say(710,
            new BenchCommand.DeclineAmendment(R("R1"), "Compared"), new PersonId("aide"), Identity.NotChecked));
        Assert.Equal(new Decision.Refused(Refusal.OwnAmendment, "R1"), scene.Say(710,
            new BenchCommand.ConfirmAmendment(R("R1"), "Compared"), Second, Identity.NotChecked));
        Assert.Equal(new Decision.Refused(Refusal.ReasonMissing),
            scene.Say(710, new BenchCommand.ConfirmAmendment(R("R1"), " "), Second));
    }

    /// <summary>A clinic with one supervisor would have no way back from a slip.</summary>
    [Fact]
    public void TakenBack_ByWhoEnteredIt_LeavesTheResultAsItWas()
    {
        RevisingTest.Accept(scene.Say(710, new BenchCommand.DeclineAmendment(R("R1"), "I read the wrong line")));
        Assert.Equal(ResultHold.None, scene.Find("R1").Use.Hold);
        Assert.Equal(new ReadResult.Measured("160", "mg/L"), scene.Find("R1").Result);
        Assert.Equal(new PersonId("aide"), Assert.Single(scene.Find("R1").Status!.Declined).Look.By);
    }

    /// <summary>Which of two values is right is decided before anything else is said of the result.</summary>
    [Fact]
    public void Waiting_NothingElseIsSaidOfTheResult()
    {
        var waits = new Decision.Refused(Refusal.AmendmentWaits, "R1");
        Assert.Equal(waits, scene.Say(710, new BenchCommand.ReleaseResult(R("R1"), "The label was read again")));
        Assert.Equal(waits, scene.Say(710, new BenchCommand.AmendResult(R("R1"), new ShownResult.Value("17"), "x")));
        Assert.Equal(waits, scene.Say(710, Propose("17")));
        scene.Say(720, new BenchCommand.ResultEntered(R("R1"), new ShownResult.Value("18"),
            new ShownIdentity("SP-R1")));
        Assert.Equal(ResultHold.AmendmentWaits, scene.Find("R1").Use.Hold);
    }

    /// <summary>ISO 15189:2022, 7.4.1.8 (who made an amendment, and when; users are told); from memory.</summary>
    [Fact]
    public void Confirmed_ByAnother_IsMadeWithBothPeopleAndTimesAndMustBeTold()
    {
        scene.Say(710, new BenchCommand.ConfirmAmendment(R("R1"), "The reader's memory says 16"), Second);
        var cartridge = scene.Find("R1");
        Assert.Equal(new ReadResult.Measured("16", "mg/L"), cartridge.Result);
        Assert.Equal(ResultHold.None, cartridge.Use.Hold);
        var earlier = Assert.Single(cartridge.Status!.Earlier);
        Assert.Equal((At(700), new PersonId("aide"), "Typing"), (earlier.At, earlier.By, earlier.Why));
        Assert.Equal(new SecondLook("The reader's memory says 16", At(710), Second), earlier.Second);
        Assert.Equal(earlier.Second, ResultValue.All(cartridge.Result!, cartridge.Status)[^1].Second);
        Assert.Equal(TellingCause.Correction, cartridge.Telling!.Cause);
        Assert.Equal(new Decision.Refused(Refusal.NoAmendmentWaits, "R1"),
            scene.Say(720, new BenchCommand.DeclineAmendment(R("R1"), "Again"), Second));
    }

    [Fact]
    public void Declined_ByAnother_TheFirstValueIsUsedAgainAndTheOtherIsKept()
    {
        scene.Say(710, new BenchCommand.DeclineAmendment(R("R1"), "The reader's memory says 160"), Second);
        var cartridge = scene.Find("R1");
        Assert.True(cartridge.Use.IsReported);
        Assert.Equal(new ReadResult.Measured("160", "mg/L"), cartridge.Result);
        Assert.Null(cartridge.Telling);
        var declined = Assert.Single(cartridge.Status!.Declined);
        Assert.Equal((new PersonId("aide"), At(700)), (declined.Proposal.By, declined.Proposal.At));
        Assert.Equal(new SecondLook("The reader's memory says 160", At(710), Second), declined.Look);
    }

    /// <summary>A value that cannot be is held by its question once it is confirmed.</summary>
    [Fact]
    public void Confirmed_ToAValueThatCannotBe_IsHeldByItsQuestion()
    {
        scene.Say(710, new BenchCommand.DeclineAmendment(R("R1"), "No"), Second);
        scene.Say(720, Propose("<150"));
        scene.Say(730, new BenchCommand.ConfirmAmendment(R("R1"), "So it is shown"), Second);
        Assert.Equal(ResultHold.ImpossibleValue, scene.Find("R1").Use.Hold);
    }

    private static BenchCommand.ProposeAmendment Propose(string value) =>
        new(R("R1"), new ShownResult.Value(value), "Typing", AmendmentReason.Typed);
}
