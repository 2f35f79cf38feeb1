using Incubation.Clinic.Stock;
using Incubation.Clinic.TestKit;
using Incubation.Model;
using NodaTime;
using Xunit;

namespace Incubation.Clinic.Tests;

/// <summary>
/// Which kit lots may be used, and how many are left of them. The rules are those of 42 CFR 493.1252(d) and (e).
/// </summary>
public sealed class StockStateTest
{
    private static readonly LocalDate Today = new(2026, 3, 2);
    private static readonly LocalDate Later = new(2026, 6, 30);
    private static readonly LotCode Lot = LotCode.Of("A-L1");
    private static readonly LotCode Other = LotCode.Of("A-L2");

    private readonly MemoryClinic clinic = new(StockStory.Commands.Take(3));
    private int commands = 13;

    public static TheoryData<StockStopCause, StockKind, string, ClinicRefusal, ClinicEvent[]> Stops => new()
    {
        { StockStopCause.NotIn, StockKind.Kit, "", ClinicRefusal.UnknownLot, [] },
        { StockStopCause.NotIn, StockKind.Buffer, "", ClinicRefusal.PartsOfAnotherLot,
            [In(StockKind.Kit), In(StockKind.ReaderCard)] },
        { StockStopCause.NotIn, StockKind.ReaderCard, "", ClinicRefusal.PartsOfAnotherLot,
            [In(StockKind.Kit), In(StockKind.Buffer)] },
        { StockStopCause.OtherLot, StockKind.Buffer, "A-L2", ClinicRefusal.PartsOfAnotherLot,
            [In(StockKind.Kit), In(StockKind.ReaderCard), In(StockKind.Buffer) with { Lot = Other }] },
        { StockStopCause.OtherLot, StockKind.ReaderCard, "A-L2", ClinicRefusal.PartsOfAnotherLot,
            [In(StockKind.Kit), In(StockKind.Buffer), In(StockKind.ReaderCard) with { Lot = Other }] },
        { StockStopCause.Quarantined, StockKind.Kit, "wet", ClinicRefusal.LotQuarantined,
            [.. Box(), new ClinicEvent.StockQuarantined(StockKind.Kit, Lot, "wet")] },
        { StockStopCause.Quarantined, StockKind.Buffer, "cloudy", ClinicRefusal.LotQuarantined,
            [.. Box(), new ClinicEvent.StockQuarantined(StockKind.Buffer, Lot, "cloudy")] },
        { StockStopCause.Finished, StockKind.Kit, "", ClinicRefusal.LotFinished,
            [.. Box(), new ClinicEvent.StockFinished(StockKind.Kit, Lot)] },
        { StockStopCause.Expired, StockKind.Kit, "2026-03-01", ClinicRefusal.LotExpired,
            [.. StockStory.Box(Lot, Today.PlusDays(-1), 5)] },
        { StockStopCause.Expired, StockKind.Buffer, "2026-03-01", ClinicRefusal.LotExpired,
            [In(StockKind.Kit), In(StockKind.ReaderCard), In(StockKind.Buffer) with { Expiry = Today.PlusDays(-1) }] },
    };

    [Theory]
    [MemberData(nameof(Stops))]
    public void StopOf_LotThatMustNotBeUsed_SaysWhyAndItsRequestIsRefused(StockStopCause cause, StockKind kind,
        string detail, ClinicRefusal refusal, ClinicEvent[] told)
    {
        Record(told);
        var stop = StockStop.Of(clinic.Stock, Lot, ClinicStory.A, Today)!;
        Assert.Equal((cause, kind, detail), (stop.Cause, stop.Kind, stop.Detail));
        Assert.DoesNotContain(clinic.Stock.Usable(ClinicStory.A, Today), item => item.Lot == Lot);
        clinic.Record(new ClinicEvent.BenchRegistered(ClinicStory.Bench, "Bench 1"), StoryProvenance.Of(900));
        Assert.Equal(refusal,
            Assert.IsType<ClinicDecision.Refused>(clinic.Record(ClinicStory.Request("R01", ClinicStory.A, Lot.Value),
                StoryProvenance.Of(901))).Why);
    }

    [Fact]
    public void StopOf_WholeBox_IsUsableThroughItsLastDay()
    {
        Record([.. Box()]);
        Assert.Null(StockStop.Of(clinic.Stock, Lot, ClinicStory.A, Later));
        Assert.Equal(StockStopCause.Expired, StockStop.Of(clinic.Stock, Lot, ClinicStory.A, Later.PlusDays(1))!.Cause);
        Assert.Equal(StockStopCause.OtherAssay, StockStop.Of(clinic.Stock, Lot, ClinicStory.B, Today)!.Cause);
    }

    [Fact]
    public void StopOf_LetOutOfQuarantine_IsUsableAgain()
    {
        Record([.. Box(), new ClinicEvent.StockQuarantined(StockKind.Kit, Lot, "wet"),
            new ClinicEvent.StockLetOut(StockKind.Kit, Lot, "dry")]);
        Assert.Null(StockStop.Of(clinic.Stock, Lot, ClinicStory.A, Today));
    }

    /// <summary>What was recorded before there was a count: the lot came with its buffer and its card.</summary>
    [Fact]
    public void Apply_LotReceivedOfBefore_IsAKitWithBufferAndCardUncounted()
    {
        Record([ClinicStory.Lot("A-L1", ClinicStory.A)]);
        Assert.Null(StockStop.Of(clinic.Stock, Lot, ClinicStory.A, Today));
        Assert.Equal(3, clinic.Stock.Items.Count);
        Assert.Null(clinic.Stock.Find(StockKind.Kit, Lot)!.Counted);
    }

    [Fact]
    public void Usable_SeveralLots_TheOneThatExpiresFirstFirst()
    {
        Record([.. Box(), .. StockStory.Box(Other, Later.PlusDays(-9), 5)]);
        Record([.. StockStory.Box(LotCode.Of("A-L3"), Later.PlusDays(60), 5)
            .Select(part => part.Kind == StockKind.Buffer ? part with { Expiry = Later.PlusDays(-20) } : part)]);
        Assert.Equal(["A-L3", "A-L2", "A-L1"], clinic.Stock.Usable(ClinicStory.A, Today)
            .Select(item => item.Lot.Value));
        Assert.Equal(Later.PlusDays(-20), clinic.Stock.LastDayOf(LotCode.Of("A-L3")));
    }

    [Fact]
    public void Counted_DeliveriesAndCounts_AddUpSinceTheLastCount()
    {
        Record([In(StockKind.Kit)]);
        Record([In(StockKind.Kit) with { Count = 3 }]);
        Assert.Equal(8, clinic.Stock.Find(StockKind.Kit, Lot)!.Counted);
        Record([new ClinicEvent.StockCounted(StockKind.Kit, Lot, 6, "fell down")]);
        Assert.Equal(6, clinic.Stock.Find(StockKind.Kit, Lot)!.Counted);
        Record([In(StockKind.Kit)]);
        Assert.Equal(11, clinic.Stock.Find(StockKind.Kit, Lot)!.Counted);
        Assert.Equal(3, clinic.Stock.Find(StockKind.Kit, Lot)!.Shipments.Length);
    }

    [Fact]
    public void Apply_FurtherDeliveryOfAFinishedLot_IsThereAgain()
    {
        Record([.. Box(), new ClinicEvent.StockFinished(StockKind.Kit, Lot)]);
        Record([In(StockKind.Kit)]);
        Assert.Null(StockStop.Of(clinic.Stock, Lot, ClinicStory.A, Today));
    }

    [Fact]
    public void Record_WhatCannotBe_IsRefused()
    {
        Record([.. Box()]);
        (ClinicEvent Event, ClinicRefusal Why)[] cases =
        [
            (In(StockKind.Kit) with { Assay = AssayCode.Of("X") }, ClinicRefusal.UnknownAssay),
            (In(StockKind.Kit) with { Assay = null }, ClinicRefusal.UnknownAssay),
            (In(StockKind.Kit) with { Count = 0 }, ClinicRefusal.CountImpossible),
            (In(StockKind.Kit) with { Expiry = Later.PlusDays(1) }, ClinicRefusal.ExpiryDiffers),
            (new ClinicEvent.StockOpened(StockKind.Kit, Other), ClinicRefusal.UnknownLot),
            (new ClinicEvent.StockCounted(StockKind.Kit, Lot, -1, "x"), ClinicRefusal.CountImpossible),
            (new ClinicEvent.StockCounted(StockKind.Kit, Lot, 1, " "), ClinicRefusal.WhyMissing),
            (new ClinicEvent.StockQuarantined(StockKind.Kit, Lot, ""), ClinicRefusal.WhyMissing),
            (new ClinicEvent.StockLetOut(StockKind.Kit, Lot, "x"), ClinicRefusal.LotIsSo),
            (ClinicStory.Lot("A-L1", ClinicStory.A), ClinicRefusal.LotAlreadyReceived),
        ];
        Assert.All(cases,
            one =>
            Assert.Equal(one.Why,
                Assert.IsType<ClinicDecision.Refused>(clinic.Record(one.Event, StoryProvenance.Of(commands++))).Why));
    }

    [Fact]
    public void Record_ControlMaterialOfSeveralAssays_NeedsNone()
    {
        Record([In(StockKind.Control) with { Assay = null }]);
        Assert.Null(clinic.Stock.Find(StockKind.Control, Lot)!.Assay);
    }

    /// <summary>
    /// An expired control material is never used either (42 CFR 493.1252(d)); one that is not kept in the stock is the
    /// clinic's own affair.
    /// </summary>
    [Fact]
    public void StopOfControl_MaterialOfTheStock_IsStoppedAsAKitIs()
    {
        Assert.Null(StockStop.OfControl(clinic.Stock, Other, ClinicStory.A, Today));
        Record([In(StockKind.Control) with { Lot = Other, Assay = null, Expiry = Today }, .. Box(),
            new ClinicEvent.BenchRegistered(ClinicStory.Bench, "Bench 1")]);
        Assert.Null(StockStop.OfControl(clinic.Stock, Other, ClinicStory.A, Today));
        Assert.Equal(StockStopCause.Expired,
            StockStop.OfControl(clinic.Stock, Other, ClinicStory.A, Today.PlusDays(1))!.Cause);
        Assert.Equal(Today, clinic.Stock.LastDayOf(Lot, Other));
        Record([new ClinicEvent.StockQuarantined(StockKind.Control, Other, "thawed twice")]);
        var request = ClinicStory.Request("R01", ClinicStory.A, Lot.Value) with
        { Particulars = new Particulars(null, null, null, null, new ControlMaterial(Other, 1)) };
        Assert.Equal(new ClinicDecision.Refused(ClinicRefusal.LotQuarantined, "A-L2"),
            clinic.Record(request, StoryProvenance.Of(901)));
    }

    [Fact]
    public void CameIn_FurtherDelivery_IsThereToo()
    {
        Record([.. Box()]);
        Record([In(StockKind.Buffer), In(StockKind.Control)]);
        Assert.Equal(4, clinic.Stock.CameIn(Lot).Count);
    }

    private static ClinicEvent.StockReceived In(StockKind kind) => StockStory.In(kind, Lot, Later, 5);

    private static IEnumerable<ClinicEvent.StockReceived> Box() => StockStory.Box(Lot, Later, 5);

    private void Record(ClinicEvent[] told)
    {
        if (told.Length > 0)
            Assert.IsType<ClinicDecision.Accepted>(clinic.Record(told, StoryProvenance.Of(commands++)));
    }
}
