using Incubation.Clinic.Programme;
using Incubation.Clinic.TestKit;
using Incubation.Model;
using Incubation.Model.Controls;
using Xunit;
using static Incubation.Clinic.TestKit.ProgrammeStory;

namespace Incubation.Clinic.Tests;

/// <summary>Comparisons of lots in the clinic's stream: what they hold back, what may not be said.</summary>
public sealed class ComparisonsStateTest
{
    private int said = 400;

    [Fact]
    public void Story_Told_IsAllThere()
    {
        var one = Assert.Single(new MemoryClinic(Compared).Comparisons.Cases);
        Assert.Equal([1, 2], one.Counted.Select(pair => pair.Number));
        Assert.Equal("It had stood open.", one.Pairs[2].Removed);
        Assert.Equal((6.25m, LotVerdict.Within), (one.Outcome.Mean, one.Outcome.Verdict));
        Assert.Equal(LotDecision.Accepted, one.Decision!.Decision);
    }

    [Fact]
    public void HoldsBack_ALotReceivedSinceItIsAskedFor_UntilItsComparisonIsAccepted()
    {
        var clinic = new MemoryClinic(StockStory.Commands);
        bool Holds(LotCode lot) => clinic.Comparisons.HoldsBack(clinic.Stock, ClinicStory.A, lot);
        Say(clinic, Lots[^1].Events[0]);
        Assert.False(Holds(New));

        clinic = new MemoryClinic(Lots);
        Assert.True(Holds(New));
        Assert.False(Holds(Old));
        Assert.False(clinic.Comparisons.HoldsBack(clinic.Stock, ClinicStory.B, New));
        Say(clinic, new ClinicEvent.LotComparisonRequired(false));
        Assert.False(Holds(New));

        clinic = new MemoryClinic(Compared);
        Assert.False(Holds(New));
    }

    [Fact]
    public void HoldsBack_ARefusedLot_WhateverIsAskedFor_UntilAnotherComparisonIsAccepted()
    {
        var clinic = new MemoryClinic(StockStory.Commands);
        Say(clinic, Lots[^1].Events[0]);
        foreach (var (number, decision) in new[] { (1, LotDecision.Refused), (2, LotDecision.Accepted) })
        {
            Say(clinic, new ClinicEvent.LotComparisonBegun(number, ClinicStory.A, Old, New, Criterion));
            Say(clinic, Typed(1, "one", 10, 10, number));
            Say(clinic, Typed(2, "two", 20, 20, number));
            Say(clinic, new ClinicEvent.LotComparisonSettled(number, decision, "Seen."));
            Assert.Equal(decision == LotDecision.Refused,
                clinic.Comparisons.HoldsBack(clinic.Stock, ClinicStory.A, New));
        }
    }

    [Fact]
    public void TheOnlyLot_HasNothingToBeComparedWith()
    {
        var clinic = new MemoryClinic(StockStory.Commands.Take(3));
        Say(clinic, new ClinicEvent.LotComparisonRequired(true));
        Say(clinic, StockStory.Commands[3].Events[0]);
        Assert.False(clinic.Comparisons.HoldsBack(clinic.Stock, ClinicStory.A, Old));
    }

    public static TheoryData<ClinicEvent, ClinicRefusal> Refused => new()
    {
        { new ClinicEvent.LotComparisonRequired(true), ClinicRefusal.ComparisonIsSo },
        { new ClinicEvent.LotComparisonBegun(1, ClinicStory.A, New, New, Criterion),
            ClinicRefusal.ComparisonImpossible },
        { new ClinicEvent.LotComparisonBegun(3, ClinicStory.A, Old, New, Criterion),
            ClinicRefusal.ComparisonImpossible },
        { new ClinicEvent.LotComparisonBegun(2, ClinicStory.A, Old, New, Criterion with { Specimens = 0 }),
            ClinicRefusal.ComparisonImpossible },
        { new ClinicEvent.LotComparisonBegun(2, ClinicStory.B, Old, New, Criterion),
            ClinicRefusal.LotOfAnotherAssay },
        { new ClinicEvent.LotComparisonBegun(2, ClinicStory.A, Old, LotCode.Of("A-L99"), Criterion),
            ClinicRefusal.UnknownLot },
        { new ClinicEvent.LotComparisonBegun(2, ClinicStory.A, Old, New, Criterion), ClinicRefusal.ComparisonIsSo },
        { Typed(2, "again", 1, 1), ClinicRefusal.ComparisonImpossible },
        { Typed(1, " ", 1, 1), ClinicRefusal.ComparisonImpossible },
        { Typed(1, "of nothing", 0, 1), ClinicRefusal.ComparisonImpossible },
        { new ClinicEvent.LotPairSet(1, 2, "", Of(1, "R01"), Of(1, "R09")), ClinicRefusal.ComparisonImpossible },
        { Typed(1, "in none", 1, 1, comparison: 7), ClinicRefusal.UnknownComparison },
        { new ClinicEvent.LotPairRemoved(1, 5, "gone"), ClinicRefusal.UnknownComparison },
        { new ClinicEvent.LotPairRemoved(1, 1, " "), ClinicRefusal.WhyMissing },
        { new ClinicEvent.LotComparisonSettled(1, LotDecision.Accepted, "Seen."), ClinicRefusal.ComparisonTooFew },
        { new ClinicEvent.LotComparisonSettled(1, LotDecision.Refused, " "), ClinicRefusal.WhyMissing },
    };

    [Theory]
    [MemberData(nameof(Refused))]
    public void Record_WhatMayNotBeSaid_IsRefused(ClinicEvent @event, ClinicRefusal why)
    {
        // One pair of the record; "again" would be the third of a comparison that has one.
        var clinic = new MemoryClinic(Compared.Take(Lots.Count + 2));
        if (@event is ClinicEvent.LotPairSet { Label: "again" } again)
            @event = again with { Pair = 3 };
        Assert.Equal(why, Assert.IsType<ClinicDecision.Refused>(
            clinic.Record(@event, StoryProvenance.Of(++said))).Why);
    }

    [Fact]
    public void Settled_IsSettled()
    {
        var clinic = new MemoryClinic(Compared);
        foreach (var @event in new ClinicEvent[]
        {
            Typed(4, "late", 1, 1), new ClinicEvent.LotPairRemoved(1, 1, "late"),
            new ClinicEvent.LotComparisonSettled(1, LotDecision.Refused, "late"),
        })
            Assert.Equal(ClinicRefusal.ComparisonSettled, Assert.IsType<ClinicDecision.Refused>(
                clinic.Record(@event, StoryProvenance.Of(++said))).Why);
    }

    private void Say(MemoryClinic clinic, ClinicEvent @event) =>
        Assert.IsType<ClinicDecision.Accepted>(clinic.Record(@event, StoryProvenance.Of(++said)));
}
