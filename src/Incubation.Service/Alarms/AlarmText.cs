using Incubation.Bench;
using Incubation.Model;
using Incubation.Planning;
using Incubation.Service.Snapshots;
using Incubation.Service.Text;
using NodaTime;

namespace Incubation.Service.Alarms;

/// <summary>The words and the taps of an alarm.</summary>
public static class AlarmText
{
    /// <summary>
    /// The words of the alarms that a screen without its server raises by itself, {0} where the place or the specimen
    /// stands.
    /// </summary>
    public static IReadOnlyList<AloneAlarm> Templates =>
    [
        Template(AlarmKind.WindowInDanger, AlarmsWords.AlarmWindowInDanger, AlarmsWords.AlarmWindowInDangerText),
        Template(AlarmKind.WindowClosed, AlarmsWords.AlarmWindowClosed, AlarmsWords.AlarmWindowClosedText),
        Template(AlarmKind.MixtureInDanger, AlarmsWords.AlarmMixtureInDanger, AlarmsWords.AlarmMixtureInDangerText),
        Template(AlarmKind.MixtureTooOld, AlarmsWords.AlarmMixtureTooOld, AlarmsWords.AlarmMixtureTooOldText),
    ];

    private static AloneAlarm Template(AlarmKind kind, string title, string text)
    {
        var condition = Conditions.Of(kind);
        return new AloneAlarm(condition.Code, KebabCase.Of(condition.Priority), PriorityWord(condition.Priority), title,
            text, [.. condition.Actions.Select(CodeOf)]);
    }

    /// <summary>An alarm of a bench as screens show it.</summary>
    /// <param name="state">The bench.</param>
    /// <param name="alarm">The alarm.</param>
    /// <param name="losses">What is given up.</param>
    /// <param name="zone">The clinic's time zone.</param>
    /// <param name="nameOf">The name that people read of a program that sends; null says its id.</param>
    public static AlarmSnapshot Write(BenchState state, Alarm alarm, IReadOnlyList<Loss> losses, DateTimeZone zone,
        Func<DeviceId, string>? nameOf = null)
    {
        var request = alarm.Key.Request;
        var where = Say.First(StepText.Whereabouts(state, request));
        var specimen = StepText.Specimen(state, request);
        var (title, text) = alarm.Key.Kind switch
        {
            AlarmKind.WindowInDanger or AlarmKind.MixtureInDanger when !alarm.Acts.IsEmpty =>
                (Chain(state, alarm.Acts), SaveBy(alarm, specimen, zone)),
            AlarmKind.WindowInDanger or AlarmKind.MixtureInDanger when alarm.OnlyIfQuick =>
                (Say.Of(AlarmsWords.AlarmOnlyIfQuick, where), Say.Of(AlarmsWords.AlarmOnlyIfQuickText, specimen,
                    Say.ClockWithSeconds(alarm.Deadline ?? alarm.From, zone))),
            AlarmKind.WindowInDanger =>
                (Say.Of(AlarmsWords.AlarmWindowInDanger, where), Say.Of(AlarmsWords.AlarmWindowInDangerText, specimen)),
            AlarmKind.WindowClosed =>
                (Say.Of(AlarmsWords.AlarmWindowClosed, where), Say.Of(AlarmsWords.AlarmWindowClosedText, specimen)),
            AlarmKind.CannotBeSaved =>
                (Say.Of(AlarmsWords.AlarmCannotBeSaved, where),
                    Say.Of(AlarmsWords.AlarmCannotBeSavedText, specimen, WhyLost(state, request, losses, zone))),
            AlarmKind.MixtureInDanger =>
                (Say.Of(AlarmsWords.AlarmMixtureInDanger, specimen), AlarmsWords.AlarmMixtureInDangerText),
            AlarmKind.MixtureTooOld =>
                (Say.Of(AlarmsWords.AlarmMixtureTooOld, specimen), AlarmsWords.AlarmMixtureTooOldText),
            AlarmKind.IncubatorOutside or AlarmKind.IncubatorSpoils =>
                (Say.Of(AlarmsWords.AlarmIncubatorOutside, where), Incubator(state, alarm, specimen)),
            AlarmKind.CannotPlan => (AlarmsWords.AlarmCannotPlan,
                state.Run.Trouble?.Because is { } because
                    ? Say.Of(AlarmsWords.AlarmCannotPlanBecause, StepText.Specimen(state, because),
                        AlarmsWords.AlarmCannotPlanText)
                    : AlarmsWords.AlarmCannotPlanText),
            AlarmKind.CannotPlanAtRest => (AlarmsWords.AlarmCannotPlan, AlarmsWords.AlarmCannotPlanAtRestText),
            AlarmKind.SetAside => (Say.Of(AlarmsWords.AlarmSetAside, specimen),
                ResourceText.ReadyTooFar(state, request, alarm.From, zone) is { } day
                    ? Say.Of(AlarmsWords.AlarmSetAsideTooFar, day, Bounds.PlannedWithin.Days)
                    : AlarmsWords.AlarmSetAsideText),
            AlarmKind.ProbeSilent => (Say.Of(AlarmsWords.AlarmProbeSilent,
                nameOf?.Invoke(new DeviceId(request.Value)) ?? request.Value),
                Say.Of(AlarmsWords.AlarmProbeSilentText, LastHeard(state, request, zone))),
            AlarmKind.CartridgeAstray => (Say.Of(AlarmsWords.AlarmAstray, specimen), AlarmsWords.AlarmAstrayText),
            _ => throw new ArgumentException($"An alarm of the kind {alarm.Key.Kind} has no sentence.", nameof(alarm)),
        };
        var (slot, reader) = PlaceFor(state, alarm.Key);
        var actions = Conditions.Of(alarm.Key.Kind).Actions.Where(action => action != AlarmAction.Loaded
            || slot is not null || reader is not null);
        var whose = state.Find(request) is null ? "" : request.Value;
        return Write(alarm, title, text, whose, actions, slot, reader, isPassed: false);
    }

    private static string LastHeard(BenchState state, RequestId request, DateTimeZone zone) =>
        state.Probes.FirstOrDefault(probe => probe.Probe.Value == request.Value) is { } silent
            ? Say.Clock(silent.Heard ?? silent.Since, zone) : "–";

    /// <summary>
    /// What saves a cartridge, in order: "Change the card to DB-L1, then move slot 3"; the step's own words where it is
    /// one.
    /// </summary>
    public static string Chain(BenchState state, IReadOnlyList<SavingAct> acts)
    {
        ArgumentNullException.ThrowIfNull(acts);
        return acts.Count == 1
            ? StepText.Title(state, acts[0].Action)
            : Say.First(acts.Select(act => StepText.Act(state, act.Action))
                .Aggregate((before, act) => Say.Of(AlarmsWords.AlarmThen, before, act)));
    }

    private static string SaveBy(Alarm alarm, string specimen, DateTimeZone zone)
    {
        var tooLate = Say.ClockWithSeconds(alarm.Deadline ?? alarm.From, zone);
        return alarm.BeginBy is { } by && by > alarm.From
            ? Say.Of(AlarmsWords.AlarmSaveBy, specimen, Say.ClockWithSeconds(by, zone), tooLate)
            : Say.Of(AlarmsWords.AlarmSaveAtOnce, specimen, tooLate);
    }

    /// <summary>An alarm of this server as screens show it.</summary>
    public static AlarmSnapshot Write(HostAlarm host)
    {
        ArgumentNullException.ThrowIfNull(host);
        return Write(host.Alarm, host.Title, host.Text, "", Conditions.Of(host.Alarm.Key.Kind).Actions, null, null,
            host.Ended is not null);
    }

    private static AlarmSnapshot Write(
        Alarm alarm, string title, string text, string request, IEnumerable<AlarmAction> actions, int? slot,
            int? reader, bool isPassed) => new(
            IdOf(alarm.Key), KebabCase.Of(alarm.Priority), PriorityWord(alarm.Priority), title, text, alarm.From,
                alarm.Until, alarm.Deadline, alarm.EscalatesAt,
            alarm.Acknowledged, isPassed, request, [.. actions.Select(CodeOf)], slot, reader,
                alarm.Reason is { } reason ? KebabCase.Of(reason) : null, alarm.BeginBy,
                Conditions.Of(alarm.Key.Kind).IsLine);

    /// <summary>"window-closed/R03".</summary>
    public static string IdOf(AlarmKey key) => Conditions.Of(key.Kind).Code + "/" + key.Request.Value;

    /// <summary>The alarm that an id names, or null.</summary>
    public static AlarmKey? Parse(string? id)
    {
        var slash = id?.IndexOf('/', StringComparison.Ordinal) ?? -1;
        return slash >= 0 && Bounds.IsIdentifier(id![(slash + 1)..]) && Conditions.Find(id[..slash]) is { } condition
            ? new AlarmKey(condition.Kind, new RequestId(id[(slash + 1)..]))
            : null;
    }

    /// <summary>What screens call an action.</summary>
    public static string CodeOf(AlarmAction action) => KebabCase.Of(action);

    /// <summary>
    /// The slot or reader in which a cartridge is, in words that name no patient; null where it is in neither.
    /// </summary>
    public static string? PlaceOf(BenchState state, RequestId request)
    {
        ArgumentNullException.ThrowIfNull(state);
        return state.Find(request)?.Phase?.FindPlace() is { } place ? StepText.PlaceName(place, state.Setup) : null;
    }

    private static string PriorityWord(AlarmPriority priority) => priority switch
    {
        AlarmPriority.High => AlarmsWords.PriorityHigh,
        AlarmPriority.Medium => AlarmsWords.PriorityMedium,
        _ => AlarmsWords.PriorityLow,
    };

    /// <summary>
    /// Where the read is, or was, to be started: in the planned reader, else the first; where a mixture is to be
    /// loaded: as planned.
    /// </summary>
    private static (int? Slot, int? Reader) PlaceFor(BenchState state, AlarmKey key)
    {
        var actions = Conditions.Of(key.Kind).Actions;
        var steps = (state.Adopted?.Plan.Steps ?? []).Select(step => step.Action);
        if (actions.Contains(AlarmAction.ReadStarted) || actions.Contains(AlarmAction.StartedInTime))
            return (null, steps.OfType<StepAction.Move>()
                .FirstOrDefault(move => move.Request == key.Request)?.Reader.Value ?? 1);
        if (!actions.Contains(AlarmAction.Loaded))
            return (null, null);
        return steps.OfType<StepAction.Load>().FirstOrDefault(load => load.Request == key.Request)?.Place switch
        {
            CartridgePlace.InSlot at => (at.Slot.Value, null),
            CartridgePlace.InReader inside => (null, inside.Reader.Value),
            _ => (null, null),
        };
    }

    private static string Incubator(BenchState state, Alarm alarm, string specimen) => Say.Of(
        alarm.Key.Kind == AlarmKind.IncubatorSpoils
            ? AlarmsWords.AlarmIncubatorSpoilsText : AlarmsWords.AlarmIncubatorOutsideText,
        state.Temperature?.Value, state.Incubator?.Set, state.Incubator?.Tolerance, specimen);

    /// <summary>The planner's own words only where nothing better is known.</summary>
    private static string WhyLost(BenchState state, RequestId request, IReadOnlyList<Loss> losses, DateTimeZone zone) =>
        losses.FirstOrDefault(loss => loss.Request == request) is { Cause: not LossCause.NoTime } known
            ? ResourceText.Why(state, known)
            : Say.InClinicTime(PlannerWords(state, request), zone);

    private static string PlannerWords(BenchState state, RequestId request) =>
        state.Adopted?.Plan.Lost.FirstOrDefault(lost => lost.Request == request) is { } left
            ? LeftOutText.Of(left.Why)
            : Words.AlarmNoTimeLeft;
}
