using System.Collections.Immutable;
using Incubation.Model;
using NodaTime;

namespace Incubation.Bench;

/// <summary>A request that waits and is left out of the plan, so that the rest is planned.</summary>
/// <param name="Request">Which.</param>
/// <param name="Since">Since when.</param>
public sealed record SetAside(RequestId Request, Instant Since);

/// <summary>What keeps a bench from planning all that waits and is in work.</summary>
/// <param name="Works">Whether a plan can be made of what is not set aside.</param>
/// <param name="Since">Since when none can, where that is so; else since when something is set aside.</param>
/// <param name="SetAside">Requests with which no plan can be made, or that are ready only after the time that is
/// planned.</param>
/// <param name="WithoutEnd">What is out of use until an instant with which no plan can be made: it is planned as out of
/// use until somebody says otherwise.</param>
/// <param name="Because">The cartridge in work that no plan can be made with, or null. It is never set aside.</param>
public sealed record PlanTrouble(bool Works, Instant Since, ImmutableArray<SetAside> SetAside,
    ImmutableArray<BenchResource> WithoutEnd, RequestId? Because)
{
    /// <summary>Whether a bench with this trouble stands as a note says.</summary>
    internal bool Is(BenchCommand.NotePlanning note) => Works == note.Works && Because == note.Because
        && SetAside.Select(aside => aside.Request).ToHashSet().SetEquals(note.SetAside)
        && WithoutEnd.ToHashSet().SetEquals(note.WithoutEnd);
}

/// <summary>How what keeps a bench from planning changes the state.</summary>
internal static class PlanTroubleChanges
{
    /// <summary>The note as it is recorded: only what waits is set aside, only what is in work is to blame.</summary>
    public static Decision Decide(BenchState state, BenchCommand.NotePlanning note)
    {
        var real = note with
        {
            SetAside = [.. note.SetAside.Distinct().Where(id => state.Find(id)?.Stage is CartridgeStage.Waiting)],
            Because = note.Works || note.Because is not { } id || state.Find(id)?.Stage is not CartridgeStage.InWork
                ? null : note.Because,
        };
        return (state.Run.Trouble ?? None).Is(real)
            ? Decisions.Refuse(Refusal.NothingToSettle)
            : Decisions.Accept(
                new BenchEvent.PlanningNoted(real.Works, real.SetAside, real.WithoutEnd, real.Because));
    }

    public static BenchState Noted(BenchState state, BenchEvent.PlanningNoted noted, Instant at)
    {
        var before = state.Run.Trouble;
        var trouble = new PlanTrouble(noted.Works, before is not null && before.Works == noted.Works
            ? before.Since : at,
            [.. noted.SetAside.Select(id => before?.SetAside.FirstOrDefault(aside => aside.Request == id)
                ?? new SetAside(id, at))],
            noted.WithoutEnd, noted.Because);
        return With(state, trouble);
    }

    /// <summary>A plan was adopted: planning works.</summary>
    public static BenchState Works(BenchState state) => state.Run.Trouble is { Works: false } trouble
        ? With(state, trouble with { Works = true, Because = null }) : state;

    /// <summary>A request was changed: whether a plan can be made with it is not known any more.</summary>
    public static BenchState Without(BenchState state, RequestId request) =>
        state.Run.Trouble is { } trouble && trouble.SetAside.Any(aside => aside.Request == request)
            ? With(state, trouble with { SetAside = trouble.SetAside.RemoveAll(aside => aside.Request == request) })
            : state;

    /// <summary>What is out of use was put out of it anew, or back.</summary>
    public static BenchState Without(BenchState state, BenchResource resource) =>
        state.Run.Trouble is { } trouble && trouble.WithoutEnd.Contains(resource)
            ? With(state, trouble with { WithoutEnd = trouble.WithoutEnd.Remove(resource) }) : state;

    private static PlanTrouble None { get; } = new(true, Instant.MinValue, [], [], null);

    /// <summary>An alarm that comes again is another: that it was seen before does not silence it.</summary>
    private static BenchState With(BenchState state, PlanTrouble trouble) => state.InRun(run => run with
    {
        Trouble = trouble is { Works: true, SetAside.IsEmpty: true, WithoutEnd.IsEmpty: true } ? null : trouble,
        Acknowledged = run.Acknowledged.Except(run.Acknowledged.Where(key => key.Kind == AlarmKind.SetAside
            && !trouble.SetAside.Any(aside => aside.Request == key.Request))),
    });
}
