using Incubation.Bench;
using Incubation.Model;
using Incubation.Planning;
using NodaTime;

namespace Incubation.Simulation;

/// <summary>Who decides what is done next on a simulated day.</summary>
public enum Dispatch
{
    /// <summary>This program: the live bench and its planner.</summary>
    Planned,

    /// <summary>A plain habit: one cartridge at a time for each reader that has hands, from mix to clear.</summary>
    OneAtATime,

    /// <summary>A plain habit: load as fast as hands allow, and read whatever is due first.</summary>
    LoadAtOnce,
}

/// <summary>Plays a bench day as a file states it.</summary>
public static class DispatchedDay
{
    private static readonly BenchId Bench = new("bench");

    /// <summary>
    /// Whether a day can be played: not in mid-run and without a calendar, which virtual hands do not know.
    /// </summary>
    public static bool CanPlay(BenchDay day)
    {
        ArgumentNullException.ThrowIfNull(day);
        return day.MidRun is null && day.Calendar.Count == 0;
    }

    /// <summary>Plays a day from its start until nothing is left to do.</summary>
    /// <param name="day">The day; one that <see cref="CanPlay"/>.</param>
    /// <param name="dispatch">Who decides.</param>
    /// <param name="seed">Seed of every chance; the same seed gives the same step lengths under every dispatch.</param>
    /// <param name="times">How long steps take.</param>
    /// <param name="policy">How the adopted plan is kept.</param>
    /// <param name="budget">Makes the budget of each search.</param>
    public static DayOutcome Play(
        BenchDay day, Dispatch dispatch, ulong seed, RandomStepLengths times, SearchPolicy policy,
        Func<ISearchBudget> budget)
    {
        if (!CanPlay(day))
            throw new ArgumentException("A day in mid-run or with a calendar cannot be played.", nameof(day));
        return dispatch == Dispatch.Planned
            ? Planned(day, seed, times, policy, budget)
            : HabitDay.Play(day, dispatch, new HandsLengths(times, seed));
    }

    private static DayOutcome Planned(BenchDay day, ulong seed, RandomStepLengths times, SearchPolicy policy,
        Func<ISearchBudget> budget)
    {
        var assays = day.Assays.ToDictionary(assay => assay.Code);
        var open = new BenchCommand.OpenBench(Bench, Bench.Value, day.Bench, Duration.Zero);
        var run = SimulatedDay.Run(open,
            [.. day.Requests.Select(request => new BenchRequest(request, assays[request.Assay], 1, "1"))],
            day.Start, seed, times, budget, policy);
        var finish = run.Steps.Select(step => step.End).DefaultIfEmpty(day.Start).Max() - day.Start;
        return new DayOutcome([.. run.State.Cartridges.Select(cartridge => OutcomeOf(cartridge, day.Start))],
            run.Steps, finish);
    }

    private static CartridgeOutcome OutcomeOf(Cartridge cartridge, Instant start) =>
        cartridge is { ReadInWindow: true, Stage: CartridgeStage.Cleared cleared }
            ? new CartridgeOutcome(CartridgeEnd.ReadInWindow,
                cleared.End - cartridge.Wanted.Request.EffectiveReady(start))
            : new CartridgeOutcome(cartridge.Stage is CartridgeStage.Waiting
                ? CartridgeEnd.NotRun : CartridgeEnd.Missed, null);

    /// <summary>
    /// The day whose hands take exactly their mean times: every hands length replaced by its mean, the shortest ones
    /// too.
    /// </summary>
    public static BenchDay WithMeanTimes(BenchDay day, RandomStepLengths times)
    {
        ArgumentNullException.ThrowIfNull(day);
        ArgumentNullException.ThrowIfNull(times);
        Duration Mean(Duration allowed) => Duration.FromMilliseconds(Math.Round(times.Mean(allowed).TotalMilliseconds));
        return day with
        {
            Bench = day.Bench with { CardChange = Mean(day.Bench.CardChange) },
            Assays = [.. day.Assays.Select(assay => assay with
            {
                Mix = Mean(assay.Mix),
                MixShortest = Mean(assay.Mix),
                Load = Mean(assay.Load),
                LoadShortest = Mean(assay.Load),
                Move = Mean(assay.Move),
                Clear = Mean(assay.Clear),
            })],
        };
    }
}
