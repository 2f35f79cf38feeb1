using Incubation.Clinic.TestKit;
using Incubation.Model;
using Incubation.Model.Controls;
using NodaTime;
using Xunit;

namespace Incubation.Clinic.Tests;

/// <summary>Controls in the clinic's stream, and what may not be said of them.</summary>
public sealed class ControlsStateTest
{
    private readonly MemoryClinic clinic = new(ControlsStory.Commands);

    public static TheoryData<ClinicEvent, ClinicRefusal> Refused => new()
    {
        { new ClinicEvent.ControlTargetSet(AssayCode.Of("X"), ControlsStory.One, new ControlTarget(1, 1),
            TargetSource.Sheet), ClinicRefusal.UnknownAssay },
        { new ClinicEvent.ControlTargetSet(ClinicStory.A, ControlsStory.One with { Level = 4 },
            new ControlTarget(1, 1), TargetSource.Sheet), ClinicRefusal.UnknownControl },
        { new ClinicEvent.MovingMeanSet(AssayCode.Of("X"), null), ClinicRefusal.UnknownAssay },
        { new ClinicEvent.MovingMeanSet(ClinicStory.A, new MovingMeanRule(0, 5, 4, 6)),
            ClinicRefusal.MeanImpossible },
        { new ClinicEvent.ControlRulesSet(AssayCode.Of("X"), ControlRules.All), ClinicRefusal.UnknownAssay },
        { new ClinicEvent.ControlJudged(ControlsStory.Run("C01", ControlsStory.One, 200, 90)),
            ClinicRefusal.ControlAlreadyJudged },
        { new ClinicEvent.ControlJudged(ControlsStory.Run("C09", ControlsStory.One, 200, 90)
            with { Bench = BenchId.Of("bench-9") }), ClinicRefusal.UnknownBench },
        { new ClinicEvent.CorrectiveActionTaken(ControlsStory.Kit, [RequestId.Of("C02")], "found", "done"),
            ClinicRefusal.NothingToPutRight },
        { new ClinicEvent.CorrectiveActionTaken(ControlsStory.Kit, [RequestId.Of("C02")], "found", " "),
            ClinicRefusal.WordsMissing },
        { new ClinicEvent.ReleasedReviewed(ControlsStory.Kit, [], "nothing"), ClinicRefusal.NothingToReview },
        { new ClinicEvent.ReleasedReviewed(ControlsStory.Kit, [], ""), ClinicRefusal.WordsMissing },
        { new ClinicEvent.ReaderServiced(BenchId.Of("bench-9"), ReaderNumber.Of(1), "cleaned"),
            ClinicRefusal.UnknownBench },
        { new ClinicEvent.ReaderServiced(ClinicStory.Bench, ReaderNumber.Of(1), " "), ClinicRefusal.WordsMissing },
    };

    [Fact]
    public void Story_Told_IsAllThere()
    {
        var controls = clinic.Controls;
        Assert.Equal(new ControlTarget(250, 5), controls.Target(ClinicStory.A, ControlsStory.Two)!.Target);
        Assert.Equal(2, controls.Targets.Length);
        Assert.False(controls.RulesOf(ClinicStory.A).TenX);
        Assert.Equal(ControlRules.All, controls.RulesOf(ClinicStory.B));
        Assert.NotNull(controls.Serviced(ClinicStory.Bench));
        var lot = controls.Of(ControlsStory.Kit);
        Assert.Equal(
            [ControlVerdict.Accepted, ControlVerdict.Rejected, ControlVerdict.Accepted, ControlVerdict.Accepted],
            lot.Runs.Select(run => run.Verdict));
        Assert.Equal(new RuleViolation(ControlRule.RFourS, [RequestId.Of("C01")]), lot.Runs[1].Violations[^1]);
        Assert.Equal(("The control had stood open overnight.", 2),
            (lot.Actions.Single().Found, lot.Actions.Single().AfterRuns));
        Assert.Equal(RequestId.Of("R01"), lot.Reviews.Single().Results.Single().Request);
        Assert.Equal(ControlVerdict.Accepted, controls.LatestOf(RequestId.Of("C04"))!.Verdict);
    }

    [Fact]
    public void TargetRemoved_IsGoneAndCanBeSetAnew()
    {
        clinic.Record(ControlsStory.TargetRemoved[0].Events, ControlsStory.TargetRemoved[0].Provenance);
        Assert.Null(clinic.Controls.Target(ClinicStory.A, ControlsStory.Two));
        Assert.Equal(ControlsStory.One, Assert.Single(clinic.Controls.Targets).Control);
        Assert.Equal(ClinicRefusal.UnknownControl, Assert.IsType<ClinicDecision.Refused>(
            clinic.Record(ControlsStory.TargetRemoved[0].Events, StoryProvenance.Of(202))).Why);
    }

    [Fact]
    public void TargetThatEnds_JudgesUntilTheEndOfItsLastDayInTheClinicsZone()
    {
        clinic.Record(ControlsStory.TargetThatEnds[0].Events, ControlsStory.TargetThatEnds[0].Provenance);
        var midnight = DateTimeZoneProviders.Tzdb["Europe/Berlin"].AtStartOfDay(new LocalDate(2026, 3, 3)).ToInstant();
        ControlTarget? At(Instant instant) => clinic.Controls.TargetAt(ClinicStory.A, ControlsStory.One, instant);
        Assert.Equal(new ControlTarget(201, 4), At(midnight - Duration.Epsilon));
        Assert.Null(At(midnight));
        Assert.Empty(clinic.Controls.EndingBy(new LocalDate(2026, 3, 1)));
        Assert.Equal(ControlsStory.One, Assert.Single(clinic.Controls.EndingBy(new LocalDate(2026, 3, 2))).Control);
    }

    [Fact]
    public void MovingMeans_AreSetPerAssay_AndGo()
    {
        foreach (var command in ControlsStory.MovingMeans)
            clinic.Record(command.Events, command.Provenance);
        Assert.Equal(new MovingMeanRule(0.1m, 5, 4, 6.5m), clinic.Controls.MovingMeanOf(ClinicStory.A));
        Assert.Null(clinic.Controls.MovingMeanOf(ClinicStory.B));
    }

    [Theory]
    [MemberData(nameof(Refused))]
    public void Record_WhatMayNotBeSaid_IsRefused(ClinicEvent @event, ClinicRefusal why) =>
        Assert.Equal(why, Assert.IsType<ClinicDecision.Refused>(clinic.Record(@event, StoryProvenance.Of(201))).Why);

    [Fact]
    public void OwnRuns_AreThoseNotRejected_OfAllLots() =>
        Assert.Equal(["C01", "C03"], clinic.Controls.OwnRuns(ClinicStory.A, ControlsStory.One)
            .Select(run => run.Request.Value));
}
