using System.Collections.Immutable;
using System.Globalization;
using Incubation.Model;
using Incubation.Planning;
using NodaTime;

namespace Incubation.Bench;

/// <summary>Instructions about what a bench can use, and what its host notes.</summary>
internal static class ResourceDecisions
{
    /// <summary>More hands than any bench has room for.</summary>
    private const int MaxHands = 8;

    /// <summary>Enough of a search to say what would be lost; an exact answer is the adopted plan's business.</summary>
    private const int ForeseeIterations = 100;

    private static readonly Duration Longest = Duration.FromHours(24);

    public static Decision ChangeHands(int hands) => hands is >= 1 and <= MaxHands
        ? Decisions.Accept(new BenchEvent.HandsChanged(hands))
        : Decisions.Refuse(Refusal.TooManyHands, MaxHands.ToString(CultureInfo.InvariantCulture));

    public static Decision PutOut(BenchState state, BenchCommand.PutOutOfUse put, Provenance provenance)
    {
        if (put.For is { } length && (length <= Duration.Zero || length > Longest))
            return Decisions.Refuse(Refusal.UnreadableLength);
        var entry = new CalendarEntry(put.Resource, provenance.At,
            provenance.At + (put.For ?? BenchResources.OpenEndedEntryLength), put.Why);
        if (!BenchResources.Exists(state, entry.Resource))
            return Decisions.Refuse(Refusal.NoSuchThing);
        var accepted = new BenchEvent.PutOutOfUse(entry);
        if (put.Resource is not BenchResource.Hands || put.Anyway)
            return Decisions.Accept(accepted);
        var lost = WouldBeLost(state, Changes.Apply(state, new BenchEntry(accepted, provenance)), provenance.At);
        return lost.IsEmpty
            ? Decisions.Accept(accepted)
            : Decisions.Refuse(Refusal.WouldBeLost,
                string.Join(", ", lost.Select(request => state.Find(request)!.Wanted.Request.Specimen.Value)));
    }

    /// <summary>Cartridges that a plan from here would lose with the change and not without it.</summary>
    private static ImmutableArray<RequestId> WouldBeLost(BenchState before, BenchState after, Instant now)
    {
        var lost = Losses(after, now);
        if (lost.IsEmpty)
            return [];
        return [.. lost.Except(before.Adopted is { } adopted
            ? adopted.Plan.Lost.Select(left => left.Request) : Losses(before, now))];
    }

    private static ImmutableArray<RequestId> Losses(BenchState state, Instant now)
    {
        var day = BenchProblem.Of(state, now);
        var plan = Planner.Plan(day, (ulong)state.Revision, new IterationBudget(ForeseeIterations),
            BenchProblem.RemainingPlan(state, day)).Plan;
        return [.. plan.Lost.Select(left => left.Request)];
    }

    public static Decision PutBack(BenchState state, BenchCommand.PutBackInUse put, Provenance provenance)
    {
        if (!state.OutOfUse.Any(entry => entry.Resource == put.Resource && entry.To > provenance.At))
            return Decisions.Refuse(Refusal.NotOutOfUse);
        ImmutableArray<BenchEvent> events = [new BenchEvent.PutBackInUse(put.Resource)];
        if (put.Resource is BenchResource.Reader reader && state.CardIn(reader.Number) is not null)
            events = events.Add(new BenchEvent.CardDoubted(reader.Number, CardDoubtCause.ReaderWasOut));
        return Decisions.Accept(events);
    }

    public static Decision Restarted(BenchState state, BenchCommand.NoteRestart restart, Provenance provenance)
    {
        var outage =
            Judged(state,
                new Outage(Instant.Min(restart.LastAlive, provenance.At), provenance.At, restart.ClockBelieved, [],
                    []), provenance.At);
        return Decisions.Accept(
        [
            new BenchEvent.Restarted(outage),
            .. state.Checkpoint.Readers.Where(reader => reader.Card is not null)
                .Select(reader => new BenchEvent.CardDoubted(reader.Reader, CardDoubtCause.Restarted)),
        ]);
    }

    /// <summary>
    /// When the time is agreed again, what could not be said of the last time that the server was down is said.
    /// </summary>
    public static Decision Clock(BenchState state, Duration? ahead, Provenance provenance) =>
        (ahead, state.Outage) switch
        {
            ({ } difference, _) => Decisions.Accept(new BenchEvent.ClockDoubted(ClockDoubt.Recorded(difference))),
            (null, { ClockBelieved: false } outage) => Decisions.Accept(
                new BenchEvent.ClockAgreed(),
                    new BenchEvent.Restarted(Judged(state, outage with { ClockBelieved = true }, provenance.At))),
            _ => Decisions.Accept(new BenchEvent.ClockAgreed()),
        };

    private static Outage Judged(BenchState state, Outage outage, Instant now)
    {
        if (!outage.ClockBelieved)
            return outage;
        var byFate = state.Cartridges.Where(cartridge => cartridge.Stage is CartridgeStage.InWork)
            .ToLookup(cartridge => IsLost(state, cartridge, now), cartridge => cartridge.Id);
        return outage with { Good = [.. byFate[false]], Lost = [.. byFate[true]] };
    }

    /// <summary>Whether time alone has spoilt a cartridge.</summary>
    private static bool IsLost(BenchState state, Cartridge cartridge, Instant now) => cartridge.Phase switch
    {
        CartridgePhase.Mixed mixed => now > mixed.MixEnd.Earliest + cartridge.Wanted.Assay.MixToLoad,
        _ => state.WindowOf(cartridge) is { } window && now > window.Closes,
    };
}
