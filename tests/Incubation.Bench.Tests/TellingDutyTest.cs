using Incubation.Model;
using Xunit;
using static Incubation.Bench.Tests.Scene;

namespace Incubation.Bench.Tests;

/// <summary>
/// A duty to tell, once there, ends by telling or by a supervisor's reason alone (ISO 15189:2022, 7.4.1.3 and 7.4.1.8;
/// 42 CFR 493.1291(g) and (k)(1)–(2): corrected reports go promptly to who ordered or uses them; from memory).
/// </summary>
public sealed class TellingDutyTest
{
    [Fact]
    public void Entered_ACriticalValue_MustBeTold()
    {
        var scene = ReadResults.Of("160");
        Assert.Equal(new TellingDuty(TellingCause.Critical, null), scene.Find("R1").Telling);
        Assert.Null(ReadResults.Of("160", RequestKind.Control).Find("R1").Telling);
    }

    /// <summary>Amending an untold critical value removed the duty, and the batch could be closed.</summary>
    [Fact]
    public void Amended_AnUntoldCriticalToAHarmlessOne_MustStillBeTold()
    {
        var scene = ReadResults.Of(">200");
        Amend(scene, 700, "16");
        Assert.Equal(new TellingDuty(TellingCause.EarlierCritical, null, new ReadResult.Measured(">200", "mg/L")),
            scene.Find("R1").Telling);
        Assert.Equal(new Decision.Refused(Refusal.CriticalNotTold), scene.Say(705, new BenchCommand.CloseBatch()));
        Amend(scene, 706, "17");
        Assert.True(scene.Find("R1").MustBeTold);
        scene.Say(710, new BenchCommand.TellCritical(R("R1"), "Dr. Invented", true));
        Assert.False(scene.Find("R1").MustBeTold);
        Assert.IsType<Decision.Accepted>(scene.Say(720, new BenchCommand.CloseBatch()));
    }

    /// <summary>160 told to a named doctor, then 16: the doctor is to be told the correction.</summary>
    [Theory]
    [InlineData("160", "16")]
    [InlineData("160", "170")]
    [InlineData("16", "17")]
    public void Amended_AValueThatSomebodyWasTold_TheCorrectionMustBeTold(string value, string amended)
    {
        var scene = ReadResults.Of(value);
        scene.Say(700, new BenchCommand.TellCritical(R("R1"), "Dr. Invented", true));
        Amend(scene, 710, amended);
        var told = new CriticalNotice("Dr. Invented", At(700), new PersonId("aide"), true);
        Assert.Equal(new TellingDuty(TellingCause.Correction, told), scene.Find("R1").Telling);
        // Who was told of the first stays beside it.
        Assert.Equal(told, scene.Find("R1").Status!.Earlier[0].Told);
        Assert.Equal(new Decision.Refused(Refusal.CriticalNotTold), scene.Say(715, new BenchCommand.CloseBatch()));
        scene.Say(720, new BenchCommand.TellCritical(R("R1"), " dr. invented", true));
        Assert.Null(scene.Find("R1").Telling);
    }

    /// <summary>
    /// A result that was entered once more forgot who had been told of the one before, and that somebody was to be.
    /// </summary>
    [Fact]
    public void Entered_OnceMoreAfterACriticalOne_TheDutyStays()
    {
        var untold = ReadResults.Of("160");
        Assert.IsType<Decision.Accepted>(Again(untold, 700, "16"));
        Assert.Equal(TellingCause.EarlierCritical, untold.Find("R1").Telling!.Cause);
        Assert.Equal(new Decision.Refused(Refusal.CriticalNotTold), untold.Say(705, new BenchCommand.CloseBatch()));

        var told = ReadResults.Of("160");
        told.Say(700, new BenchCommand.TellCritical(R("R1"), "Dr. Invented", true));
        Again(told, 705, "160");
        Assert.Null(told.Find("R1").Telling);
        Again(told, 710, "16");
        Assert.Equal((TellingCause.Correction, "Dr. Invented"),
            (told.Find("R1").Telling!.Cause, told.Find("R1").Telling!.Known!.Whom));
        Assert.Equal([At(660), At(710)], ResultValue.All(told.Find("R1").Result!, told.Find("R1").Status!)
            .Select(value => value.At));

        // What nobody was told of, and nobody had to be, was typed wrongly and no more.
        var plain = ReadResults.Of("16");
        Again(plain, 700, "17");
        Assert.Empty(plain.Find("R1").Status!.Earlier);
        Assert.Equal((new ReadResult.Measured("16", "mg/L"), At(700)), (plain.Find("R1").Status!.Replaced[0].Was,
            plain.Find("R1").Status!.Replaced[0].At));

        static Decision Again(Scene scene, int at, string value) => scene.Say(at,
            new BenchCommand.ResultEntered(R("R1"), new ShownResult.Value(value)));
    }

    /// <summary>
    /// That a cartridge was never read took its result away, and with it that somebody must be told of it, or knew it.
    /// </summary>
    [Fact]
    public void TakenBack_AResultThatSomebodyKnowsOrMust_IsRefused()
    {
        var known = new Decision.Refused(Refusal.ResultKnown, "SP-R1");
        var untold = ReadResults.Of("160");
        Assert.Equal(known, Never(untold, 700));
        Assert.Equal(known, untold.Say(701, new BenchCommand.Undo(untold.Now.Undo!.Report)));
        Assert.Null(Revisions.Undoable(untold.Now, untold.Now.Undo!.Device));
        untold.Say(702, new BenchCommand.WaiveTelling(R("R1"), "It is another's"));
        Assert.IsType<Decision.Accepted>(Never(untold, 703));
        Assert.Null(untold.Find("R1").Result);

        // Who was told a value is told that there is none.
        var told = ReadResults.Of("16");
        told.Say(700, new BenchCommand.TellCritical(R("R1"), "Dr. Invented", true));
        Assert.Equal(known, Never(told, 705));
        told.Say(706,
            new BenchCommand.AmendResult(R("R1"), new ShownResult.NoValue("not read"), "It is another's"));
        Assert.Equal(known, Never(told, 707));
        told.Say(708, new BenchCommand.TellCritical(R("R1"), "Dr. Invented", true));
        Assert.IsType<Decision.Accepted>(Never(told, 709));

        var waits = ReadResults.Of("16");
        waits.Say(700, new BenchCommand.ProposeAmendment(R("R1"), new ShownResult.Value("17"), "Misread"));
        Assert.Equal(known, Never(waits, 705));

        var plain = ReadResults.Of("16");
        Assert.IsType<Decision.Accepted>(Never(plain, 700));

        static Decision Never(Scene scene, int at) => scene.Say(at, new BenchCommand.CorrectReport(
            scene.Now.Story.Find(told => told.Event is BenchEvent.ReadStarted)!.Id, null, null, null,
            "It was another", true));
    }

    /// <summary>What was thrown away after its result was in kept it until another report was corrected.</summary>
    [Fact]
    public void Discarded_AfterACriticalResult_MustStillBeTold_WhateverIsCorrected()
    {
        var scene = ReadResults.Of("160");
        scene.Say(700, new BenchCommand.Discarded(R("R1"), DiscardReason.Dropped, null));
        Assert.Equal(TellingCause.Critical, scene.Find("R1").Telling!.Cause);
        Assert.IsType<Decision.Accepted>(scene.Say(710, new BenchCommand.CorrectReport(
            scene.Now.Story.Find(told => told.Event is BenchEvent.Mixed)!.Id, At(1), null, null, "The wall clock")));
        Assert.Equal(TellingCause.Critical, scene.Find("R1").Telling!.Cause);
    }

    [Fact]
    public void Told_TheCorrectionToAnother_NeedsAReason()
    {
        var scene = ReadResults.Of("160");
        scene.Say(700, new BenchCommand.TellCritical(R("R1"), "Dr. Invented", true));
        Amend(scene, 710, "16");
        Assert.Equal(new Decision.Refused(Refusal.OtherPersonUnexplained, "Dr. Invented"),
            scene.Say(720, new BenchCommand.TellCritical(R("R1"), "Nurse", true, " ")));
        scene.Say(730, new BenchCommand.TellCritical(R("R1"), "Nurse", true, "The doctor is on leave"));
        Assert.Null(scene.Find("R1").Telling);
        Assert.Equal("The doctor is on leave", scene.Find("R1").Status!.Told!.Why);
        // The next correction goes to who knows the last value.
        Amend(scene, 740, "15");
        Assert.Equal("Nurse", scene.Find("R1").Telling!.Known!.Whom);
    }

    [Fact]
    public void Waived_ByASupervisor_NobodyNeedBeTold()
    {
        var scene = ReadResults.Of("160");
        Assert.Equal(new Decision.Refused(Refusal.ReasonMissing),
            scene.Say(700, new BenchCommand.WaiveTelling(R("R1"), " ")));
        scene.Say(700, new BenchCommand.WaiveTelling(R("R1"), "The patient has died"));
        Assert.Null(scene.Find("R1").Telling);
        Assert.Equal(new TellingWaiver("The patient has died", At(700), new PersonId("aide")),
            scene.Find("R1").Status!.Waived);
        Assert.Equal(new Decision.Refused(Refusal.NothingToTell, "R1"),
            scene.Say(705, new BenchCommand.WaiveTelling(R("R1"), "Again")));
        // A reason holds for the value of which it was given: a new critical one must be told.
        Amend(scene, 710, "170");
        Assert.Equal(TellingCause.Critical, scene.Find("R1").Telling!.Cause);
    }

    [Fact]
    public void Waived_AnEarlierCritical_StaysSoWhenTheNextIsHarmless()
    {
        var scene = ReadResults.Of("160");
        scene.Say(700, new BenchCommand.WaiveTelling(R("R1"), "Typed into the wrong row"));
        Amend(scene, 710, "16");
        Assert.Null(scene.Find("R1").Telling);
    }

    [Fact]
    public void All_Values_SayWhenAndByWhom()
    {
        var scene = ReadResults.Of("160");
        scene.Say(700, new BenchCommand.TellCritical(R("R1"), "Dr. Invented", true));
        Amend(scene, 710, "16");
        var cartridge = scene.Find("R1");
        Assert.Equal(
            [(At(660), null, "Dr. Invented", null), (At(710), "Typing", null, AmendmentReason.Typed)],
            ResultValue.All(cartridge.Result!, cartridge.Status!)
                .Select(value => (value.At, value.Why, value.Told?.Whom, value.Reason)));
    }

    private static void Amend(Scene scene, int at, string value) => Assert.IsType<Decision.Accepted>(scene.Say(at,
        new BenchCommand.AmendResult(R("R1"), new ShownResult.Value(value), "Typing", AmendmentReason.Typed)));

    /// <summary>
    /// Whoever was told is who is to be told of a correction: another does not take their place unseen, and nobody is
    /// told of a value before it was there.
    /// </summary>
    [Fact]
    public void Told_OnceMore_OrBeforeItWasEntered_IsRefused()
    {
        var scene = ReadResults.Of("160");
        Assert.Equal(new Decision.Refused(Refusal.UnreadableTime),
            scene.Say(650, new BenchCommand.TellCritical(R("R1"), "Dr. Early", true), arrived: 700));
        Assert.IsType<Decision.Accepted>(scene.Say(700, new BenchCommand.TellCritical(R("R1"), "Dr. Invented", true)));
        Assert.Equal(new Decision.Refused(Refusal.NothingToTell, "R1"),
            scene.Say(710, new BenchCommand.TellCritical(R("R1"), "Night desk", false)));
        Assert.Equal("Dr. Invented", scene.Find("R1").Status!.Told!.Whom);
    }

    /// <summary>By a clock that has gone back since the value was entered nobody could tell otherwise.</summary>
    [Fact]
    public void Told_ByAClockThatWentBack_IsTaken()
    {
        var scene = ReadResults.Of("160");
        Assert.IsType<Decision.Accepted>(scene.Say(650, new BenchCommand.TellCritical(R("R1"), "Dr. Invented", true)));
    }
}
