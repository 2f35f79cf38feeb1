using Incubation.Bench;
using Incubation.Model;
using Incubation.Service.Clinic;
using Incubation.Service.Record;
using Incubation.Service.Text;

namespace Incubation.Service.Playback;

/// <summary>The words of a moment: of everything that can stand in a bench's log.</summary>
public static class MomentText
{
    /// <summary>A moment's kind, "report", "plan", "trouble" or "other", and what it was.</summary>
    /// <param name="state">The bench after it.</param>
    /// <param name="entry">What was recorded.</param>
    /// <param name="clinic">For its people and its time zone.</param>
    public static (string Kind, string Text) Of(BenchState state, BenchEntry entry, ClinicHost clinic)
    {
        ArgumentNullException.ThrowIfNull(entry);
        ArgumentNullException.ThrowIfNull(clinic);
        return entry.Event switch
        {
            BenchEvent.PlanAdopted adopted => ("plan", Plan(state, adopted, clinic)),
            BenchEvent.Discarded => ("trouble", Say.First(StepReportText.Told(state, entry.Event))),
            BenchEvent.Mixed or BenchEvent.Loaded or BenchEvent.ReadStarted or BenchEvent.Cleared
                or BenchEvent.CardChanged => ("report", Say.First(StepReportText.Told(state, entry.Event))),
            BenchEvent.ResultEntered entered =>
                ("report",
                    Say.Of(PlaybackWords.Result, StepText.Specimen(state, entered.Request),
                        ResultSentence.Of(entered.Result))),
            BenchEvent.StepNotBegun => ("report", PlaybackWords.NotBegun),
            BenchEvent.SaidAgain => ("report", PlaybackWords.SaidAgain),
            BenchEvent.AlarmAcknowledged => ("other", PlaybackWords.Seen),
            BenchEvent.BenchOpened => ("other", PlaybackWords.Opened),
            BenchEvent.BatchClosed => ("other", PlaybackWords.Closed),
            BenchEvent.CheckpointKept => ("other", PlaybackWords.Kept),
            BenchEvent.Restarted or BenchEvent.ClockDoubted or BenchEvent.CardDoubted or BenchEvent.PutOutOfUse
                or BenchEvent.StepNotKnown
                or BenchEvent.TemperatureMeasured { Outside: true }
                or BenchEvent.PlanningNoted { Works: false } or BenchEvent.PlanningNoted { SetAside.IsEmpty: false }
                or BenchEvent.DiscardAsked => ("trouble", Happened(state, entry, clinic)),
            _ => ("other", Happened(state, entry, clinic)),
        };
    }

    private static string Happened(BenchState state, BenchEntry entry, ClinicHost clinic) =>
        new BenchEventText(state, new RecordClock(clinic.Facts.Zone, [entry.Provenance.At]), clinic.Log.People)
            .Of(entry);

    private static string Plan(BenchState state, BenchEvent.PlanAdopted adopted, ClinicHost clinic)
    {
        var finish = adopted.Plan.Steps.Where(step => step.Action is StepAction.Clear)
            .Select(step => (NodaTime.Instant?)step.End).Max();
        var text = finish is { } at
            ? Say.Of(PlaybackWords.PlanText, Cause(adopted.Origin.Cause), Say.Clock(at, clinic.Facts.Zone))
            : Say.Of(PlaybackWords.PlanTextNoFinish, Cause(adopted.Origin.Cause));
        return adopted.Plan.Lost.Count == 0
            ? text
            : Say.Of(PlaybackWords.PlanGivesUp, text,
                string.Join(", ", adopted.Plan.Lost.Select(lost => StepText.Specimen(state, lost.Request))));
    }

    private static string Cause(PlanCause cause) => cause switch
    {
        PlanCause.RequestsChanged => PlaybackWords.CauseRequestsChanged,
        PlanCause.BatchStarted => PlaybackWords.CauseBatchStarted,
        PlanCause.Report => PlaybackWords.CauseReport,
        PlanCause.StepOverran => PlaybackWords.CauseStepOverran,
        PlanCause.WindowClosed => PlaybackWords.CauseWindowClosed,
        PlanCause.Restarted => PlaybackWords.CauseRestarted,
        PlanCause.Search => PlaybackWords.CauseSearch,
        PlanCause.Corrected => PlaybackWords.CauseCorrected,
        _ => PlaybackWords.CauseMeansChanged,
    };
}
