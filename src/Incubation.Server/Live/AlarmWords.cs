using Incubation.Bench;
using Incubation.Model;
using NodaTime;

namespace Incubation.Server.Live;

/// <summary>The words and the taps of an alarm.</summary>
public static class AlarmWords
{
    /// <summary>An alarm as screens show it.</summary>
    public static AlarmSnapshot Write(BenchState state, Alarm alarm, IReadOnlyList<Loss> losses, DateTimeZone zone)
    {
        var request = alarm.Key.Request;
        var where = Say.First(StepWords.Whereabouts(state, request));
        var specimen = StepWords.Specimen(state, request);
        var (title, text) = alarm.Key.Kind switch
        {
            AlarmKind.WindowInDanger => (Say.Of(Words.AlarmWindowInDanger, where), Say.Of(Words.AlarmWindowInDangerText, specimen)),
            AlarmKind.WindowClosed => (Say.Of(Words.AlarmWindowClosed, where), Say.Of(Words.AlarmWindowClosedText, specimen)),
            AlarmKind.CannotBeSaved => (Say.Of(Words.AlarmCannotBeSaved, where), Say.Of(Words.AlarmCannotBeSavedText, specimen, WhyLost(state, request, losses, zone))),
            AlarmKind.MixtureInDanger => (Say.Of(Words.AlarmMixtureInDanger, specimen), Words.AlarmMixtureInDangerText),
            AlarmKind.MixtureTooOld => (Say.Of(Words.AlarmMixtureTooOld, specimen), Words.AlarmMixtureTooOldText),
            AlarmKind.IncubatorOutside => (Say.Of(Words.AlarmIncubatorOutside, where), Incubator(state, alarm, specimen)),
            _ => (Say.Of(Words.AlarmAstray, specimen), Words.AlarmAstrayText),
        };
        return new AlarmSnapshot(
            IdOf(alarm.Key), PriorityCode(alarm.Priority), PriorityWord(alarm.Priority), title, text, alarm.From, alarm.Until,
            alarm.Deadline, alarm.Acknowledged, request.Value, ActionsOf(alarm.Key.Kind), ReaderFor(state, alarm.Key));
    }

    /// <summary>"window-closed/R03".</summary>
    public static string IdOf(AlarmKey key) => KindCode(key.Kind) + "/" + key.Request.Value;

    /// <summary>The alarm that an id names, or null.</summary>
    public static AlarmKey? Parse(string? id)
    {
        var slash = id?.IndexOf('/', StringComparison.Ordinal) ?? -1;
        if (slash < 0 || !TextId.IsValid(id![(slash + 1)..]))
            return null;
        foreach (var kind in Enum.GetValues<AlarmKind>())
            if (id[..slash] == KindCode(kind))
                return new AlarmKey(kind, new RequestId(id[(slash + 1)..]));
        return null;
    }

    private static string KindCode(AlarmKind kind) => kind switch
    {
        AlarmKind.WindowInDanger => "window-in-danger",
        AlarmKind.WindowClosed => "window-closed",
        AlarmKind.CannotBeSaved => "cannot-be-saved",
        AlarmKind.MixtureInDanger => "mixture-in-danger",
        AlarmKind.MixtureTooOld => "mixture-too-old",
        AlarmKind.IncubatorOutside => "incubator-outside",
        _ => "astray",
    };

    private static string PriorityCode(AlarmPriority priority) => priority switch
    {
        AlarmPriority.High => "high",
        AlarmPriority.Medium => "medium",
        _ => "low",
    };

    private static string PriorityWord(AlarmPriority priority) => priority switch
    {
        AlarmPriority.High => Words.PriorityHigh,
        AlarmPriority.Medium => Words.PriorityMedium,
        _ => Words.PriorityLow,
    };

    private static string[] ActionsOf(AlarmKind kind) => kind switch
    {
        AlarmKind.WindowClosed => ["discard", "started-in-time", "acknowledge"],
        AlarmKind.CannotBeSaved or AlarmKind.MixtureTooOld or AlarmKind.CartridgeAstray => ["discard", "acknowledge"],
        _ => ["acknowledge"],
    };

    /// <summary>The reader in which "it was started in time" was: the planned one, else the only one, else the first.</summary>
    private static int? ReaderFor(BenchState state, AlarmKey key)
    {
        if (key.Kind != AlarmKind.WindowClosed)
            return null;
        var planned = state.Adopted?.Plan.Steps.Select(step => step.Action).OfType<StepAction.Move>()
            .FirstOrDefault(move => move.Request == key.Request);
        return planned?.Reader.Value ?? 1;
    }

    private static string Incubator(BenchState state, Alarm alarm, string specimen) => Say.Of(
        alarm.Priority == AlarmPriority.High ? Words.AlarmIncubatorSpoilsText : Words.AlarmIncubatorOutsideText,
        state.Temperature?.Value, state.Incubator?.Set, state.Incubator?.Tolerance, specimen);

    /// <summary>The planner's own words only where nothing better is known.</summary>
    private static string WhyLost(BenchState state, RequestId request, IReadOnlyList<Loss> losses, DateTimeZone zone) =>
        losses.FirstOrDefault(loss => loss.Request == request) is { Cause: not LossCause.NoTime } known
            ? MeansWords.Why(state, known)
            : Say.InClinicTime(PlannerWords(state, request), zone);

    private static string PlannerWords(BenchState state, RequestId request) =>
        state.Adopted?.Plan.Lost.FirstOrDefault(lost => lost.Request == request)?.Why ?? Words.AlarmNoTimeLeft;
}
