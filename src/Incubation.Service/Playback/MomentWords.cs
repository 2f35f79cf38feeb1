using Incubation.Bench;
using Incubation.Model;
using Incubation.Service.Clinic;
using Incubation.Service.Record;
using Incubation.Service.Text;

namespace Incubation.Service.Playback;

/// <summary>The words of a moment: of everything that can stand in a bench's log.</summary>
public static class MomentWords
{
    /// <summary>A moment's kind, "report", "plan", "trouble" or "other", and what it was.</summary>
    /// <param name="state">The bench after it.</param>
    /// <param name="entry">What was recorded.</param>
    /// <param name="clinic">For its people and its time zone.</param>
    public static (string Kind, string Text) Of(BenchState state, BenchEntry entry, ClinicBook clinic)
    {
        ArgumentNullException.ThrowIfNull(entry);
        ArgumentNullException.ThrowIfNull(clinic);
        return entry.Event switch
        {
            BenchEvent.PlanAdopted adopted => ("plan", Plan(state, adopted, clinic)),
            BenchEvent.Discarded => ("trouble", Say.First(ReportWords.Told(state, entry.Event))),
            BenchEvent.Mixed or BenchEvent.Loaded or BenchEvent.ReadStarted or BenchEvent.Cleared or BenchEvent.CardChanged => ("report", Say.First(ReportWords.Told(state, entry.Event))),
            BenchEvent.ResultEntered entered => ("report", Say.Of(PlayWords.Result, StepWords.Specimen(state, entered.Request), ResultSay.Of(entered.Result))),
            BenchEvent.StepNotBegun => ("report", PlayWords.NotBegun),
            BenchEvent.SaidAgain => ("report", PlayWords.SaidAgain),
            BenchEvent.AlarmAcknowledged => ("other", PlayWords.Seen),
            BenchEvent.BenchOpened => ("other", PlayWords.Opened),
            BenchEvent.BatchClosed => ("other", PlayWords.Closed),
            BenchEvent.StandingKept => ("other", PlayWords.Kept),
            BenchEvent.Restarted or BenchEvent.ClockDoubted or BenchEvent.CardDoubted or BenchEvent.PutOutOfUse or BenchEvent.TemperatureMeasured { Outside: true }
                or BenchEvent.DiscardAsked => ("trouble", Happened(state, entry, clinic)),
            _ => ("other", Happened(state, entry, clinic)),
        };
    }

    private static string Happened(BenchState state, BenchEntry entry, ClinicBook clinic) =>
        new HappeningWords(state, new RecordClock(clinic.Facts.Zone, [entry.Touch.At]), clinic.Log.People).Of(entry);

    private static string Plan(BenchState state, BenchEvent.PlanAdopted adopted, ClinicBook clinic)
    {
        var finish = adopted.Plan.Steps.Where(step => step.Action is StepAction.Clear).Select(step => (NodaTime.Instant?)step.End).Max();
        var text = finish is { } at
            ? Say.Of(PlayWords.PlanText, Cause(adopted.Origin.Cause), Say.Clock(at, clinic.Facts.Zone))
            : Say.Of(PlayWords.PlanTextNoFinish, Cause(adopted.Origin.Cause));
        return adopted.Plan.Lost.Count == 0
            ? text
            : Say.Of(PlayWords.PlanGivesUp, text, string.Join(", ", adopted.Plan.Lost.Select(lost => StepWords.Specimen(state, lost.Request))));
    }

    private static string Cause(PlanCause cause) => cause switch
    {
        PlanCause.RequestsChanged => PlayWords.CauseRequestsChanged,
        PlanCause.BatchStarted => PlayWords.CauseBatchStarted,
        PlanCause.Report => PlayWords.CauseReport,
        PlanCause.StepOverran => PlayWords.CauseStepOverran,
        PlanCause.WindowClosed => PlayWords.CauseWindowClosed,
        PlanCause.Restarted => PlayWords.CauseRestarted,
        PlanCause.Search => PlayWords.CauseSearch,
        PlanCause.Corrected => PlayWords.CauseCorrected,
        _ => PlayWords.CauseMeansChanged,
    };
}
