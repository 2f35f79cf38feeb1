using Incubation.Model;
using NodaTime;
using NodaTime.Text;

namespace Incubation.Bench;

/// <summary>
/// Which times that come with a command can be. A report is a fact: whatever its time, it is recorded, as of its
/// arrival where its time cannot be. An instruction whose time cannot be is refused.
/// </summary>
internal static class ReportTimes
{
    /// <summary>
    /// A report's touch as it is recorded, and why its time was not taken over, or null where it was. Clocks may
    /// differ by <see cref="ClockDoubt.Tolerance"/>; nothing is later than its arrival.
    /// </summary>
    public static (Provenance As, TimeFault? Fault) Take(BenchState state, BenchCommand.Report report, Provenance said)
    {
        var earliest = Earliest(state, SubjectOf(report), said.Arrived);
        return (said.Claimed is null ? FaultOf(said.At, earliest, said.Arrived) : TimeFault.Unreadable) is { } fault
            ? (said with
            {
                At = said.Arrived,
                Claimed = said.Claimed ?? InstantPattern.ExtendedIso.Format(said.At),
            }, fault)
            : (said with { At = Instant.Min(said.At, said.Arrived) }, null);
    }

    /// <summary>
    /// An instruction's touch as it is recorded; null where it cannot have been at its time. What a person says to be
    /// ready may have been so before the bench knew of it.
    /// </summary>
    public static Provenance? Take(BenchState state, BenchCommand.Instruction instruction, Provenance said)
    {
        var earliest = instruction is BenchCommand.ConfirmReady
            ? said.Arrived.Later(-Bounds.PlannedWithin) : Earliest(state, SubjectOf(state, instruction), said.Arrived);
        return FaultOf(said.At, earliest, said.Arrived) is null
            ? said with { At = Instant.Min(said.At, said.Arrived) } : null;
    }

    /// <summary>
    /// The earliest that something told now can have happened: when the last batch was closed, or the bench opened; of
    /// a cartridge, when its request came.
    /// </summary>
    public static Instant Earliest(BenchState state, RequestId? subject, Instant arrived)
    {
        var came = subject is { } request && state.Find(request) is { } cartridge
            ? Instant.Max(state.Run.Since, cartridge.Came) : state.Run.Since;
        // A server whose clock went back has heard nothing yet by its present time.
        return Instant.Min(came, arrived);
    }

    /// <summary>
    /// Whether a read is said to have begun in a window that has closed by the time at which it is said: a word against
    /// the clock.
    /// </summary>
    public static bool IsStatedInTime(BenchState state, RequestId request, Instant at, Instant said) =>
        state.Find(request) is { } cartridge && state.WindowOf(cartridge) is { } window
        && at <= window.Closes && window.Closes < said;

    private static TimeFault? FaultOf(Instant at, Instant earliest, Instant arrived) =>
        at > arrived.Later(ClockDoubt.Tolerance) ? TimeFault.AfterArrival
        : at < earliest.Later(-ClockDoubt.Tolerance) ? TimeFault.TooEarly
        : null;

    private static RequestId? SubjectOf(BenchCommand.Report report) => report switch
    {
        BenchCommand.Mixed mixed => mixed.Request,
        BenchCommand.Loaded loaded => loaded.Request,
        BenchCommand.ReadStarted started => started.Request,
        BenchCommand.Cleared cleared => cleared.Request,
        BenchCommand.Discarded discarded => discarded.Request,
        BenchCommand.ResultEntered entered => entered.Request,
        _ => null,
    };

    /// <summary>The cartridge of whose step an instruction states the time.</summary>
    private static RequestId? SubjectOf(BenchState state, BenchCommand.Instruction instruction) =>
        instruction is BenchCommand.AnswerQuestion { TimeStated: true } answer
            ? Questions.List(state).FirstOrDefault(question => question.Key == answer.Question)?.Request : null;
}
