using Incubation.Model;
using Incubation.Simulation.Capacity;
using Incubation.TestKit;
using NodaTime;
using Xunit;

namespace Incubation.Simulation.Tests.Capacity;

/// <summary>What a bench could do, what limits it, and what more would bring.</summary>
public sealed class CapacityStudyTest
{
    private static readonly StudyOrder Short = new(Days: CaseCount.Of(2, 3), Seed: 5, More: 4, MaxSlots: 2);

    /// <summary>For what full stretch alone tells.</summary>
    private static readonly StudyOrder OneDay = Short with { Days = 1, MaxSlots = 0 };

    /// <summary>One answer by one thread, with what it told on its way: three tests look at it.</summary>
    private static readonly Lazy<(CapacityAnswer Answer, List<double> Parts)> ByOneThread = new(() =>
    {
        var parts = new List<double>();
        return (CapacityStudy.Answer(CapacityBenches.Small(perHour: 6), Short, 1, parts.Add, CancellationToken.None),
            parts);
    });

    [Fact]
    public void Answer_SameSeed_SameNumbersWhateverTheThreads()
    {
        var question = CapacityBenches.Small(perHour: 6);

        var one = Told(ByOneThread.Value.Answer);
        var three = Told(CapacityStudy.Answer(question, Short, 3, _ => { }, CancellationToken.None));
        var (day, other) = (Told(CapacityStudy.Answer(question, OneDay, 3, _ => { }, CancellationToken.None)),
            Told(CapacityStudy.Answer(question, OneDay with { Seed = 6 }, 3, _ => { }, CancellationToken.None)));

        Assert.Equal(one, three);
        Assert.NotEqual(day, other);
    }

    [Fact]
    public void Answer_AnyRun_LittlesLawHolds()
    {
        var answer = ByOneThread.Value.Answer;

        Assert.All(answer.Beside.Prepend(answer.AsAsked).Select(trial => trial.Figures!.Little), little =>
        {
            Assert.True(little.Number > 0.3);
            Assert.True(little.Difference < 1e-9);
        });
    }

    [Fact]
    public void LittlesLaw_RequestThatLeftTwice_IsFound()
    {
        var day = CapacityDay.Play(CapacityBenches.Small(perHour: 9), 3);

        var wrong = day with { Requests = day.Requests.Add(day.Requests[0]) };

        Assert.True(LittlesLaw.Of([day]).Difference < 1e-9);
        Assert.True(LittlesLaw.Of([wrong]).Difference > 1e-3);
    }

    [Fact]
    public void Answer_ProgressAndComparison_GoFromNothingToAllOnTheSameDays()
    {
        var (answer, parts) = ByOneThread.Value;

        Assert.Equal(parts.Order(), parts);
        Assert.Equal(1, parts[^1], 9);
        Assert.Equal([Resource.Hands, Resource.Slots, Resource.Readers, null],
            answer.Beside.Select(trial => trial.Added));
        Assert.Equal(answer.SameDays!.Requests, answer.Beside[0].Figures!.Requests);
        Assert.Equal(answer.AsAsked.Question.Demand.PerDay + 4, answer.Beside[3].Question.Demand.PerDay, 9);
    }

    [Fact]
    public void Answer_Stopped_Throws()
    {
        using var stop = new CancellationTokenSource();

        Assert.ThrowsAny<OperationCanceledException>(() =>
            CapacityStudy.Answer(CapacityBenches.Small(perHour: 6), Short, 2, _ => stop.Cancel(), stop.Token));
    }

    [Fact]
    public void Answer_OneSlot_SlotsLimit() =>
        Assert.Equal(Resource.Slots,
            CapacityStudy.Answer(CapacityBenches.Small(perHour: 3, slots: 1), OneDay, 2, _ => { },
                CancellationToken.None).Limit);

    [Fact]
    public void Answer_SlowReads_ReadersLimit()
    {
        var question = CapacityBenches.Small(perHour: 3, slots: 12);
        var slow = question with { Assays = [CapacityBenches.Incubated with { Read = Duration.FromMinutes(6) }] };

        Assert.Equal(Resource.Readers, CapacityStudy.Answer(slow, OneDay, 2, _ => { }, CancellationToken.None).Limit);
    }

    /// <summary>One more of a thing limits only where its interval lies above what the bench does without it.</summary>
    [Theory]
    [InlineData(10, 0.5, 11, 0.4, true)]
    [InlineData(10, 0.5, 11, 0.5, false)]
    [InlineData(10, null, 11, 0.1, false)]
    public void Estimate_IntervalsOverlapOrTouchOrAreUnknown_IsNotAbove(double value, double? half, double more,
        double? halfOfMore, bool isAbove) =>
        Assert.Equal(isAbove, new Estimate(more, halfOfMore).IsAbove(new Estimate(value, half)));

    [Fact]
    public void Answer_MoreThanTheBenchCanDo_SaysByHowMuchAndPlaysNoDays()
    {
        var answer = CapacityStudy.Answer(CapacityBenches.Small(perHour: 60, slots: 1), OneDay, 2, _ => { },
            CancellationToken.None);

        Assert.Null(answer.AsAsked.Figures);
        Assert.Null(answer.SameDays);
        Assert.Equal(480 - answer.AsAsked.MaxPerDay, answer.AsAsked.TooMany, 9);
        // One slot of eight minutes and handling does no more than seven an hour.
        Assert.InRange(answer.AsAsked.MaxPerDay, 30, 8 * 7.5);
    }

    [Fact]
    public void SlotBound_SixSlotsOfFifteenMinutes_TwentyFourAnHour()
    {
        // Little's law, worked out: six held at all times, each for a quarter of an hour.
        var assay = CapacityBenches.Incubated with
        {
            Incubation = Duration.FromMinutes(15),
            Load = Duration.Zero,
            LoadShortest = Duration.Zero,
            Move = Duration.Zero
        };

        Assert.Equal(24, SlotBound.PerHour(CapacityBenches.Small(perHour: 3, slots: 6) with { Assays = [assay] }), 9);
        Assert.Equal(double.PositiveInfinity,
            SlotBound.PerHour(CapacityBenches.OneServer(3, 8, new RandomStepLengths())));
    }

    [Fact]
    public void Sweep_HandsAndReadersInPlenty_StaysUnderTheSlotBoundAndComesNearIt()
    {
        // A sweep puts its own numbers of slots in the place of the bench's; with one, what is not asked here is cheap.
        var question = CapacityBenches.Small(perHour: 3, hands: 4, slots: 1, readers: 4);

        var answer = CapacityStudy.Answer(question, Short with { Days = 1, MaxSlots = 3 }, 2, _ => { },
            CancellationToken.None);

        Assert.All(answer.Sweep, point =>
        {
            // A mean of few runs may lie above by chance, by no more than its interval.
            Assert.True(point.AtFullStretch.Value - (point.AtFullStretch.Half ?? 0) <= point.Bound);
            Assert.InRange(point.AtFullStretch.Value / point.Bound, 0.75, 1.02);
        });
        Assert.Equal(3, answer.Knee);
    }

    [Fact]
    public void Draw_ManyDays_AsManyAsTheRateSaysInsideItsHours()
    {
        var demand = new Demand(Duration.FromHours(8), Duration.FromHours(16), 0.25,
            [new DemandRate(CapacityBenches.Slow, Duration.FromHours(9), Duration.FromHours(11), 10)]);

        var days = Enumerable.Range(0, 400).Select(day => Arrivals.Draw(demand, (ulong)day)).ToList();

        var arrivals = days.SelectMany(day => day).ToList();
        Assert.All(arrivals, arrival => Assert.InRange(arrival.At, Duration.FromHours(9), Duration.FromHours(11)));
        // A Poisson number has its mean for its variance: 400 days of 20, four standard errors.
        Assert.InRange(arrivals.Count / 400.0, 20 - (4 * Math.Sqrt(20 / 400.0)), 20 + (4 * Math.Sqrt(20 / 400.0)));
        var variance = days.Sum(day => Math.Pow(day.Length - (arrivals.Count / 400.0), 2)) / 399;
        Assert.InRange(variance, 14, 27);
        Assert.InRange(arrivals.Count(arrival => arrival.Priority == Priority.Urgent) / (double)arrivals.Count, 0.23,
            0.27);
    }

    [Fact]
    public void Sections_TwoDays_StudentsTOfOneDegreeOfFreedom()
    {
        var seen = Sections.Of([1.0, 3.0], some => some.Average())!;

        Assert.Equal(2, seen.Value);
        // Standard deviation √2, of two: 12.706 × √2 / √2.
        Assert.Equal(12.706, seen.Half!.Value, 9);
        Assert.Null(Sections.Of([1.0], some => some.Average())!.Half);
    }

    private static string Told(CapacityAnswer answer) =>
        string.Join('|', answer.Beside.Prepend(answer.AsAsked)
            .Select(trial => $"{trial.AtFullStretch} {trial.Use} {trial.Figures}"))
        + string.Join('|', answer.Sweep) + answer.Limit + answer.Knee;
}
