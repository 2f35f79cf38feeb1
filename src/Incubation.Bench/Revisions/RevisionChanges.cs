using Incubation.Model;

namespace Incubation.Bench;

/// <summary>How taking back, correcting and answering change the state.</summary>
internal static class RevisionChanges
{
    /// <summary>
    /// Some reports taken back, some corrected, each judged as the revision says; then the batch's story is told anew.
    /// </summary>
    public static BenchState Revised(BenchState state, BenchEvent.ReportsRevised revised)
    {
        var story = Revisions.Story(state.Story, revised.Undone, revised.Corrected);
        foreach (var verdict in revised.Verdicts)
            story = story.ConvertAll(told => told.Id == verdict.Report
                ? told with { Event = told.Event.Judged(verdict.Deviations) } : told);
        return Retelling.TellAnew(state, story).InRun(run => run with
        {
            Settled = run.Settled.RemoveAll(settled => revised.Undone.Contains(settled.By)),
        });
    }

    /// <summary>
    /// A question answered. A step that was not known is known; where it was not begun, its hands were free until now.
    /// </summary>
    public static BenchState Settled(BenchState state, BenchEvent.QuestionSettled settled, Provenance by)
    {
        if (settled.Question.Kind == QuestionKind.StepNotKnown
            && state.NotKnown.FirstOrDefault(step => Questions.KeyOf(step) == settled.Question) is { } known)
        {
            state = UnknownSteps.Ended(state, known.Action.Subject!.Value);
            // Hands that count as away need not be those that answered.
            if (!UnknownSteps.AreTakenAsAway(state, known.Hands))
                state = settled.Answer == Answer.NotBegun ? ReportChanges.ReportedBy(state, known.Hands, by.At)
                    : UnknownSteps.Heard(state, known.Hands, by.At);
        }

        return state.InRun(run => run with
        {
            Settled = run.Settled.Add(new SettledQuestion(settled.Question, settled.Answer, by.Id)),
            Outage = settled.Question.Kind == QuestionKind.PowerCut ? null : run.Outage,
        });
    }

    /// <summary>
    /// The state before the report that is taken back. Alarms acknowledged since stay acknowledged, and what was
    /// recorded since about clocks and persons stays.
    /// </summary>
    public static BenchState Undone(BenchState state) => state.Undo is { } undo
        ? state with
        {
            Checkpoint = state.Checkpoint.Believing(undo.Believed),
            Run = undo.Run with
            {
                Acknowledged = state.Acknowledged,
                Cartridges = [.. undo.Run.Cartridges.Select(then => Waiting(then, state.Find(then.Id)))],
            },
        }
        : state;

    /// <summary>
    /// A cartridge as it was, when an entry is taken back that waited for a supervisor, or a control's, which may have
    /// been judged: that it was so is not forgotten, and a release of what was before it was given without knowing of
    /// it.
    /// </summary>
    private static Cartridge Waiting(Cartridge then, Cartridge? now) =>
        now is not null && !then.HoldsNextEntry && (now.HoldsNextEntry
            || (now.Result != then.Result
                && (now.Wanted.Request.Kind == RequestKind.Control || now.AwaitsRelease)))
            ? then with
            {
                HeldBefore = true,
                Status = then.Status is { } status ? status with { Released = null, Release = null } : null,
            } : then;
}
