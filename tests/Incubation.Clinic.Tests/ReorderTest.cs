using Incubation.Clinic.Stock;
using Incubation.Clinic.TestKit;
using Incubation.Model;
using NodaTime;
using Xunit;

namespace Incubation.Clinic.Tests;

/// <summary>What is to be ordered: counted from what is there, may be used and does not expire soon.</summary>
public sealed class ReorderTest
{
    private static readonly LocalDate Today = new(2026, 3, 2);
    private readonly MemoryClinic clinic = new(StockStory.Commands);
    private int said = 700;

    [Fact]
    public void Kits_AreAddedUp_AndOrderedBelowTheirNumber()
    {
        Say(new ClinicEvent.ReorderPointSet(StockKind.Kit, ClinicStory.A, 49));
        // 23 were counted, and 25 came since.
        Assert.Equal(new ReorderLine(new ReorderKey(StockKind.Kit, ClinicStory.A), 49, 48, 0, 0), Line());
        Assert.True(Line().IsBelow);
        Say(new ClinicEvent.ReorderPointSet(StockKind.Kit, ClinicStory.A, 48));
        Assert.False(Line().IsBelow);
        Say([.. StockStory.Box(LotCode.Of("A-L9"), new LocalDate(2027, 9, 30), 7)]);
        Assert.Equal(55, Line().Left);
        Say(new ClinicEvent.StockQuarantined(StockKind.Buffer, LotCode.Of("A-L9"), "cloudy"));
        Assert.Equal(48, Line().Left);
    }

    [Fact]
    public void WhatExpiresSoon_DoesNotCount()
    {
        Say(new ClinicEvent.ReorderPointSet(StockKind.Kit, ClinicStory.A, 48));
        Say([.. StockStory.Box(LotCode.Of("A-L9"), Today.PlusDays(30), 7)]);
        Assert.Equal((48, 7), (Line().Left, Line().Expiring));
        Assert.Equal((55, 0), (Line(days: 29).Left, Line(days: 29).Expiring));
    }

    [Fact]
    public void WhatNobodyCounted_IsNotGuessed()
    {
        Say(new ClinicEvent.ReorderPointSet(StockKind.Kit, ClinicStory.A, 60));
        Say(new ClinicEvent.LotReceived(LotCode.Of("A-L9"), ClinicStory.A, new LocalDate(2027, 9, 30)));
        Assert.Equal((48, 1, false), (Line().Left, Line().NotCounted, Line().IsBelow));
    }

    [Fact]
    public void ControlVials_CountByThemselves_AndANumberCanGo()
    {
        Say(new ClinicEvent.ReorderPointSet(StockKind.Control, null, 5));
        Assert.Equal((4, true), (Line().Left, Line().IsBelow));
        Say(new ClinicEvent.ReorderPointSet(StockKind.Control, null, null));
        Assert.Empty(Lines(30));
    }

    [Theory]
    [InlineData(StockKind.Buffer, "A", 5, ClinicRefusal.UnknownAssay)]
    [InlineData(StockKind.Kit, "X", 5, ClinicRefusal.UnknownAssay)]
    [InlineData(StockKind.Kit, null, 5, ClinicRefusal.UnknownAssay)]
    [InlineData(StockKind.Kit, "A", 0, ClinicRefusal.CountImpossible)]
    public void WhatCannotBe_IsRefused(StockKind kind, string? assay, int least, ClinicRefusal why) =>
        Assert.Equal(why, Assert.IsType<ClinicDecision.Refused>(clinic.Record(new ClinicEvent.ReorderPointSet(kind,
            assay is null ? null : AssayCode.Of(assay), least), StoryProvenance.Of(++said))).Why);

    private IReadOnlyList<ReorderLine> Lines(int days) =>
        Reorder.Of(clinic.Stock, item => item.Counted, Today, days);

    private ReorderLine Line(int days = 30) => Assert.Single(Lines(days));

    private void Say(params ClinicEvent[] events) =>
        Assert.IsType<ClinicDecision.Accepted>(clinic.Record(events, StoryProvenance.Of(++said)));
}
