using Incubation.Bench;
using Incubation.Model;
using Incubation.Records.Batches;
using Incubation.Records.Reports;
using NodaTime;
using Xunit;

namespace Incubation.Records.Tests.Reports;

/// <summary>The reports' arithmetic on cartridges with known times.</summary>
public sealed class ReportFiguresTest
{
    private static readonly DateTimeZone Berlin = DateTimeZoneProviders.Tzdb["Europe/Berlin"];
    private static readonly Instant Monday = Instant.FromUtc(2026, 3, 2, 8, 0);

    [Fact]
    public void Step_ThatWasNotDone_HasNoTime()
    {
        var waiting = new CartridgeTimes
        {
            Bench = Rows.Bench,
            Batch = 1,
            Request = RequestId.Of("R1"),
            Asked = Monday,
            Assay = AssayCode.Of("A"),
            AssayVersion = 1,
            Lot = LotCode.Of("L"),
            Kind = RequestKind.Patient,
            Priority = Priority.Routine,
            Standing = CartridgeStatus.Waiting
        };
        Assert.All(TimeToResult.Steps, step => Assert.Null(TimeToResult.MinutesOf(waiting, step)));
        Assert.Null(TimeToResult.MinutesOf(waiting));
        Assert.Null(TimeToResult.Of([waiting]));
    }

    [Fact]
    public void Steps_OfAKnownCartridge_AreItsMinutes()
    {
        double?[] minutes =
            [.. TimeToResult.Steps.Select(step => TimeToResult.MinutesOf(Cartridge(Monday, waits: 4), step))];
        Assert.Equal([4, 2, 10, 1, 1.5, 0.5], minutes);
        Assert.Equal(19, TimeToResult.MinutesOf(Cartridge(Monday, waits: 4)));
    }

    [Fact]
    public void DayAgainstUsual_DayOnWhichTheMixWaited_NamesThatStepAndHour()
    {
        List<CartridgeTimes> all =
        [
            .. Enumerable.Range(0, 5)
                .SelectMany(day => Enumerable.Range(0, 4)
                    .Select(hour => Cartridge(Monday + Duration.FromDays(day) + Duration.FromHours(hour), waits: 2))),
            .. Enumerable.Range(0, 30)
                .Select(_ => Cartridge(Monday + Duration.FromDays(1) + Duration.FromHours(2), waits: 20)),
        ];
        var compared = DayAgainstUsual.Of(all, new LocalDate(2026, 3, 3), Berlin);
        Assert.Equal(4, compared.OtherDays);
        Assert.Equal((35, 17), (compared.Day!.Median, compared.Usual!.Median));
        Assert.Equal((ReportStep.Waiting, 18.0), (compared.ClearlyWorst!.Step, compared.ClearlyWorst.Longer!.Value));
        // 10:00 UTC is 11:00 in Berlin in March.
        var hour = compared.Hours.Single(one => one.Hour == 11);
        Assert.Equal((31, 1.0), (hour.Asked, hour.UsuallyAsked));
        Assert.Equal(4, compared.Hours.Count);
    }

    [Fact]
    public void Wasted_OverDays_CountsUsedCartridgesOnTheClinicsDays()
    {
        // 23:30 UTC is the next day in Berlin.
        var late = Monday + Duration.FromHours(15.5);
        List<CartridgeTimes> all =
        [
            Cartridge(Monday, 1), Cartridge(Monday, 1, DiscardReason.WindowClosed),
                Cartridge(late, 1, DiscardReason.Bubbles), Cartridge(late, 1, DiscardReason.WindowClosed),
            Cartridge(Monday, 1) with { Mix = default, Load = default, Standing = CartridgeStatus.Discarded },
        ];
        var (days, chart) = Wasted.Over(all, Stretch.Day, Berlin);
        Assert.Equal([new LocalDate(2026, 3, 2), new LocalDate(2026, 3, 3)], days);
        Assert.Equal([(1, 2), (2, 2)], chart.Points.Select(point => (point.Sample.Count, point.Sample.Of)));
        Assert.Equal([(DiscardReason.WindowClosed, 2), (DiscardReason.Bubbles, 1)], Wasted.Reasons(all)
            .Select(bar => (bar.Of, bar.Count)));
    }

    [Theory]
    [InlineData(Stretch.Day, "2026-03-05")]
    [InlineData(Stretch.Week, "2026-03-02")]
    [InlineData(Stretch.Month, "2026-03-01")]
    [InlineData(Stretch.Year, "2026-01-01")]
    public void FirstOf_Thursday_IsTheBeginOfItsStretch(Stretch stretch, string expected) =>
        Assert.Equal(expected, Wasted.FirstOf(new LocalDate(2026, 3, 5), stretch).ToString("uuuu-MM-dd", null));

    [Theory]
    [InlineData(1, Stretch.Day)]
    [InlineData(62, Stretch.Day)]
    [InlineData(63, Stretch.Week)]
    [InlineData(366, Stretch.Week)]
    [InlineData(1000, Stretch.Month)]
    [InlineData(365 * 30, Stretch.Year)]
    public void StretchFor_Days_MakesNoMoreSamplesThanAreReadAtAGlance(int days, Stretch expected) =>
        Assert.Equal(expected, Wasted.StretchFor(days));

    [Fact]
    public void Reads_Positions_LieBetweenOpeningAndClosing()
    {
        var histogram = Reads.InWindows([Cartridge(Monday, 1), Cartridge(Monday, 1), Read(-0.1), Read(1.5)]);
        // A minute into a window of two.
        Assert.Equal(2, histogram.Counts[5]);
        Assert.Equal((1, 1), (histogram.Below, histogram.Above));

        static CartridgeTimes Read(double position) => Cartridge(Monday, 1) is var one
            ? one with
            { Move = one.Move with { End = one.Opens + ((one.Closes!.Value - one.Opens!.Value) * position) } }
            : one;
    }

    [Fact]
    public void PlannedAgainstReal_OfBatchesAndSteps_IsInMinutesLater()
    {
        BatchUse Batch(double later) =>
            new(Rows.Bench, 1, Monday, Monday + Duration.FromHours(1), 1, 8, 1, Duration.Zero, Duration.Zero,
                Duration.Zero, Monday + Duration.FromHours(1) - Duration.FromMinutes(later), 8, 8);
        var found = PlannedAgainstReal.Of([Cartridge(Monday, 1)],
            [Batch(3), Batch(-1), Batch(0) with { PlannedEnd = null }]);
        Assert.Equal([-1, 3], found.Batches);
        Assert.Equal(0.5, found.Mix!.Median, 9);
        Assert.Null(found.Clear);
    }

    [Fact]
    public void BenchUse_OfNoBatch_IsNothing() => Assert.Empty(BenchUse.Of([]));

    [Fact]
    public void BenchUse_TwoBatches_WeighsThemByTheirLength()
    {
        BatchUse Batch(double hours, double busy) =>
            new(Rows.Bench, 1, Monday, Monday + Duration.FromHours(hours), 2, 4, 1, Duration.FromHours(busy),
                Duration.FromHours(2 * busy), Duration.FromHours(busy / 2), null, null, 6);
        var use = Assert.Single(BenchUse.Of([Batch(1, 1), Batch(3, 3)]));
        Assert.Equal((0.5, 0.5, 0.5, 3.0), (use.Hands, use.Slots!.Value, use.Readers, use.PerHour));
        Assert.Null(Assert.Single(BenchUse.Of([Batch(1, 0.5) with { Slots = 0 }])).Slots);
    }

    /// <summary>
    /// Mixed after so many minutes; mix and load 2 min, incubation 10, window of 2 of which 1 passes, read and clear
    /// 1.5, result 0.5.
    /// </summary>
    private static CartridgeTimes Cartridge(Instant asked, double waits, DiscardReason? reason = null)
    {
        Instant At(double minutes) => asked + Duration.FromMinutes(waits + minutes);
        return new CartridgeTimes
        {
            Bench = Rows.Bench,
            Batch = 1,
            Request = RequestId.Of("R1"),
            Asked = asked,
            Assay = AssayCode.Of("A"),
            AssayVersion = 1,
            Lot = LotCode.Of("L"),
            Kind = RequestKind.Patient,
            Priority = Priority.Routine,
            Standing = reason is null ? CartridgeStatus.Done : CartridgeStatus.Discarded,
            Reason = reason,
            Mix = new StepSpan(At(0.5), At(0), At(1)),
            Load = new StepSpan(null, At(1), At(2)),
            Opens = At(12),
            Closes = At(14),
            Move = new StepSpan(null, At(12.5), At(13)),
            ReadStart = At(13),
            Clear = new StepSpan(null, At(14), At(14.5)),
            ResultAt = At(15),
            Slot = 1,
            Reader = 1,
        };
    }
}
