using Incubation.Model.Controls;
using NodaTime;
using Xunit;

namespace Incubation.Model.Tests.Controls;

/// <summary>When controls are due, when a lot is good, when it is blocked, and when it is good again.</summary>
public sealed class LotHistoryTest
{
    private static readonly DateTimeZone Berlin = DateTimeZoneProviders.Tzdb["Europe/Berlin"];
    private static readonly Instant Eight = Instant.FromUtc(2026, 3, 2, 7, 0);
    private static readonly BenchId Bench = new("bench-1");
    private static readonly BenchId Other = new("bench-2");
    private static readonly LotCode Kit = new("KIT-1");
    private static readonly ControlPolicy Daily = new(2, EachDay: true, NewLot: false, NewShipment: false,
        AfterService: false, ControlGate.Wait);
    private static readonly ControlTarget[] Targets = [new(200, 4), new(250, 5)];
    private LotHistory history = LotHistory.Empty;
    private int count;

    [Fact]
    public void On_WithoutLevels_IsFree() =>
        Assert.IsType<LotStatus.Free>(On(ControlPolicy.None with { EachDay = true }));

    [Fact]
    public void On_WithNothingThatMakesThemDue_IsFree() =>
        Assert.IsType<LotStatus.Free>(On(Daily with { EachDay = false }));

    [Fact]
    public void EachDay_IsDueLevelByLevelUntilTheSetIsIn()
    {
        Assert.Equal(Due(1, 2), On(Daily));
        Run(1, 200);
        Assert.Equal(Due(2), On(Daily));
        Run(2, 250);
        Assert.IsType<LotStatus.Accepted>(On(Daily));
        Assert.Equal(Due(1, 2), On(Daily, bench: Other));
    }

    /// <summary>
    /// The day is the clinic's: at 23:00 UTC one in March has ended in Berlin, and not yet in London.
    /// </summary>
    [Fact]
    public void EachDay_ADayIsTheClinics()
    {
        Run(1, 200);
        Run(2, 250);
        Assert.IsType<LotStatus.Accepted>(On(Daily, now: Instant.FromUtc(2026, 3, 2, 22, 59)));
        Assert.Equal(Due(1, 2), On(Daily, now: Instant.FromUtc(2026, 3, 2, 23, 0)));
        Assert.IsType<LotStatus.Accepted>(On(Daily, now: Instant.FromUtc(2026, 3, 2, 23, 0),
            zone: DateTimeZoneProviders.Tzdb["Europe/London"]));
    }

    /// <summary>A day on which the clock goes back has 25 hours, and is one day of use.</summary>
    [Fact]
    public void EachDay_TheAutumnDay_IsOne()
    {
        var early = Instant.FromUtc(2026, 10, 24, 22, 30);
        Run(1, 200, at: early);
        Run(2, 250, at: early);
        Assert.IsType<LotStatus.Accepted>(On(Daily, now: Instant.FromUtc(2026, 10, 25, 22, 59)));
        Assert.Equal(Due(1, 2), On(Daily, now: Instant.FromUtc(2026, 10, 25, 23, 0)));
    }

    [Fact]
    public void NewLot_IsDueOnceAndNeverAgain()
    {
        var policy = Daily with { EachDay = false, NewLot = true };
        Assert.Equal(Due(1, 2), On(policy));
        Run(1, 200);
        Run(2, 250);
        Assert.IsType<LotStatus.Accepted>(On(policy, now: Eight + Duration.FromDays(400)));
    }

    [Fact]
    public void NewShipment_IsDueAgainWhenMoreHasComeIn()
    {
        var policy = Daily with { EachDay = false, NewShipment = true };
        var came = new ControlOccasions([Eight + Duration.FromHours(30), Eight - Duration.FromHours(1)], null);
        Run(1, 200);
        Run(2, 250);
        Assert.IsType<LotStatus.Accepted>(On(policy, came));
        Assert.Equal(Due(1, 2), On(policy, came, now: Eight + Duration.FromHours(30)));
    }

    [Fact]
    public void AfterService_IsDueAgain()
    {
        var policy = Daily with { EachDay = false, AfterService = true };
        Assert.IsType<LotStatus.Free>(On(policy));
        Run(1, 200);
        Run(2, 250);
        var serviced = new ControlOccasions([], Eight + Duration.FromMinutes(30));
        Assert.Equal(Due(1, 2), On(policy, serviced, now: Eight + Duration.FromHours(1)));
    }

    [Fact]
    public void Rejected_BlocksEveryBenchUntilActionAndAnAcceptedSet()
    {
        Run(1, 213);
        Run(2, 250);
        Assert.Equal(new LotStatus.Failed(true, []), On(Daily));
        Assert.Equal(new LotStatus.Failed(true, []), On(Daily, bench: Other));

        Run(1, 200); // without a corrective action a repeat makes nothing good
        Assert.Equal(new LotStatus.Failed(true, []), On(Daily));

        Act();
        Assert.Equal(new LotStatus.Failed(false, [1, 2]), On(Daily));
        Assert.Equal(new LotStatus.Failed(false, []), On(Daily, bench: Other));
        Run(2, 250);
        Assert.Equal(new LotStatus.Failed(false, [1]), On(Daily));
        Run(1, 201);
        Assert.IsType<LotStatus.Accepted>(On(Daily));
        Assert.Equal(Due(1, 2), On(Daily, bench: Other));
    }

    [Fact]
    public void Rejected_AgainAfterTheAction_AsksForAnother()
    {
        Run(1, 213);
        Act();
        Run(1, 213);
        Assert.Equal(new LotStatus.Failed(true, []), On(Daily));
        Act();
        Run(1, 200);
        Run(2, 250);
        Assert.IsType<LotStatus.Accepted>(On(Daily));
    }

    [Fact]
    public void Rejected_WithoutAPolicy_BlocksTheSame()
    {
        Run(1, 213);
        Assert.Equal(new LotStatus.Failed(true, []), On(ControlPolicy.None));
        Act();
        Run(1, 200);
        Assert.IsType<LotStatus.Free>(On(ControlPolicy.None));
    }

    [Fact]
    public void Judged_AWarning_IsAccepted()
    {
        var run = Run(1, 209);
        Assert.Equal((ControlVerdict.Accepted, ControlRule.OneTwoS), (run.Verdict, run.Violations.Single().Rule));
    }

    /// <summary>What was put right is not held against what comes after.</summary>
    [Fact]
    public void Judged_AfterACorrectiveAction_BeginsAnew()
    {
        Run(1, 209);
        Assert.Equal(ControlVerdict.Rejected, Run(1, 209).Verdict);
        Act();
        Assert.Equal(ControlVerdict.Accepted, Run(1, 209).Verdict);
    }

    [Fact]
    public void Judged_OnAnotherBench_IsNotCompared()
    {
        Run(1, 209);
        Assert.Equal(ControlVerdict.Accepted, Run(1, 209, bench: Other).Verdict);
    }

    [Theory]
    [InlineData("", ControlVerdict.NotJudged)]
    [InlineData("E-3", ControlVerdict.NotJudged)]
    [InlineData(">300", ControlVerdict.Rejected)]
    [InlineData("<10", ControlVerdict.Rejected)]
    public void Judged_WithoutANumber_IsNeverAccepted(string shown, ControlVerdict verdict) =>
        Assert.Equal(verdict, history.Judged(Unjudged(1, null) with { Shown = shown }, ControlRules.All).Verdict);

    [Fact]
    public void Judged_WithoutATarget_IsNotJudgedAndDoesNotMakeTheLotGood()
    {
        var run = Run(1, 213, target: false);
        Assert.Equal(ControlVerdict.NotJudged, run.Verdict);
        Assert.Equal(Due(1, 2), On(Daily));
    }

    /// <summary>Controls of one batch are one run until a material comes again: R-4s looks no further.</summary>
    [Fact]
    public void Judged_RunNumbers_FollowTheBatchAndTheMaterials()
    {
        Assert.Equal([1, 1, 2, 2, 3, 3],
            new[] { Run(1, 200), Run(2, 250), Run(2, 250), Run(1, 200), Run(1, 200, batch: 2),
                Run(2, 250, batch: 2) }.Select(run => run.Run));
        Act();
        Assert.Equal(4, Run(2, 250, batch: 2).Run);
    }

    [Fact]
    public void AwaitingAction_NamesWhatWasRejectedSinceTheLastAction()
    {
        var first = Run(1, 213);
        Assert.Equal([first], history.AwaitingAction);
        Act();
        Assert.Empty(history.AwaitingAction);
        Assert.Equal([Run(1, 213)], history.AwaitingAction);
    }

    [Fact]
    public void AwaitingReview_SpansFromTheLastGoodSetToTheRejection()
    {
        Run(1, 200, at: Eight);
        Run(2, 250, at: Eight + Duration.FromMinutes(1));
        Run(1, 200, at: Eight + Duration.FromHours(1)); // of the set that is rejected
        var rejected = Run(2, 270, at: Eight + Duration.FromHours(2));
        var (bench, span) = Assert.Single(history.AwaitingReview);
        Assert.Equal((Bench, (Eight + Duration.FromMinutes(1), rejected.JudgedAt)), (bench, (span.Since, span.Until)));
        Assert.Equal((1, 1), (span.SinceBatch, span.UntilBatch));
        history = history with
        {
            Reviews =
                history.Reviews.Add(new ReleasedReview(Eight, new PersonId("s"), [], "None was affected.",
                    history.Runs.Count))
        };
        Assert.Empty(history.AwaitingReview);
    }

    /// <summary>
    /// A clock that went back between the good controls and the wrong one hides nothing that went out in a batch
    /// between them, and names nothing of a batch before the good ones.
    /// </summary>
    [Theory]
    [InlineData(1, 7, false)]
    [InlineData(2, 7, false)]
    [InlineData(2, 8, true)]
    [InlineData(3, 3, true)]
    [InlineData(3, 11, true)]
    [InlineData(4, 4, true)]
    [InlineData(4, 6, false)]
    public void Holds_WhatWasEnteredByAClockThatWentBack(int batch, int hour, bool holds)
    {
        // Good in batch 2 at 8:00; the clock goes back; wrong in batch 4 at 5:00.
        var span = new ReviewSpan(Eight, Eight - Duration.FromHours(3), 2, 4);
        Assert.Equal(holds, span.Holds(batch, Eight + Duration.FromHours(hour - 8)));
    }

    /// <summary>An amended control is judged anew in its old place; what it said before opens no gate.</summary>
    [Fact]
    public void Judged_Again_SupersedesWhatItSaidBefore()
    {
        var first = Run(1, 200);
        Run(2, 250);
        Assert.IsType<LotStatus.Accepted>(On(Daily));

        var again = Again(first, 230);
        Assert.Equal((1, first.Run, ControlVerdict.Rejected), (again.Revision, again.Run, again.Verdict));
        Assert.Equal(new LotStatus.Failed(true, []), On(Daily));
        Assert.True(history.IsSuperseded(first));
        Assert.Equal([again], history.AwaitingAction);
        var span = history.AwaitingReview[Bench];
        Assert.Equal(new ReviewSpan(Instant.MinValue, again.JudgedAt, 0, 1), span);

        // It was mistyped: put right it is accepted, and nothing is asked for any more.
        Again(first, 201);
        Assert.IsType<LotStatus.Accepted>(On(Daily));
        Assert.Empty(history.AwaitingAction);
        Assert.Empty(history.AwaitingReview);
    }

    /// <summary>A judgement in its old place looks back, not forward.</summary>
    [Fact]
    public void Judged_Again_IsHeldAgainstWhatCameBeforeIt()
    {
        var first = Run(1, 200);
        Run(1, 209, batch: 2);
        Assert.Equal(ControlVerdict.Accepted, Again(first, 209).Verdict);
        // Now there are two beyond the same 2 SD, and the later one is judged with the amended first.
        Assert.Equal(ControlVerdict.Rejected, Again(history.Runs[1], 210).Verdict);
    }

    /// <summary>A control whose result waits for a person opens no gate, and what went out on it is reviewed.</summary>
    [Fact]
    public void SetAside_MakesTheLotDueAgain()
    {
        var first = Run(1, 200);
        Run(2, 250);
        var aside = history.SetAside(first, Eight + Duration.FromMinutes(30), JudgementCause.NotToBeJudged);
        history = history with { Runs = history.Runs.Add(aside) };
        Assert.Equal(Due(1), On(Daily));
        Assert.Equal(new ReviewSpan(Instant.MinValue, aside.JudgedAt, 0, 1), history.AwaitingReview[Bench]);
        Assert.Equal([2], history.Standing.Select(run => run.Control.Level));

        // Released, it is judged, and counts again.
        Again(first, 200);
        Assert.IsType<LotStatus.Accepted>(On(Daily));
        Assert.Empty(history.AwaitingReview);
    }

    /// <summary>A control from before the corrective action is no repeat, however it is amended.</summary>
    [Fact]
    public void Judged_Again_BeforeTheAction_IsNoRepeat()
    {
        var first = Run(1, 200);
        Run(2, 270);
        Act();
        Again(first, 201);
        Assert.Equal(new LotStatus.Failed(false, [1, 2]), On(Daily));
    }

    /// <summary>
    /// A control that was out of the reader before the corrective action, and was judged only after it (held and
    /// released, or entered late), shows nothing of what the action has done.
    /// </summary>
    [Fact]
    public void Judged_AfterTheAction_ButOutOfTheReaderBeforeIt_IsNoRepeat()
    {
        Run(2, 270);
        Act();
        Run(1, 200, at: Eight - Duration.FromMinutes(10));
        Run(2, 250);
        Assert.Equal(new LotStatus.Failed(false, [1]), On(Daily));
        Run(1, 200);
        Assert.IsType<LotStatus.Accepted>(On(Daily));
    }

    /// <summary>What a corrective action left to be repeated stays so when another control fails after it.</summary>
    [Fact]
    public void Rejected_AtAnotherLevelAfterTheAction_LeavesTheFirstToBeRepeated()
    {
        Run(1, 213);
        Act();
        Run(2, 270);
        Act();
        Run(2, 250);
        Assert.Equal(new LotStatus.Failed(false, [1]), On(ControlPolicy.None));
        Run(1, 200);
        Assert.IsType<LotStatus.Free>(On(ControlPolicy.None));
    }

    private ControlRun Again(ControlRun run, decimal value)
    {
        var judged = history.Judged(run with
        {
            Value = value,
            Shown = value.ToString(System.Globalization.CultureInfo.InvariantCulture),
            JudgedAt = run.JudgedAt + Duration.FromHours(2),
        }, ControlRules.All);
        history = history with { Runs = history.Runs.Add(judged) };
        return judged;
    }

    private static LotStatus.Due Due(params int[] levels) => new([.. levels]);

    private LotStatus On(ControlPolicy policy, ControlOccasions? occasions = null, BenchId? bench = null,
        Instant? now = null, DateTimeZone? zone = null) =>
        history.On(policy, bench ?? Bench, occasions ?? new ControlOccasions([], null), now
            ?? Eight + Duration.FromHours(1), zone ?? Berlin);

    private ControlRun Unjudged(int level, decimal? value) => new(
        new RequestId($"C{++count}"), Bench, 1, new AssayCode("A"), Kit,
            new ControlMaterial(new LotCode("CTRL"), level), 0, Eight, Eight,
        value?.ToString(System.Globalization.CultureInfo.InvariantCulture)
            ?? "", value, Targets[level - 1], [], ControlVerdict.NotJudged);

    private ControlRun Run(int level, decimal value, BenchId? bench = null, int batch = 1, Instant? at = null,
        bool target = true)
    {
        var run = Unjudged(level, value);
        var measured = at ?? run.At;
        run = history.Judged(
            run with
            {
                Bench = bench ?? Bench,
                Batch = batch,
                At = measured,
                JudgedAt = measured + Duration.FromMinutes(1),
                Target = target ? run.Target : null
            }, ControlRules.All);
        history = history with { Runs = history.Runs.Add(run) };
        return run;
    }

    private void Act() => history = history with
    {
        Actions =
            history.Actions.Add(new CorrectiveAction(Eight, new PersonId("s"), "An old control.", "A new vial.",
                history.Runs.Count)),
    };
}
