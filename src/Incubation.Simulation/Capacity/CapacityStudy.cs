using System.Collections.Immutable;
using NodaTime;

namespace Incubation.Simulation.Capacity;

/// <summary>What a bench has, of which there may be too little.</summary>
public enum Resource
{
    Hands,
    Slots,
    Readers,
}

/// <summary>How a question is answered.</summary>
/// <param name="Days">Days played as asked.</param>
/// <param name="Seed">Seed of every chance.</param>
/// <param name="More">So many requests more a day are tried beside.</param>
/// <param name="MaxSlots">The sweep goes from one slot to so many; 0 for no sweep.</param>
public sealed record StudyOrder(int Days = 200, ulong Seed = 1, int More = 10, int MaxSlots = 24)
{
    /// <summary>What is tried beside is played on so many days at most.</summary>
    public const int MaxCompared = 200;

    /// <summary>Days played of each thing that is tried beside.</summary>
    public int Compared => Math.Min(Days, MaxCompared);
}

/// <summary>What was tried.</summary>
/// <param name="Added">One more of this; null for the bench as asked.</param>
/// <param name="MoreRequests">So many requests more a day.</param>
/// <param name="Question">The bench and its demand.</param>
/// <param name="AtFullStretch">Cartridges an hour while more waits than the bench can do.</param>
/// <param name="Use">Use of its resources meanwhile.</param>
/// <param name="Figures">What its days come to; null where they were not played, since it cannot do what is
/// wanted.</param>
public sealed record Trial(Resource? Added, int MoreRequests, CapacityQuestion Question, Estimate AtFullStretch,
    Use Use, CapacityFigures? Figures)
{
    /// <summary>Cartridges that it can do while it is open.</summary>
    public double MaxPerDay => AtFullStretch.Value * (Question.Demand.Close - Question.Demand.Open).TotalHours;

    /// <summary>By how many cartridges a day what is wanted exceeds that; not above 0 where it can be done.</summary>
    public double TooMany => Question.Demand.PerDay - MaxPerDay;
}

/// <summary>A number of slots in a sweep.</summary>
/// <param name="Slots">So many.</param>
/// <param name="AtFullStretch">Cartridges an hour with them.</param>
/// <param name="Bound">The most that so many slots can do, whatever else there is: slots over the time that a cartridge
/// takes one.</param>
public sealed record SweepPoint(int Slots, Estimate AtFullStretch, double Bound);

/// <summary>A question answered.</summary>
/// <param name="AsAsked">The bench as asked.</param>
/// <param name="Beside">The bench with one more of each, and with more requests; all on the same days as the first of
/// them.</param>
/// <param name="SameDays">The bench as asked on those days alone, to compare with; null where its days were not
/// played.</param>
/// <param name="Limit">What limits it; null where one more of nothing clearly brings more, or of no single thing brings
/// clearly the most: 95 % intervals overlap.</param>
/// <param name="Sweep">More and more slots.</param>
/// <param name="Knee">The fewest slots that bring 95 % of the most that the sweep has; null without a sweep, and where
/// the 95 % interval of one slot fewer overlaps that of the most.</param>
public sealed record CapacityAnswer(
    Trial AsAsked, ImmutableArray<Trial> Beside, CapacityFigures? SameDays, Resource? Limit,
        ImmutableArray<SweepPoint> Sweep, int? Knee);

/// <summary>
/// Answers what a bench could do: plays days on several threads. Each day has a seed of its own and its place in what
/// comes out, so the threads play no part in it; and every bench that is tried has the same days, so that differences
/// are the bench's.
/// </summary>
public static class CapacityStudy
{
    /// <summary>A bench is stretched so many times.</summary>
    private const int Stretches = 4;

    /// <summary>In a sweep so many times for each number of slots.</summary>
    private const int SweepStretches = 4;

    /// <summary>One more brings something where it brings so much.</summary>
    private const double WorthMore = 0.03;

    private const double KneePart = 0.95;

    /// <summary>Plays what is asked.</summary>
    /// <param name="question">The bench and the demand; a demand of more than nothing.</param>
    /// <param name="order">How it is answered.</param>
    /// <param name="threads">So many threads.</param>
    /// <param name="progress">Told which part of the work is done, 0 to 1; from any thread.</param>
    /// <param name="stopped">Stops it.</param>
    /// <exception cref="OperationCanceledException">It was stopped.</exception>
    public static CapacityAnswer Answer(CapacityQuestion question, StudyOrder order, int threads,
        Action<double> progress, CancellationToken stopped)
    {
        ArgumentNullException.ThrowIfNull(question);
        ArgumentNullException.ThrowIfNull(order);
        ArgumentNullException.ThrowIfNull(progress);
        CapacityQuestion[] benches = [question, question.With(hands: 1), question.With(slots: 1),
            question.With(readers: 1)];
        Resource?[] added = [null, Resource.Hands, Resource.Slots, Resource.Readers];
        var more = question with
        { Demand = question.Demand.Times((question.Demand.PerDay + order.More) / question.Demand.PerDay) };
        var work = new Work(order, threads, progress, stopped);
        var stretched = work.Stretch(benches, order, question);
        CapacityQuestion[] played = [.. benches, more];
        var days =
            work.Days([.. played.Select((bench, index) => IsTooMuch(bench, stretched.Benches[index % benches.Length])
                ? null : bench)], order);
        Trial Of(int index) => new(
            index < added.Length ? added[index] : null, index < added.Length ? 0 : order.More, played[index],
            stretched.Benches[index % benches.Length].PerHour, stretched.Benches[index % benches.Length].Use,
            days[index] is { } seen ? CapacityFigures.Of(played[index], seen) : null);
        return new CapacityAnswer(
            Of(0), [.. Enumerable.Range(1, played.Length - 1).Select(Of)],
            days[0] is { } own ? CapacityFigures.Of(question, [.. own.Take(order.Compared)]) : null,
            LimitOf(stretched.Benches), stretched.Sweep, KneeOf(stretched.Sweep));
    }

    private static bool IsTooMuch(CapacityQuestion question, Stretched stretched) =>
        question.Demand.PerDay > stretched.PerHour.Value * (question.Demand.Close - question.Demand.Open).TotalHours;

    /// <summary>What limits a bench: that of which one more brings the most at full stretch.</summary>
    private static Resource? LimitOf(IReadOnlyList<Stretched> benches)
    {
        var (own, most) = (benches[0].PerHour.Value, benches.Skip(1).Max(bench => bench.PerHour.Value));
        if (most <= own * (1 + WorthMore))
            return null;
        var best = benches.Skip(1).ToList().FindIndex(bench => bench.PerHour.Value == most);
        return benches.Where((_, index) => index != best + 1)
            .All(other => benches[best + 1].PerHour.IsAbove(other.PerHour)) ? (Resource)best : null;
    }

    private static int? KneeOf(ImmutableArray<SweepPoint> sweep)
    {
        if (sweep.IsEmpty)
            return null;
        var most = sweep.MaxBy(point => point.AtFullStretch.Value)!.AtFullStretch;
        var knee = sweep.First(point => point.AtFullStretch.Value >= KneePart * most.Value).Slots;
        return knee == 1 || most.IsAbove(sweep[knee - 2].AtFullStretch) ? knee : null;
    }

    /// <summary>A bench that was stretched several times.</summary>
    private sealed record Stretched(Estimate PerHour, Use Use)
    {
        public static Stretched Of(CapacityQuestion question, IReadOnlyList<StretchedRun> runs)
        {
            var taken = runs.Aggregate(Taken.Nothing, (sum, run) =>
                new Taken(sum.Hands + run.Taken.Hands, sum.Slots + run.Taken.Slots, sum.Readers + run.Taken.Readers));
            var length = runs.Aggregate(Duration.Zero, (sum, run) => sum + run.Length);
            return new Stretched(
                Sections.Of(runs, some => some.Average(run => run.PerHour))!,
                length == Duration.Zero ? new Use(0, 0, 0) : Use.Of(taken, length, question.Bench));
        }
    }

    /// <summary>Does pieces of work on several threads, and counts them.</summary>
    private sealed class Work(StudyOrder order, int threads, Action<double> progress, CancellationToken stopped)
    {
        /// <summary>Stretching a bench takes about as long as so many days.</summary>
        private const int DaysAStretch = 4;

        private readonly long all = order.Days + (4 * order.Compared)
            + (DaysAStretch * ((4 * Stretches) + (order.MaxSlots * SweepStretches)));
        private long done;

        public (IReadOnlyList<Stretched> Benches, ImmutableArray<SweepPoint> Sweep) Stretch(CapacityQuestion[] benches,
            StudyOrder asked, CapacityQuestion question)
        {
            CapacityQuestion[] swept = [.. Enumerable.Range(1, asked.MaxSlots)
                .Select(slots => question with { Bench = question.Bench with { Slots = slots } })];
            (CapacityQuestion Question, int Run)[] pieces =
            [
                .. benches.SelectMany(bench => Enumerable.Range(0, Stretches).Select(run => (bench, run))),
                .. swept.SelectMany(bench => Enumerable.Range(0, SweepStretches).Select(run => (bench, run))),
            ];
            var runs = new StretchedRun[pieces.Length];
            Do(pieces.Length, DaysAStretch, index =>
                runs[index] = CapacityDay.Stretch(pieces[index].Question,
                    Seeds.Mix(asked.Seed, 1_000_000UL + (ulong)pieces[index].Run)));
            var ofBenches = benches.Select((bench, index) =>
                Stretched.Of(bench, runs[(index * Stretches)..((index + 1) * Stretches)])).ToList();
            var at = benches.Length * Stretches;
            var sweep = swept.Select((bench, index) => new SweepPoint(
                index
                    + 1,
                    Stretched.Of(bench,
                        runs[(at + (index * SweepStretches))..(at + ((index + 1) * SweepStretches))]).PerHour,
                        SlotBound.PerHour(bench)));
            return (ofBenches, [.. sweep]);
        }

        public IReadOnlyList<PlayedDay>?[] Days(CapacityQuestion?[] benches, StudyOrder asked)
        {
            (int Bench, int Day)[] pieces =
            [
                .. benches.SelectMany((bench, index) => bench is null
                    ? [] : Enumerable.Range(0, index == 0 ? asked.Days : asked.Compared).Select(day => (index, day))),
            ];
            var played = new PlayedDay[pieces.Length];
            Do(pieces.Length, 1, index =>
                played[index] = CapacityDay.Play(benches[pieces[index].Bench]!,
                    Seeds.Mix(asked.Seed, (ulong)pieces[index].Day)));
            var days = new IReadOnlyList<PlayedDay>?[benches.Length];
            foreach (var bench in pieces.Select((piece, index) => (piece.Bench, Day: played[index]))
                .GroupBy(piece => piece.Bench, piece => piece.Day))
                days[bench.Key] = [.. bench];
            return days;
        }

        private void Do(int pieces, int weight, Action<int> piece) =>
            Parallel.For(0, pieces,
                new ParallelOptions { MaxDegreeOfParallelism = threads, CancellationToken = stopped }, index =>
            {
                piece(index);
                progress(Math.Min(1, (double)Interlocked.Add(ref done, weight) / all));
            });
    }
}
