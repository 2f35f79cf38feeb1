using System.Collections.Immutable;
using Incubation.Model;
using Incubation.Planning;
using NodaTime;

namespace Incubation.Bench;

/// <summary>How a bench goes on that cannot plan everything.</summary>
/// <param name="Note">What is to be recorded of it.</param>
/// <param name="Plan">A plan of the rest, made afresh, or null where none can be made or there is nothing to
/// plan.</param>
/// <param name="Fault">What was thrown where planning was tried at first, for the host's log; or null.</param>
public sealed record PlanAround(BenchCommand.NotePlanning Note, BenchCommand.AdoptPlan? Plan, Exception? Fault);

/// <summary>
/// Finds what keeps a bench from planning, by planning without it. What is set aside is as little as possible:
/// everything suspected is left out at first and taken in again, by halves, the least suspicious first, as long as a
/// plan can be made. A cartridge in work is never set aside; where no plan can be made for its sake, it is named.
/// </summary>
public static class PlanObstacles
{
    /// <summary>Whether a request that waits is ready only after the time that is planned.</summary>
    public static bool IsTooFar(Cartridge cartridge, Instant now)
    {
        ArgumentNullException.ThrowIfNull(cartridge);
        return cartridge.Stage is CartridgeStage.Waiting && !cartridge.HeldBack
            && cartridge.Wanted.Request.Ready - now > Bounds.PlannedWithin;
    }

    /// <summary>
    /// Whether there is something to look for before a plan is made: something is set aside already, or a request is
    /// ready too late.
    /// </summary>
    /// <param name="state">The bench.</param>
    /// <param name="now">The present.</param>
    public static bool Stand(BenchState state, Instant now)
    {
        ArgumentNullException.ThrowIfNull(state);
        return state.Run.Trouble is not null || state.Cartridges.Any(cartridge => IsTooFar(cartridge, now));
    }

    /// <summary>What to set aside, and a plan of the rest. Throws nothing that planning throws.</summary>
    /// <param name="state">The bench.</param>
    /// <param name="now">The present.</param>
    /// <param name="cause">Why a plan is wanted.</param>
    /// <param name="seed">Seed of the plans.</param>
    /// <param name="trials">How many plans may be tried; what was not tried when it ends stays set aside.</param>
    /// <param name="policy">What plans keep in reserve.</param>
    public static PlanAround Find(BenchState state, Instant now, PlanCause cause, ulong seed, ISearchBudget trials,
        SearchPolicy? policy = null)
    {
        ArgumentNullException.ThrowIfNull(state);
        ArgumentNullException.ThrowIfNull(trials);
        // As whatever decides on a plan reads it.
        state = LiveBench.Readable(state);
        var trial = new Trial(state, now, cause, seed, trials, policy ?? SearchPolicy.Live);
        ImmutableArray<RequestId> far = [.. state.Cartridges.Where(cartridge => IsTooFar(cartridge, now))
            .Select(cartridge => cartridge.Id)];
        if (trial.Passes(far, []))
            return new PlanAround(new BenchCommand.NotePlanning(true, far, [], null), trial.Plan, null);
        var suspects = Suspects(state, now, far);
        if (!trial.Passes([.. far, .. Requests(suspects)], Resources(suspects)))
            return new PlanAround(new BenchCommand.NotePlanning(false, far, [], trial.Blame(suspects, far)), null,
                trial.Fault);
        var admitted = new HashSet<Suspect>();
        Admit(suspects);
        var aside = suspects.RemoveAll(admitted.Contains);
        return new PlanAround(
            new BenchCommand.NotePlanning(true, [.. far, .. Requests(aside)], Resources(aside), null), trial.Plan,
            trial.Fault);

        void Admit(ImmutableArray<Suspect> some)
        {
            if (some.IsEmpty || !trial.MayGoOn)
                return;
            var left = suspects.RemoveAll(suspect => admitted.Contains(suspect) || some.Contains(suspect));
            if (trial.Passes([.. far, .. Requests(left)], Resources(left)))
                admitted.UnionWith(some);
            else if (some.Length > 1)
            {
                Admit(some[..(some.Length / 2)]);
                Admit(some[(some.Length / 2)..]);
            }
        }
    }

    /// <summary>A request that waits, or something that is out of use until an instant.</summary>
    private sealed record Suspect(RequestId? Request, BenchResource? Resource);

    private static ImmutableArray<RequestId> Requests(ImmutableArray<Suspect> suspects) =>
        [.. suspects.Select(suspect => suspect.Request).OfType<RequestId>()];

    private static ImmutableArray<BenchResource> Resources(ImmutableArray<Suspect> suspects) =>
        [.. suspects.Select(suspect => suspect.Resource).OfType<BenchResource>()];

    /// <summary>What may be left out, the one whose times lie nearest to now first.</summary>
    private static ImmutableArray<Suspect> Suspects(BenchState state, Instant now, ImmutableArray<RequestId> far)
    {
        var requests = state.Cartridges
            .Where(cartridge => cartridge.Stage is CartridgeStage.Waiting && !far.Contains(cartridge.Id))
            .Select(cartridge => (Suspect: new Suspect(cartridge.Id, null), Reach: Reach(cartridge.Wanted, now)));
        var resources = state.OutOfUse.Where(entry => entry.To > now)
            .Select(entry => (Suspect: new Suspect(null, entry.Resource), Reach: entry.To - now));
        return [.. resources.Concat(requests).OrderBy(one => one.Reach).Select(one => one.Suspect).Distinct()];
    }

    private static Duration Reach(BenchRequest wanted, Instant now) =>
        new[] { wanted.Request.Ready, wanted.Request.Due ?? now, wanted.Request.LoadBy ?? now }
            .Max(instant => instant > now ? instant - now : now - instant);

    /// <summary>Tries to plan without some things; keeps the last plan that it made.</summary>
    private sealed class Trial(BenchState state, Instant now, PlanCause cause, ulong seed, ISearchBudget budget,
        SearchPolicy policy)
    {
        private static readonly IterationBudget NoSearch = new(0);
        private long tried;

        /// <summary>The plan of the last trial that passed, or null where it had nothing to plan.</summary>
        public BenchCommand.AdoptPlan? Plan { get; private set; }

        /// <summary>What was thrown first, or null.</summary>
        public Exception? Fault { get; private set; }

        public bool MayGoOn => budget.AllowsMore(tried);

        /// <summary>Whether a plan can be made without these, and is one that the bench would adopt.</summary>
        public bool Passes(ImmutableArray<RequestId> without, ImmutableArray<BenchResource> withoutEnd)
        {
            tried++;
            var left = Leaving(without, withoutEnd);
            try
            {
                var plan = PlanReplacement.Afresh(left, now, cause, seed, NoSearch, policy);
                if (plan is not null && Decisions.Adopt(left, plan, now) is not Decision.Accepted)
                    return false;
                Plan = plan;
                return true;
            }
            catch (Exception fault) when (fault is not OutOfMemoryException)
            {
                // Whatever it is, the bench must go on.
                Fault ??= fault;
                return false;
            }
        }

        /// <summary>The cartridge in work without which a plan could be made, or null.</summary>
        public RequestId? Blame(ImmutableArray<Suspect> suspects, ImmutableArray<RequestId> far)
        {
            var left = Leaving([.. far, .. Requests(suspects)], Resources(suspects));
            foreach (var cartridge in state.Cartridges)
            {
                if (cartridge.Stage is not CartridgeStage.InWork)
                    continue;
                if (!MayGoOn)
                    return null;
                if (PassesWithout(left, cartridge.Id))
                    return cartridge.Id;
            }

            return null;
        }

        private bool PassesWithout(BenchState left, RequestId one)
        {
            tried++;
            try
            {
                Planner.Plan(BenchProblem.Of(left, now, one), seed, NoSearch);
                return true;
            }
            catch (Exception fault) when (fault is not OutOfMemoryException)
            {
                return false;
            }
        }

        private BenchState Leaving(ImmutableArray<RequestId> without, ImmutableArray<BenchResource> withoutEnd) =>
            state.InRun(run => run with
            {
                Trouble = new PlanTrouble(true, now, [.. without.Select(id => new SetAside(id, now))], withoutEnd,
                    null),
            });
    }
}
