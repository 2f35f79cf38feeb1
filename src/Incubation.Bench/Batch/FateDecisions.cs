using System.Collections.Immutable;
using System.Globalization;
using Incubation.Model;

namespace Incubation.Bench;

/// <summary>
/// Instructions about requests without a value: given up, carried over, and what of it stands in the next batch.
/// </summary>
internal static class FateDecisions
{
    public static Decision CarryOver(BenchState state, RequestId request)
    {
        if (state.Find(request) is not { } cartridge)
            return Decisions.Refuse(Refusal.UnknownRequest, request.Value);
        return WhyNotCarried(state, cartridge) is { } why
            ? Decisions.Refuse(why, request.Value)
            : Decisions.Accept(new BenchEvent.RequestCarriedOver(request));
    }

    /// <summary>Why a request cannot be carried over now, or null where it can.</summary>
    public static Refusal? WhyNotCarried(BenchState state, Cartridge cartridge) =>
        state.Phase != BatchPhase.Running ? Refusal.BatchNotRunning
        : WhyNoFate(cartridge) is { } why ? why
        : cartridge.Fate is RequestFate.CarriedOver || HasOtherFate(state, cartridge) ? Refusal.FateStands
        : IsUsed(cartridge) && !cartridge.Wanted.Request.RepeatLeft ? Refusal.NoSpecimenLeft
        : null;

    /// <summary>
    /// A reason is always asked for, and a patient's specimen is given up only by somebody who confirms it. Giving up
    /// a repeat that was not mixed gives up the request that it repeats.
    /// </summary>
    public static Decision GiveUp(BenchState state, BenchCommand.GiveUpRequest give)
    {
        if (state.Find(give.Request) is not { } cartridge)
            return Decisions.Refuse(Refusal.UnknownRequest, give.Request.Value);
        if (string.IsNullOrWhiteSpace(give.Why))
            return Decisions.Refuse(Refusal.ReasonMissing);
        if (WhyNoFate(cartridge) is { } why)
            return Decisions.Refuse(why, give.Request.Value);
        if (cartridge.Fate is RequestFate.GivenUp || HasOtherFate(state, cartridge))
            return Decisions.Refuse(Refusal.FateStands, give.Request.Value);
        return cartridge.Wanted.Request.Kind == RequestKind.Patient && !give.Confirmed
            ? Decisions.Refuse(Refusal.GivingUpNotConfirmed, cartridge.Wanted.Request.Specimen.Value)
            : Decisions.Accept([.. WithFirsts(state, cartridge).Select(one =>
                (BenchEvent)new BenchEvent.RequestGivenUp(one.Id, give.Why))]);
    }

    /// <summary>What was said is taken back: the request has no fate again, and waits where it was not mixed.</summary>
    public static Decision Revoke(BenchState state, RequestId request)
    {
        if (state.Find(request) is not { } cartridge)
            return Decisions.Refuse(Refusal.UnknownRequest, request.Value);
        return cartridge.Fate is null && cartridge.Stage is not CartridgeStage.Withdrawn
            ? Decisions.Refuse(Refusal.NoFate, request.Value)
            : Decisions.Accept([.. WithFirsts(state, cartridge)
                .Where(one => one.Id == request || one.Fate is RequestFate.GivenUp)
                .Select(one => (BenchEvent)new BenchEvent.FateRevoked(one.Id))]);
    }

    /// <summary>What stands in the next batch when this one is closed, in the order in which it came.</summary>
    /// <param name="state">The bench.</param>
    /// <param name="lots">Other lots for those whose own may not be used any more.</param>
    /// <param name="provenance">Who closes the batch.</param>
    public static ImmutableArray<CarriedRequest> Carried(BenchState state, IReadOnlyList<OtherLot> lots,
        Provenance provenance)
    {
        var carried = state.Cartridges.Where(cartridge => cartridge.Fate is RequestFate.CarriedOver
            && cartridge.IsOver && Fates.HasNoValue(cartridge)).ToList();
        var taken = state.Cartridges.Select(cartridge => cartridge.Id).ToHashSet();
        var stay = carried.Where(cartridge => !IsUsed(cartridge)).Select(cartridge => cartridge.Id).ToHashSet();
        var made = ImmutableArray.CreateBuilder<CarriedRequest>(carried.Count);
        foreach (var cartridge in carried)
        {
            var isUsed = IsUsed(cartridge);
            var first = cartridge.Wanted.Request;
            var request = first with { After = [.. first.After.Where(stay.Contains)] };
            if (isUsed)
                request = BatchDecisions.RepeatOf(cartridge, NewId(taken, cartridge.Id, provenance), provenance.At);
            if (lots.FirstOrDefault(other => other.Request == cartridge.Id) is { } other)
                request = request with { Lot = other.Lot, LoadBy = other.LoadBy };
            taken.Add(request.Id);
            made.Add(new CarriedRequest(cartridge.Wanted with { Request = request },
                isUsed ? cartridge.Id : cartridge.RepeatOf, cartridge.WaitsSince, !isUsed && cartridge.HeldBack));
        }

        return made.DrainToImmutable();
    }

    /// <summary>
    /// The repeat's own id: the first request's with a number behind, the first that is free; else that of the order
    /// itself.
    /// </summary>
    public static RequestId NewId(IReadOnlySet<RequestId> taken, RequestId of, Provenance provenance) =>
        Enumerable.Range(2, 98)
            .Select(number => string.Create(CultureInfo.InvariantCulture, $"{of.Value}-{number}"))
            .Where(text => TextId.IsValid(text) && !taken.Contains(new RequestId(text)))
            .Select(text => (RequestId?)new RequestId(text))
            .FirstOrDefault() ?? OfOrder(taken, provenance.Id.Value);

    private static RequestId OfOrder(IReadOnlySet<RequestId> taken, string order)
    {
        var id = new RequestId(order);
        for (var number = 2; taken.Contains(id); number++)
        {
            var behind = string.Create(CultureInfo.InvariantCulture, $"-{number}");
            id = new RequestId(order[..Math.Min(order.Length, TextId.MaximumLength - behind.Length)] + behind);
        }

        return id;
    }

    /// <summary>
    /// What a report is recorded as. One that was carried over or given up and is mixed or loaded all the same is in
    /// work: what was said to become of it is not so.
    /// </summary>
    public static Decision Hear(BenchState state, BenchCommand.Report report, Provenance provenance)
    {
        var subject = report switch
        {
            BenchCommand.Mixed mixed => mixed.Request,
            BenchCommand.Loaded loaded => loaded.Request,
            _ => (RequestId?)null,
        };
        if (subject is not { } request
            || state.Find(request) is not { Fate: not null, Stage: CartridgeStage.Withdrawn })
            return ReportDecisions.Decide(state, report, provenance);
        var revoked = new BenchEvent.FateRevoked(request);
        var decision = ReportDecisions.Decide(BatchChanges.FateRevoked(state, revoked), report, provenance);
        return decision is Decision.Accepted accepted
            && accepted.Events.Any(happened => happened is BenchEvent.Mixed or BenchEvent.Loaded)
            ? accepted with { Events = accepted.Events.Insert(0, revoked) }
            : decision;
    }

    /// <summary>Why nothing can be said yet of what becomes of a request, or null where it can.</summary>
    private static Refusal? WhyNoFate(Cartridge cartridge) =>
        cartridge.HasValue ? Refusal.HasItsValue
        : cartridge.ResultMissing ? Refusal.ResultsMissing
        : cartridge.IsOver || cartridge.Stage is CartridgeStage.Waiting ? null
        : Refusal.StillInWork;

    /// <summary>
    /// Whether a repeat goes on for it, or, of a repeat that was taken back, its first request has a fate.
    /// </summary>
    private static bool HasOtherFate(BenchState state, Cartridge cartridge) =>
        Fates.RepeatOf(state, cartridge) is not null
            || (cartridge.Stage is CartridgeStage.Withdrawn && Fates.FirstOf(state, cartridge) is { Fate: not null });

    private static bool IsUsed(Cartridge cartridge) =>
        cartridge.Stage is not (CartridgeStage.Waiting or CartridgeStage.Withdrawn);

    /// <summary>A request, and those whose repeat it is as long as none of their repeats was mixed.</summary>
    private static List<Cartridge> WithFirsts(BenchState state, Cartridge cartridge)
    {
        var all = new List<Cartridge> { cartridge };
        while (!IsUsed(all[^1]) && Fates.FirstOf(state, all[^1]) is { } first && !all.Contains(first))
            all.Add(first);
        return all;
    }
}
