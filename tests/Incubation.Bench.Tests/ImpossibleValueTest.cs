using Incubation.Model;
using Xunit;
using static Incubation.Bench.Tests.Scene;

namespace Incubation.Bench.Tests;

/// <summary>
/// A value that cannot be is recorded and held with its question: never refused, never judged (ISO 15189:2022, 7.4.1.2:
/// results are reviewed before they are released; from memory).
/// </summary>
public sealed class ImpossibleValueTest
{
    [Theory]
    [InlineData(RequestKind.Patient, "<200", ValueQuestion.LessThanInside)]
    [InlineData(RequestKind.Patient, ">0.5", ValueQuestion.MoreThanInside)]
    [InlineData(RequestKind.Patient, "5000", ValueQuestion.AboveRange)]
    [InlineData(RequestKind.Patient, "1.000,5", ValueQuestion.NotOneNumber)]
    [InlineData(RequestKind.Control, "1,234", ValueQuestion.NotOneNumber)]
    [InlineData(RequestKind.Control, "<200", ValueQuestion.LessThanInside)]
    [InlineData(RequestKind.Control, "0.1", ValueQuestion.BelowRange)]
    public void Entered_AnImpossibleValue_IsRecordedAndHeld(RequestKind kind, string value, ValueQuestion question)
    {
        var scene = ReadResults.Of(value, kind);
        var cartridge = scene.Find("R1");
        Assert.Equal(new ReadResult.Measured(value, "mg/L"), cartridge.Result);
        Assert.Equal(question, cartridge.Status!.Question);
        Assert.True(cartridge.IsHeld);
        Assert.Equal(new ResultUse(ResultHold.ImpossibleValue, false, false), cartridge.Use);
        Assert.True(scene.Entries.Select(entry => entry.Event).OfType<BenchEvent.ResultEntered>().Single().Held);
    }

    [Theory]
    [InlineData("<0.5")]
    [InlineData(">200")]
    [InlineData("4.256")]
    public void Entered_APossibleValue_IsNotAsked(string value) =>
        Assert.Equal(ResultHold.None, ReadResults.Of(value).Find("R1").Use.Hold);

    /// <summary>An old log has no such question: what went out then stays out, reported as it was.</summary>
    [Fact]
    public void Replayed_AnOldEntry_StaysOut()
    {
        var scene = ReadResults.Of("5000");
        var old = scene.Entries.Where(entry => entry.Event is not BenchEvent.ResultQuestioned)
            .Aggregate((BenchState?)null, LiveBench.Apply)!;
        Assert.True(old.Find(R("R1"))!.Use.IsReported);
        Assert.Equal("> 200.0", old.Find(R("R1"))!.Marked!.Reported);
    }

    [Fact]
    public void Released_ByASupervisor_GoesOut()
    {
        var scene = ReadResults.Of("<200");
        scene.Say(700, new BenchCommand.ReleaseResult(R("R1"), "The reader shows it so"));
        Assert.True(scene.Find("R1").Use.IsReported);
        Assert.Equal(new ResultRelease("The reader shows it so", At(700), new PersonId("aide")),
            scene.Find("R1").Status!.Release);
    }

    /// <summary>
    /// That nobody need be told was said of a value that was not to go out: once it does, somebody is told, or a
    /// supervisor says so anew. A release of a former version left it said.
    /// </summary>
    [Fact]
    public void Released_AfterItWasSaidThatNobodyNeedBeTold_MustBeTold()
    {
        var scene = ReadResults.Of("5000");
        scene.Say(690, new BenchCommand.WaiveTelling(R("R1"), "It cannot be."));
        Assert.False(scene.Find("R1").MustBeTold);
        scene.Say(700, new BenchCommand.ReleaseResult(R("R1"), "Diluted and run again"));
        Assert.Equal(TellingCause.Critical, scene.Find("R1").Telling?.Cause);
        scene.Say(710, new BenchCommand.WaiveTelling(R("R1"), "The doctor stood beside."));
        Assert.False(scene.Find("R1").MustBeTold);

        var old = scene.Entries.Select(entry => entry.Event is BenchEvent.ResultReleased released
            ? entry with { Event = released with { EndsWaiver = null } } : entry)
            .SkipLast(1).Aggregate((BenchState?)null, LiveBench.Apply)!;
        Assert.False(old.Find(R("R1"))!.MustBeTold);
    }

    /// <summary>As it is nobody could know what goes out; the number that the reader shows may.</summary>
    [Fact]
    public void Released_WhatIsMoreThanOneNumber_IsRefusedUntilAmended()
    {
        var scene = ReadResults.Of("1.000,5");
        Assert.Equal(new Decision.Refused(Refusal.NotOneNumber, "1.000,5"),
            scene.Say(700, new BenchCommand.ReleaseResult(R("R1"), "The reader shows it so")));
        scene.Say(710, new BenchCommand.AmendResult(R("R1"), new ShownResult.Value("100.5"), "A program's number"));
        Assert.True(scene.Find("R1").Use.IsReported);
    }

    [Fact]
    public void Amended_ToAPossibleValue_TheQuestionEnds()
    {
        var scene = ReadResults.Of("<200");
        scene.Say(700, new BenchCommand.AmendResult(R("R1"), new ShownResult.Value("20"), "Typing"));
        Assert.Null(scene.Find("R1").Status!.Question);
        Assert.True(scene.Find("R1").Use.IsReported);
    }

    [Fact]
    public void Amended_ToAnotherImpossibleValue_IsAskedStill()
    {
        var scene = ReadResults.Of("<200");
        scene.Say(700, new BenchCommand.AmendResult(R("R1"), new ShownResult.Value(">100"), "Typing"));
        Assert.Equal(ValueQuestion.MoreThanInside, scene.Find("R1").Status!.Question);
        Assert.True(scene.Find("R1").IsHeld);
    }

    /// <summary>The release was of the value before.</summary>
    [Fact]
    public void Amended_ToAnImpossibleValueAfterARelease_IsHeldAgain()
    {
        var scene = ReadResults.Of("20", identity: ResultIdentity.Missing);
        scene.Say(700, new BenchCommand.ReleaseResult(R("R1"), "Read again"));
        scene.Say(710, new BenchCommand.AmendResult(R("R1"), new ShownResult.Value("<200"), "Typing"));
        Assert.True(scene.Find("R1").IsHeld);
        scene.Say(720, new BenchCommand.ReleaseResult(R("R1"), "So it is"));
        Assert.True(scene.Find("R1").Use.IsReported);
    }

    [Fact]
    public void Undone_AnImpossibleEntry_LeavesNoQuestion()
    {
        var scene = ReadResults.Of("<200");
        scene.Say(670, new BenchCommand.Undo(scene.Now.Undo!.Report, []));
        Assert.Null(scene.Find("R1").Result);
        Assert.Null(scene.Find("R1").Status);
    }
}
