using System.Collections.Immutable;
using Incubation.Model;
using NodaTime;

namespace Incubation.Bench;

/// <summary>
/// The live bench: one deterministic state machine. It reads no clock, draws no random number and does no I/O;
/// the same entries always give the same state.
/// </summary>
public static class LiveBench
{
    /// <summary>What is to be recorded for a command. A null state is a bench whose stream is empty.</summary>
    public static Decision Decide(BenchState? state, BenchCommand command, Touch touch) => Decisions.Decide(state, command, touch);

    /// <summary>The state after one more entry. Accepts every entry that <see cref="Decide"/> ever produced.</summary>
    public static BenchState Apply(BenchState? state, BenchEntry entry) => Changes.Apply(state, entry);

    /// <summary>What is due at an instant, and which alarms stand.</summary>
    public static BenchLook Look(BenchState state, Instant now) => BenchViews.Look(state, now);

    /// <summary>The next step of each pair of hands that has one, as <see cref="Look"/> gives them, without the rest of what a bench shows.</summary>
    public static ImmutableArray<Offer> Offers(BenchState state) => BenchViews.Offers(state);

    /// <summary>
    /// Whether what a step needs is there at an instant: its cartridge has come so far, and the place where it goes is free.
    /// Hands whose time has come wait for it, for other hands to be done with it perhaps.
    /// </summary>
    public static bool CanBegin(BenchState state, StepAction action, Instant now) => Progress.CanBegin(state, action, now);

    /// <summary>When the adopted plan should be made anew if nothing is reported until then, or null; as <see cref="Look"/> gives it.</summary>
    public static Instant? ReplanAt(BenchState state, Instant now) => Replanning.At(state, now);

    /// <summary>Cartridges that are given up at an instant, and why; as <see cref="Look"/> gives them.</summary>
    public static ImmutableArray<Loss> GivenUp(BenchState state, Instant now) => Losses.Of(state, now);

    /// <summary>The planning problem from where the bench stands at an instant.</summary>
    public static BenchDay Problem(BenchState state, Instant now) => BenchProblem.Of(state, now);
}
