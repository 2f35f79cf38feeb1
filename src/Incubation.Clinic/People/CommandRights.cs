using Incubation.Bench;

namespace Incubation.Clinic.People;

/// <summary>The one rule of which right a command needs.</summary>
public static class CommandRights
{
    /// <summary>
    /// What a command needs: steps and alarms are reported by whoever is there, the rest by somebody who is known. Null
    /// where nobody may say it but this server itself.
    /// </summary>
    /// <exception cref="InvalidOperationException">A command that this rule does not know: nobody may say
    /// it.</exception>
    public static Right? Needed(BenchCommand command) => command switch
    {
        BenchCommand.Mixed or BenchCommand.Loaded or BenchCommand.ReadStarted or BenchCommand.Cleared
            or BenchCommand.CardChanged
            or BenchCommand.CardSeen or BenchCommand.Discarded or BenchCommand.TemperatureMeasured
            or BenchCommand.NotBegun or BenchCommand.Several => Right.Report,
        BenchCommand.AcknowledgeAlarm or BenchCommand.CorrectReport or BenchCommand.AnswerQuestion => Right.Report,
        BenchCommand.ResultEntered or BenchCommand.AmendResult or BenchCommand.TellCritical
            or BenchCommand.RejectSpecimen
            or BenchCommand.ConfirmReady or BenchCommand.StartBatch or BenchCommand.CloseBatch
            or BenchCommand.WithdrawRequest or BenchCommand.CarryOver or BenchCommand.GiveUpRequest
            or BenchCommand.RevokeFate or BenchCommand.ChangePriority or BenchCommand.ChangeDue
            or BenchCommand.CommentRequest
            or BenchCommand.OrderRepeat or BenchCommand.ChangeReady or BenchCommand.Undo or BenchCommand.SettleIdentity
            or BenchCommand.PutOutOfUse or BenchCommand.PutBackInUse or BenchCommand.ChangeHands
            or BenchCommand.PauseIntake => Right.Direct,
        BenchCommand.AddRequests => Right.AddRequests,
        BenchCommand.SetIncubator or BenchCommand.ExpectProbe or BenchCommand.AskForLabels
            or BenchCommand.ReleaseResult or BenchCommand.WaiveTelling
            or BenchCommand.ConfirmAmendment or BenchCommand.DeclineAmendment => Right.Supervise,
        BenchCommand.OpenBench or BenchCommand.AdoptPlan or BenchCommand.NoteRestart or BenchCommand.NoteClock
            or BenchCommand.NotePlanning or BenchCommand.NoteStepNotKnown or BenchCommand.SetLotGate
            or BenchCommand.KeepCheckpoint or BenchCommand.ProposeAmendment => null,
        _ => throw new InvalidOperationException($"Nothing says who may say {command.GetType().Name}."),
    };

    /// <summary>Whether an actor may say a command to a bench; of several told together, each of them.</summary>
    public static bool May(Actor actor, BenchCommand command, string bench) =>
        Needed(command) is { } right && Access.May(actor, right, bench)
            && (command is not BenchCommand.Several several
                || several.Reports.All(told => May(actor, told.What, bench)));
}
