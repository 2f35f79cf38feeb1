using Incubation.Simulation.Capacity;
using NodaTime;
using Xunit;

namespace Incubation.Simulation.Tests.Capacity;

/// <summary>
/// A bench on which one step takes time is a queue with one server. Sources: M/M/1, W = 1 / (μ − λ), with λ 0.8 and μ 1
/// a minute W 5 and Wq 4 minutes (a worked example that was read); M/D/1, Wq = ρ / (2 μ (1 − ρ)), the
/// Pollaczek-Khinchine formula without spread, with the same figures Wq 2 (worked out from it); Little's law, Little
/// and Graves, Building Intuition, 2008, ch. 5.
/// </summary>
public sealed class QueueTheoryTest
{
    private const double ServedPerHour = 60;
    private const double ComePerHour = 30;
    private const int Days = 10;
    private const double Hours = 18;

    /// <summary>A day begins with nobody there: who comes in its first hour is left out.</summary>
    private static readonly Duration FilledAfter = Duration.FromHours(9);

    [Fact]
    public void ExponentialService_MeanStay_IsThatOfMM1AndNotOfMD1()
    {
        var stay = MeanStay(new ExponentialTimes());

        AssertInside(MM1(ComePerHour, ServedPerHour), stay);
        AssertOutside(MD1(ComePerHour, ServedPerHour), stay);
    }

    [Fact]
    public void ConstantService_MeanStay_IsThatOfMD1AndNotOfMM1()
    {
        var stay = MeanStay(new ExactTimes());

        AssertInside(MD1(ComePerHour, ServedPerHour), stay);
        AssertOutside(MM1(ComePerHour, ServedPerHour), stay);
    }

    [Fact]
    public void Formulas_PublishedExample_GiveItsFigures()
    {
        Assert.Equal(5 / 60.0, MM1(48, 60), 12);
        Assert.Equal((2 + 1) / 60.0, MD1(48, 60), 12);
    }

    [Fact]
    public void Percentile_OneToTwelve_IsThatOfType7() =>
        // Hyndman and Fan type 7: 10.9; by nearest rank it would be 11.
        Assert.Equal(Duration.FromSeconds(10.9),
            Sections.Percentile([[.. Enumerable.Range(1, 12).Select(second => Duration.FromSeconds(second))]],
                0.9)!.Value);

    /// <summary>Hours from coming to leaving.</summary>
    private static double MM1(double come, double served) => 1 / (served - come);

    private static double MD1(double come, double served)
    {
        var busy = come / served;
        return (busy / (2 * served * (1 - busy))) + (1 / served);
    }

    private static Estimate MeanStay(RandomStepLengths times)
    {
        var question = CapacityBenches.OneServer(ComePerHour, Hours, times);
        var days = Enumerable.Range(0, Days).Select(day => CapacityDay.Play(question, (ulong)day + 1)).ToList();
        Assert.All(days,
            day => Assert.All(day.Requests, request => Assert.Equal(CartridgeEnd.ReadInWindow, request.End)));
        return Sections.Of(days, some => some.SelectMany(day => day.Requests)
            .Where(request => request.Arrived >= FilledAfter).Average(request => request.Stayed.TotalHours))!;
    }

    private static void AssertInside(double expected, Estimate seen) =>
        Assert.InRange(expected, seen.Value - seen.Half!.Value, seen.Value + seen.Half.Value);

    private static void AssertOutside(double other, Estimate seen) =>
        Assert.True(Math.Abs(other - seen.Value) > seen.Half);
}
