using System.Collections.Immutable;
using Incubation.Model;
using NodaTime;

namespace Incubation.Bench;

/// <summary>
/// A bench as everything that reads it has it: a log may hold times that nothing takes over any more (a report at 1970,
/// a request ready in 9999), and no plan, view, picture or sum can be made of them. Each lies at the nearest time that
/// can be: from <see cref="Bounds.PlannedWithin"/> before the batch could begin until as long after the last that was
/// heard. What is applied to the bench, and what names something, is never changed.
/// </summary>
internal static class ReadableTimes
{
    /// <summary>What dates of lots can be, and so what is worked out from them.</summary>
    private static readonly (Instant First, Instant Last) Dates =
        (Instant.FromUtc(1990, 1, 1, 0, 0), Instant.FromUtc(2100, 12, 31, 0, 0));

    /// <summary>The bench itself, where all its times can be read as they are.</summary>
    public static BenchState Of(BenchState state)
    {
        var bounds = new Reading(state.Run.Since.Later(-Bounds.PlannedWithin),
            state.LastArrived.Later(Bounds.PlannedWithin));
        var read = state with { Checkpoint = Of(state.Checkpoint, bounds), Run = Of(state.Run, bounds) };
        return bounds.Changed ? read : state;
    }

    private static BenchCheckpoint Of(BenchCheckpoint bench, Reading times) => bench with
    {
        Hands = [.. bench.Hands.Select(hands => hands with { LastReport = times.Of(hands.LastReport) })],
        OutOfUse = [.. bench.OutOfUse.Select(entry => entry with
            { From = times.Of(entry.From), To = times.Of(entry.To) })],
        Temperature = bench.Temperature is { } measured ? measured with { At = times.Of(measured.At) } : null,
        OutsideSince = times.Of(bench.OutsideSince),
        InsideSince = times.Of(bench.InsideSince),
        ClockMark = bench.ClockMark is { } mark ? mark with { Since = times.Of(mark.Since) } : null,
        Unchecked = [.. bench.Unchecked.Select(report => report with { At = times.Of(report.At) })],
        LotGates = [.. bench.LotGates.Select(gate => gate with { Since = times.Of(gate.Since) })],
        ReadinessWords = [.. bench.ReadinessWords.Select(word => word with { Since = times.Of(word.Since) })],
    };

    private static BatchRun Of(BatchRun run, Reading times) => run with
    {
        StartedAt = times.Of(run.StartedAt),
        Cartridges = [.. run.Cartridges.Select(cartridge => Of(cartridge, times))],
        Done = Each(run.Done, times, static (done, times) => times.Reads(done.Start) && times.Reads(done.End)
            ? done : done with { Start = times.Of(done.Start), End = times.Of(done.End) }),
        Adopted = run.Adopted is { } adopted ? Of(adopted, times) : null,
        NotKnown = [.. run.NotKnown.Select(step => step with
            { Begun = times.Of(step.Begun), Since = times.Of(step.Since) })],
        Silent = [.. run.Silent.Select(hands => hands with { Since = times.Of(hands.Since) })],
        Returned = [.. run.Returned.Select(hands => hands with { At = times.Of(hands.At) })],
        GivenUp = [.. run.GivenUp.Select(given => given with { Since = times.Of(given.Since) })],
        Story = run.Story.TrueForAll(told => Reads(told, times)) ? run.Story : run.Story.ConvertAll(told => told with
        {
            At = times.Of(told.At),
            HeardBy = times.Of(told.HeardBy),
            Event = Of(told.Event, times),
        }),
        Rejected = [.. run.Rejected.Select(rejected => rejected with { At = times.Of(rejected.At) })],
        Outage = run.Outage is { } outage
            ? outage with { Since = times.Of(outage.Since), Until = times.Of(outage.Until) } : null,
    };

    private static Cartridge Of(Cartridge cartridge, Reading times)
    {
        var request = cartridge.Wanted.Request;
        return cartridge with
        {
            Wanted = cartridge.Wanted with
            {
                Request = request with
                {
                    // What is ready too late to be planned is set aside, and named with its time.
                    Ready = times.Of(request.Ready, times.First, Instant.MaxValue),
                    Due = times.Of(request.Due),
                    LoadBy = times.Of(request.LoadBy, Dates.First, Dates.Last),
                },
            },
            WantedSince = times.Of(cartridge.WantedSince, Dates.First, Instant.MaxValue),
            Fate = cartridge.Fate switch
            {
                RequestFate.CarriedOver carried => carried with { At = times.Of(carried.At) },
                RequestFate.GivenUp given => given with { At = times.Of(given.At) },
                var other => other,
            },
            Stage = cartridge.Stage switch
            {
                CartridgeStage.InWork work => work with { Phase = Of(work.Phase, times) },
                CartridgeStage.Astray astray => astray with
                { Last = Of(astray.Last, times), Since = times.Of(astray.Since) },
                CartridgeStage.Cleared cleared => cleared with { End = times.Of(cleared.End) },
                CartridgeStage.Discarded discarded => discarded with { End = times.Of(discarded.End) },
                var other => other,
            },
            Status = cartridge.Status is { } status ? status with
            {
                EnteredAt = times.Of(status.EnteredAt),
                Out = status.Out is { } since ? times.Of(since) : null,
                Replaced = [.. status.Replaced.Select(earlier => earlier with { At = times.Of(earlier.At) })],
                Earlier = [.. status.Earlier.Select(earlier => earlier with { At = times.Of(earlier.At) })],
                Told = status.Told is { } told ? told with { At = times.Of(told.At) } : null,
            } : null,
        };
    }

    private static CartridgePhase Of(CartridgePhase phase, Reading times) => phase switch
    {
        CartridgePhase.Mixed mixed => mixed with { MixEnd = times.Of(mixed.MixEnd) },
        CartridgePhase.Reacting reacting => reacting with { LoadEnd = times.Of(reacting.LoadEnd) },
        CartridgePhase.Reading reading => reading with { Start = times.Of(reading.Start) },
        _ => phase,
    };

    private static AdoptedPlan Of(AdoptedPlan adopted, Reading times)
    {
        static PlannedStep Step(PlannedStep step, Reading times) => times.Reads(step.Start) && times.Reads(step.End)
            ? step : step with { Start = times.Of(step.Start), End = times.Of(step.End) };
        static RemainingStep Row(RemainingStep row, Reading times) => Step(row.Step, times) is var read
            && ReferenceEquals(read, row.Step) ? row : row with { Step = read };
        return adopted with
        {
            At = times.Of(adopted.At),
            Plan = adopted.Plan.Steps.All(step => ReferenceEquals(Step(step, times), step)) ? adopted.Plan
                : adopted.Plan with { Steps = [.. adopted.Plan.Steps.Select(step => Step(step, times))] },
            Remaining = Each(adopted.Remaining, times, Row),
        };
    }

    /// <summary>
    /// What a long batch has many of is copied only where something of it cannot be read: this is asked before each
    /// decision.
    /// </summary>
    private static ImmutableArray<T> Each<T>(ImmutableArray<T> items, Reading times, Func<T, Reading, T> read)
        where T : class
    {
        for (var index = 0; index < items.Length; index++)
            if (!ReferenceEquals(read(items[index], times), items[index]))
                return [.. items.Select(item => read(item, times))];
        return items;
    }

    private static bool Reads(ReportedStep told, Reading times) => times.Reads(told.At) && times.Reads(told.HeardBy)
        && told.Event switch
        {
            BenchEvent.Mixed mixed => times.Reads(mixed.Begun) && times.Reads(mixed.End),
            BenchEvent.Loaded loaded => times.Reads(loaded.Begun) && times.Reads(loaded.End),
            BenchEvent.ReadStarted started => times.Reads(started.Begun) && times.Reads(started.Start),
            BenchEvent.Cleared cleared => times.Reads(cleared.Begun) && times.Reads(cleared.End)
                && times.Reads(cleared.ReadStartedByItself),
            BenchEvent.CardChanged changed => times.Reads(changed.Begun) && times.Reads(changed.End),
            BenchEvent.Discarded discarded => times.Reads(discarded.Begun) && times.Reads(discarded.End),
            _ => true,
        };

    private static BenchEvent.StoryEvent Of(BenchEvent.StoryEvent told, Reading times) => told switch
    {
        BenchEvent.Mixed mixed => mixed with { Begun = times.Of(mixed.Begun), End = times.Of(mixed.End) },
        BenchEvent.Loaded loaded => loaded with { Begun = times.Of(loaded.Begun), End = times.Of(loaded.End) },
        BenchEvent.ReadStarted started => started with
        { Begun = times.Of(started.Begun), Start = times.Of(started.Start) },
        BenchEvent.Cleared cleared => cleared with
        {
            Begun = times.Of(cleared.Begun),
            End = times.Of(cleared.End),
            ReadStartedByItself = times.Of(cleared.ReadStartedByItself),
        },
        BenchEvent.CardChanged changed => changed with
        { Begun = times.Of(changed.Begun), End = times.Of(changed.End) },
        BenchEvent.Discarded discarded => discarded with
        { Begun = times.Of(discarded.Begun), End = times.Of(discarded.End) },
        _ => told,
    };

    /// <summary>Reads times between two, and remembers whether one lay outside.</summary>
    private sealed class Reading(Instant first, Instant last)
    {
        public Instant First => first;

        public bool Changed { get; private set; }

        /// <summary>Whether a time lies where it can be read as it is.</summary>
        public bool Reads(Instant at) => first <= at && at <= last;

        public bool Reads(Instant? at) => at is not { } known || Reads(known);

        public bool Reads(InstantRange range) => Reads(range.Earliest) && Reads(range.Latest);

        public Instant Of(Instant at) => Of(at, first, last);

        public Instant? Of(Instant? at) => at is { } known ? Of(known) : null;

        public Instant? Of(Instant? at, Instant from, Instant to) => at is { } known ? Of(known, from, to) : null;

        public InstantRange Of(InstantRange range) => new(Of(range.Earliest), Of(range.Latest));

        public Instant Of(Instant at, Instant from, Instant to)
        {
            var read = at.Within(from, to);
            Changed |= read != at;
            return read;
        }
    }
}
