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
    public static Decision Decide(BenchState? state, BenchCommand command, Touch touch) => Deciding.Decide(state, command, touch);

    /// <summary>The state after one more entry. Accepts every entry that <see cref="Decide"/> ever produced.</summary>
    public static BenchState Apply(BenchState? state, BenchEntry entry) => Applying.Apply(state, entry);

    /// <summary>What is due at an instant, and which alarms stand.</summary>
    public static BenchLook Look(BenchState state, Instant now) => Looking.Look(state, now);

    /// <summary>The planning problem from where the bench stands at an instant.</summary>
    public static BenchDay Problem(BenchState state, Instant now) => BenchProblem.Of(state, now);
}
