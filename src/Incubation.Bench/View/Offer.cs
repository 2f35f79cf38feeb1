using Incubation.Model;
using NodaTime;

namespace Incubation.Bench;

/// <summary>A step that a pair of hands is asked to do next.</summary>
/// <param name="Action">What.</param>
/// <param name="Hands">Whose.</param>
/// <param name="PromptAt">When it is announced.</param>
/// <param name="MayBegin">When it may begin; it counts as begun from then on.</param>
/// <param name="PlannedEnd">When its allowed time has passed.</param>
/// <param name="LatestStart">It must begin no later, or a window is lost (the guard left untouched); null where nothing
/// is at stake.</param>
/// <param name="ReportFrom">When it can be reported as done: a read not before its window opens.</param>
/// <param name="AskWhenAfter">A mix or load reported later than this is asked for the time of its end; else
/// null.</param>
/// <param name="Window">The read window that a move must keep; else null.</param>
/// <param name="Reason">For a discard: the reason with which it is thrown away; else null.</param>
/// <param name="IfNotBegun">What the same hands must do first if they have not begun it: its latest start has passed,
/// and beginning it now would lose what that saves. Null where it would not.</param>
public sealed record Offer(
    StepAction Action,
    HandsNumber Hands,
    Instant PromptAt,
    Instant MayBegin,
    Instant PlannedEnd,
    Instant? LatestStart,
    Instant ReportFrom,
    Instant? AskWhenAfter,
    ReadWindow? Window,
    DiscardReason? Reason = null,
    StepAction? IfNotBegun = null);

/// <summary>A step that comes later.</summary>
/// <param name="Step">The planned step.</param>
/// <param name="Spare">How much later than planned it may begin before a window is lost; null where nothing is at
/// stake.</param>
public sealed record UpcomingStep(PlannedStep Step, Duration? Spare);
