using Incubation.Model;
using NodaTime;

namespace Incubation.Bench;

/// <summary>How requests that come and go, and the end of a batch, change the state.</summary>
internal static class BatchChanges
{
    public static BenchState Added(BenchState state, BenchEvent.RequestsAdded added, Instant arrived) =>
        state.InRun(run => run with
        {
            Cartridges = run.Cartridges.AddRange(added.Requests.Select(wanted =>
                new Cartridge(wanted, new CartridgeStage.Waiting(), [], ReadInWindow: null, Result: null)
                {
                    Came = arrived,
                })),
        });

    /// <summary>When a request will be ready; held back where nobody knows.</summary>
    public static BenchState ReadyChanged(BenchState state, BenchEvent.ReadyChanged changed) =>
        With(PlanTroubleChanges.Without(state, changed.Request), changed.Request, cartridge => cartridge with
        {
            HeldBack = changed.Ready is null,
            Wanted = changed.Ready is { } ready
                ? cartridge.Wanted with { Request = cartridge.Wanted.Request with { Ready = ready } }
                : cartridge.Wanted,
        });

    /// <summary>How much waiting for a request hurts.</summary>
    public static BenchState PriorityChanged(BenchState state, BenchEvent.PriorityChanged changed) =>
        With(state, changed.Request, cartridge => cartridge with
        {
            Wanted = cartridge.Wanted with
            {
                Request = cartridge.Wanted.Request with { Priority = changed.Priority },
            },
        });

    /// <summary>When the results of a request should be there.</summary>
    public static BenchState DueChanged(BenchState state, BenchEvent.DueChanged changed) =>
        With(state, changed.Request, cartridge => cartridge with
        {
            Wanted = cartridge.Wanted with { Request = cartridge.Wanted.Request with { Due = changed.Due } },
        });

    /// <summary>What is noted about a request goes with it, to its repeat and to the next batch.</summary>
    public static BenchState Commented(BenchState state, BenchEvent.RequestCommented commented) =>
        With(state, commented.Request, cartridge => cartridge with
        {
            Wanted = cartridge.Wanted with { Comment = commented.Comment },
        });

    /// <summary>A cartridge in work that is not wanted any more.</summary>
    public static BenchState DiscardAsked(BenchState state, BenchEvent.DiscardAsked asked) =>
        With(state, asked.Request, cartridge => cartridge with { MustGo = asked.Reason });

    public static BenchState Rejected(BenchState state, BenchEvent.SpecimenRejected rejected, Provenance provenance) =>
        state.InRun(run => run with
        {
            Rejected = run.Rejected.Add(new RejectedSpecimen(
                rejected.Specimen, rejected.Assay, rejected.Why, provenance.At, provenance.Person)),
        });

    public static BenchState IntakePaused(BenchState state, bool paused) =>
        state.InCheckpoint(bench => bench with { IntakePaused = paused });

    public static BenchState Closed(BenchState state)
    {
        var bench = state.Checkpoint with { Batch = state.Batch + 1 };
        return state with { Checkpoint = bench, Run = BenchState.NewRun(bench) };
    }

    /// <summary>A repeat is wanted since its first request was.</summary>
    public static BenchState RepeatOrdered(BenchState state, BenchEvent.RepeatOrdered repeat) =>
        With(state, repeat.Repeat, cartridge => cartridge with
        {
            RepeatOf = repeat.Of,
            WantedSince = state.Find(repeat.Of)?.WaitsSince,
        });

    /// <summary>What becomes of a request; one that waits is taken out of the batch.</summary>
    public static BenchState Given(BenchState state, RequestId request, RequestFate fate)
    {
        var taken = state.Find(request)?.Stage is CartridgeStage.Waiting
            ? Ended(state, request, new CartridgeStage.Withdrawn()) : state;
        return With(taken, request, cartridge => cartridge with { Fate = fate });
    }

    /// <summary>One that was not mixed waits again.</summary>
    public static BenchState FateRevoked(BenchState state, BenchEvent.FateRevoked revoked) =>
        With(state, revoked.Request, cartridge => cartridge with
        {
            Fate = null,
            Stage = cartridge.Stage is CartridgeStage.Withdrawn ? new CartridgeStage.Waiting() : cartridge.Stage,
        });

    /// <summary>What was carried over waits in the batch.</summary>
    public static BenchState CarriedOver(BenchState state, BenchEvent.RequestsCarriedOver carried, Instant arrived) =>
        state.InRun(run => run with
        {
            Cartridges = run.Cartridges.AddRange(carried.Requests.Select(one =>
                new Cartridge(one.Wanted, new CartridgeStage.Waiting(), [], ReadInWindow: null, Result: null)
                {
                    Came = arrived,
                    WantedSince = one.Since,
                    FromBatch = carried.From,
                    RepeatOf = one.RepeatOf,
                    HeldBack = one.HeldBack,
                })),
        });

    /// <summary>A cartridge with which nothing remains to be done: its rows of the plan go.</summary>
    public static BenchState Ended(BenchState state, RequestId request, CartridgeStage stage) =>
        PlanChanges.WithoutRows(
            With(PlanTroubleChanges.Without(state, request), request, cartridge => cartridge with { Stage = stage }),
            action => action.Subject == request);

    /// <summary>The bench with one of its cartridges changed.</summary>
    public static BenchState With(BenchState state, RequestId request, Func<Cartridge, Cartridge> change) =>
        state.InRun(run => run.With(request, change));
}
