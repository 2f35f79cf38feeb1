using Incubation.Model;
using Incubation.Planning;
using NodaTime;

namespace Incubation.Oracle;

/// <summary>How the solver is run.</summary>
/// <param name="Limit">It stops after so long.</param>
/// <param name="Workers">Threads. With one worker and no limit that bites, the same day gives the same plan.</param>
/// <param name="Hint">A valid plan of the same day to start from, or null.</param>
/// <param name="Seed">Seed of the solver's random choices.</param>
/// <param name="Parameters">More of the solver's parameters in its own text form, as <c>linearization_level:2</c>; for
/// experiments.</param>
public sealed record OracleOptions(Duration Limit, int Workers = 1, Plan? Hint = null, int Seed = 1,
    string Parameters = "");

/// <summary>A better plan, and when it was found.</summary>
/// <param name="After">Since the solver was called, building the model included.</param>
/// <param name="Cost">The plan's cost by rule 8, in seconds.</param>
public sealed record Improvement(Duration After, double Cost);

/// <summary>What the solver found.</summary>
/// <param name="Plan">The best plan found, or null where none was found within the limit. Ties of equal cost are not
/// settled.</param>
/// <param name="Bound">
/// No plan with as few losses, as little guard use and as few unplaced requests costs less; seconds. Zero where the
/// solver ran out of time before it knew the fewest losses.
/// </param>
/// <param name="Proved">Whether no plan has fewer losses, less guard use, fewer unplaced requests or, these equal, a
/// smaller cost.</param>
/// <param name="Took">How long it took, building the model included.</param>
/// <param name="Improvements">The plans by falling cost, the time of each; of the search for cost alone.</param>
public sealed record OracleResult(Plan? Plan, double Bound, bool Proved, Duration Took,
    IReadOnlyList<Improvement> Improvements);

/// <summary>
/// Plans a bench day with a general constraint solver (CP-SAT): slow, sure, and sharing no code with the planner. It
/// knows every rule: several hands, slots and readers, either place, shortest lengths, orders, last load times,
/// calendar, cards and a bench in mid-run with its losses and its guard.
/// </summary>
/// <remarks>
/// Not modelled: which of two plans of equal cost has fewer card changes or more spare time; needless card changes; and
/// that a cartridge whose move, read and clear all take no time may come to a reader while another is in it.
/// </remarks>
public static class Oracle
{
    /// <summary>Searches until the plan is proved best or the limit is reached.</summary>
    /// <param name="day">A day that does not contradict itself.</param>
    /// <param name="options">How to search.</param>
    /// <exception cref="NotSupportedException">The day's facts exclude each other, so that the solver finds no plan at
    /// all.</exception>
    public static OracleResult Solve(BenchDay day, OracleOptions options)
    {
        ArgumentNullException.ThrowIfNull(day);
        ArgumentNullException.ThrowIfNull(options);
        return new Solving(day, options).Run();
    }
}
