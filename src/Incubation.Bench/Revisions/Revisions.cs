using System.Collections.Immutable;
using Incubation.Model;
using NodaTime;

namespace Incubation.Bench;

/// <summary>What a revision changes in a batch's story.</summary>
internal sealed record Revision(
    BenchEvent.StoryEvent? Added = null,
    Instant? AddedAt = null,
    ImmutableArray<ReportId> Undone = default,
    ImmutableArray<Correction> Corrected = default,
    string? Reason = null,
    ImmutableArray<BenchEvent> Before = default);

/// <summary>
/// Reports corrected, taken back, or told late: the story as it stands then, and how each report is judged in it.
/// </summary>
public static class Revisions
{
    /// <summary>Within this time the same device may correct its report without a reason.</summary>
    public static readonly Duration CorrectWithoutReasonWithin = Duration.FromMinutes(2);

    /// <summary>A report's later reports that rest on it: the later steps of the same cartridge.</summary>
    public static ImmutableArray<ReportedStep> RestingOn(BenchState state, ReportId report)
    {
        ArgumentNullException.ThrowIfNull(state);
        var at = state.Story.FindIndex(told => told.Id == report);
        if (at < 0 || state.Story[at].Subject is not { } subject)
            return [];
        var step = state.Story[at].Event.GetType();
        // If the same step was reported twice, the later steps still have the other report to rest on, so nothing else
        // is undone.
        if (state.Story.Exists(told => told.Subject == subject && told.Id != report && told.Event.GetType() == step))
            return [];
        return [.. state.Story.Where((told, index) => told.Subject == subject && told.Id != report
            && (index > at || told.InOrder > state.Story[at].InOrder))];
    }

    /// <summary>The report that a device may take back now, or null: its own last one.</summary>
    public static ReportId? Undoable(BenchState state, DeviceId device)
    {
        ArgumentNullException.ThrowIfNull(state);
        if (state.Undo is { } point && point.Device == device)
            return Forgotten(state, RevisionChanges.Undone(state)) is null ? point.Report : null;
        return state.Story.FindLast(told => told.Device == device && told.Event.IsReport)?.Id;
    }

    internal static Decision Undo(BenchState state, BenchCommand.Undo undo, Provenance provenance)
    {
        if (state.Undo is { } point && point.Report == undo.Of && point.Device == provenance.Device
            && Forgotten(state, RevisionChanges.Undone(state)) is { } known)
            return Decisions.Refuse(Refusal.ResultKnown, known);
        if (Undoable(state, provenance.Device) != undo.Of)
            return Decisions.Refuse(Refusal.NothingToUndo);
        // Nothing has been reported since: everything is again as it was.
        if (state.Undo?.Report == undo.Of)
            return Decisions.Accept(new BenchEvent.ReportUndone(undo.Of));
        var resting = RestingOn(state, undo.Of).Select(told => told.Id).Distinct().ToList();
        return resting.ToHashSet().SetEquals(undo.With ?? [])
            ? Revise(state, provenance, new Revision(Undone: [undo.Of, .. resting]))
            : Decisions.Refuse(Refusal.OthersRestOnIt, string.Join(", ", resting));
    }

    internal static Decision Correct(BenchState state, BenchCommand.CorrectReport correct, Provenance provenance)
    {
        if (state.Story.Find(told => told.Id == correct.Of && told.Event.IsReport) is not { } told)
            return Decisions.Refuse(Refusal.UnknownReport, correct.Of.Value);
        if (correct.At > provenance.At
            || correct.At < ReportTimes.Earliest(state, told.Subject, provenance.Arrived))
            return Decisions.Refuse(Refusal.UnreadableTime);
        var correction = new Correction(correct.Of, correct.At, correct.Place, correct.Lot);
        if (!correct.NeverDone && correct.At is null && told.Event.Corrected(correction).Equals(told.Event))
            return Decisions.Refuse(Refusal.NothingToCorrect, correct.Of.Value);
        if (string.IsNullOrWhiteSpace(correct.Reason)
            && (told.Device != provenance.Device || provenance.At - told.At > CorrectWithoutReasonWithin))
            return Decisions.Refuse(Refusal.ReasonMissing);
        if (correct.NeverDone)
            return Revise(state, provenance, new Revision(Undone: NeverDone(state, told), Reason: correct.Reason));
        var revised = Revise(state, provenance, new Revision(Corrected: [correction], Reason: correct.Reason));
        // The two reports name different cards: nobody knows which is in the reader until somebody looks.
        return correct.Lot is not null && revised is Decision.Accepted accepted
            && told.Place is CartridgePlace.InReader inside
            ? new Decision.Accepted(
                accepted.Events.Add(new BenchEvent.CardDoubted(inside.Reader, CardDoubtCause.Corrected)))
            : revised;
    }

    /// <summary>A step that was never done: every report of it, and what rests on it.</summary>
    private static ImmutableArray<ReportId> NeverDone(BenchState state, ReportedStep told) =>
    [
        .. state.Story.Where(other => other.Id == told.Id || (told.Subject is not null
                && other.Subject == told.Subject && other.Event.GetType() == told.Event.GetType()))
            .Concat(RestingOn(state, told.Id)).Select(other => other.Id).Distinct(),
    ];

    /// <summary>
    /// The events of a revision: what was decided before it, the report told with it, and how everything is judged now.
    /// </summary>
    internal static Decision Revise(BenchState state, Provenance provenance, Revision revision)
    {
        var undone = revision.Undone.IsDefault ? [] : revision.Undone;
        var corrected = revision.Corrected.IsDefault ? [] : revision.Corrected;
        var story = state.Story;
        if (revision.Added is { } added)
        {
            story = story.Add(new ReportedStep(provenance.Id, provenance.At, provenance.Device, added,
                provenance.Claimed));
            if (revision.AddedAt is { } at)
                corrected = corrected.Add(new Correction(provenance.Id, at, null, null));
        }

        var anew = Story(story, undone, corrected);
        if (!undone.IsEmpty && Forgotten(state, Retelling.TellAnew(state, anew)) is { } known)
            return Decisions.Refuse(Refusal.ResultKnown, known);
        var verdicts = Judgement.JudgeAgain(state, anew, provenance.At, provenance,
            answers: revision.AddedAt is not null);
        var events = revision.Before.IsDefault ? [] : revision.Before;
        if (revision.Added is { } told)
            events =
                events.Add(told.Judged(verdicts.FirstOrDefault(verdict => verdict.Report == provenance.Id)?.Deviations
                    ?? told.DiffersIn));
        return Decisions.Accept(
            events.Add(new BenchEvent.ReportsRevised(undone, corrected,
                [.. verdicts.Where(verdict => verdict.Report != provenance.Id)], revision.Reason)));
    }

    /// <summary>
    /// The specimen of a result of which it would be forgotten that somebody must be told of it or was, or that an
    /// amendment of it waits, if a bench came to be what it is after; null where none would.
    /// </summary>
    private static string? Forgotten(BenchState before, BenchState after) => before.Cartridges
        .FirstOrDefault(cartridge => after.Find(cartridge.Id) is { } then && TellingDuty.IsForgotten(cartridge, then))
        ?.Wanted.Request.Specimen.Value;

    /// <summary>A story without what was taken back, and with what was corrected.</summary>
    internal static ImmutableList<ReportedStep> Story(ImmutableList<ReportedStep> story,
        ImmutableArray<ReportId> undone, ImmutableArray<Correction> corrected)
    {
        story = story.RemoveAll(told => undone.Contains(told.Id));
        foreach (var correction in corrected)
            story = story.ConvertAll(told => told.Id == correction.Report
                ? told with
                {
                    At = correction.At ?? told.At,
                    Event = Timed(told.Event.Corrected(correction), correction),
                    Claimed = correction.At is null ? told.Claimed : null,
                }
                : told);
        return story;
    }

    /// <summary>Somebody has said when it was: it was not told too soon any more.</summary>
    private static BenchEvent.StoryEvent Timed(BenchEvent.StoryEvent happened, Correction correction) =>
        correction.At is not null && happened.DiffersIn.Contains(Deviation.TooQuick)
            ? happened.Judged(happened.DiffersIn.Remove(Deviation.TooQuick)) : happened;
}
