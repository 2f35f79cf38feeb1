namespace Incubation.Bench;

/// <summary>
/// Which commands ask for another plan, and with which cause. Time alone asks in <see cref="ReplanTimes"/>.
/// </summary>
public static class ReplanCauses
{
    /// <summary>
    /// Why a plan is wanted after a command that was accepted, or null where the plan does not rest on it.
    /// </summary>
    /// <param name="command">The command.</param>
    /// <param name="events">What was recorded for it.</param>
    public static PlanCause? Of(BenchCommand command, IEnumerable<BenchEvent> events)
    {
        if (events.Any(happened => happened is BenchEvent.ReportsRevised or BenchEvent.ReportUndone))
            return PlanCause.Corrected;
        return command switch
        {
            BenchCommand.AddRequests or BenchCommand.OrderRepeat or BenchCommand.CloseBatch =>
                PlanCause.RequestsChanged,
            BenchCommand.StartBatch => PlanCause.BatchStarted,
            BenchCommand.WithdrawRequest or BenchCommand.ChangeReady or BenchCommand.ChangePriority
                or BenchCommand.ChangeDue
                or BenchCommand.CarryOver
                or BenchCommand.GiveUpRequest or BenchCommand.RevokeFate => PlanCause.RequestsChanged,
            BenchCommand.PutOutOfUse or BenchCommand.PutBackInUse or BenchCommand.ChangeHands
                or BenchCommand.NoteStepNotKnown
                or BenchCommand.SetIncubator or BenchCommand.SetLotGate or BenchCommand.ConfirmReady =>
                PlanCause.MeansChanged,
            // The bench goes on with the plan in its log, unless that rests on what is not known or not there any more.
            BenchCommand.NoteRestart =>
                events.Any(happened => happened is BenchEvent.CardDoubted
                    or BenchEvent.Restarted { Outage.Lost.IsEmpty: false }) ? PlanCause.Restarted : null,
            BenchCommand.ResultEntered or BenchCommand.AcknowledgeAlarm or BenchCommand.AdoptPlan
                or BenchCommand.SettleIdentity or BenchCommand.NotePlanning
                or BenchCommand.PauseIntake or BenchCommand.NoteClock or BenchCommand.OfResult
                or BenchCommand.RejectSpecimen or BenchCommand.CommentRequest
                or BenchCommand.ExpectProbe or BenchCommand.AskForLabels => null,
            _ => PlanCause.Report,
        };
    }
}
