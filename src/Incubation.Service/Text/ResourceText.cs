using Incubation.Bench;
using Incubation.Model;
using Incubation.Service.Snapshots;
using NodaTime;

namespace Incubation.Service.Text;

/// <summary>The words of what a bench can use, and of what it gives up.</summary>
public static class ResourceText
{
    /// <summary>What lasts longer has no end that anybody named.</summary>
    private static readonly Duration OpenEnded = Duration.FromDays(2);

    /// <summary>Hands, intake and incubator as screens show them.</summary>
    public static ResourcesSnapshot Write(BenchState state, Instant now) => new(
        state.Setup.Hands,
        [.. state.OutOfUse.Where(entry => entry.From <= now && now < entry.To).Select(Write)],
        state.IntakePaused,
        (state.Incubator?.Set ?? Readiness.BatchWarmth(state)?.Set) is var set && set is null
            && state.Temperature is null
            ? null
            : new IncubatorSnapshot(set?.Degrees,
                (state.Incubator?.Tolerance ?? Readiness.BatchWarmth(state)?.Tolerance)?.Degrees,
                state.Temperature?.Value.Degrees, state.Temperature?.At, state.OutsideSince));

    /// <summary>What is out of use.</summary>
    public static OutOfUseSnapshot Write(CalendarEntry entry) => new(
        KebabCase.Of(entry.Resource.Parts.Kind), entry.Resource.Parts.Number, entry.From,
        entry.To - entry.From >= OpenEnded ? null : entry.To, entry.Why);

    /// <summary>Why a reader's card is not known: "the server was down".</summary>
    public static string Doubt(BenchState state, CartridgePlace? place) =>
        place is CartridgePlace.InReader inside && state.DoubtOf(inside.Reader) is { } doubt ? Doubt(doubt) : "";

    /// <summary>A cartridge that is given up.</summary>
    public static LossSnapshot Write(BenchState state, Loss loss)
    {
        var specimen = StepText.Specimen(state, loss.Request);
        return new LossSnapshot(
            loss.Request.Value, specimen, KebabCase.Of(loss.Cause),
                Say.Dotted(Say.Of(loss.Cause == LossCause.ReaderOutOfUse ? TextWords.LossKeepText : TextWords.LossText,
                    specimen, Why(state, loss)), loss.RepeatLeft ? TextWords.LossRepeat : TextWords.LossNoRepeat),
            loss.By?.Value, loss.Since, KebabCase.Of(loss.Reason), loss.RepeatLeft);
    }

    /// <summary>Why a cartridge is given up: "the hands are away".</summary>
    public static string Why(BenchState state, Loss loss) => loss.Cause switch
    {
        LossCause.WindowClosed => TextWords.LossWindowClosed,
        LossCause.MixtureTooOld => TextWords.LossMixtureTooOld,
        LossCause.HandsAway => TextWords.LossHandsAway,
        LossCause.ReaderOutOfUse => TextWords.LossReaderOutOfUse,
        LossCause.SlotOutOfUse => TextWords.LossSlotOutOfUse,
        LossCause.HandsHeld when loss.By is { } by => Say.Of(TextWords.LossHandsHeld, StepText.Specimen(state, by)),
        LossCause.HandsHeld => TextWords.LossHandsHeldByCard,
        LossCause.ReaderHeld => Say.Of(TextWords.LossReaderHeld, StepText.Specimen(state, loss.By!.Value)),
        LossCause.Withdrawn => TextWords.LossWithdrawn,
        LossCause.Temperature => TextWords.LossTemperature,
        LossCause.ControlsFailed => TextWords.LossControlsFailed,
        _ => Words.AlarmNoTimeLeft,
    };

    /// <summary>A request that waits without a plan.</summary>
    public static NotPlannedSnapshot Write(BenchState state, NotPlanned left, Instant now, DateTimeZone zone) =>
        new(left.Request.Value, StepText.Specimen(state, left.Request), KebabCase.Of(left.Cause), left.Cause switch
        {
            NotPlannedCause.SetAside => SetAside(state, left.Request, now, zone),
            NotPlannedCause.AfterNotPlanned => TextWords.NotPlannedAfter,
            NotPlannedCause.StepNotKnown => TextWords.NotPlannedNotKnown,
            NotPlannedCause.HeldBack => TextWords.NotPlannedHeldBack,
            NotPlannedCause.NoReader => TextWords.NotPlannedNoReader,
            NotPlannedCause.OtherTemperature => TextWords.NotPlannedOtherTemperature,
            NotPlannedCause.NotReady => TextWords.NotPlannedNotReady,
            NotPlannedCause.NoSlot => TextWords.NotPlannedNoSlot,
            NotPlannedCause.ControlsAwaited or NotPlannedCause.ControlsFailed => Gate(state, left.Request),
            _ => TextWords.NotPlannedNoHands,
        });

    /// <summary>Why a request is set aside: "set aside: ready on 9999-12-31, …".</summary>
    public static string SetAside(BenchState state, RequestId request, Instant now, DateTimeZone zone) =>
        ReadyTooFar(state, request, now, zone) is { } day
            ? Say.Of(TextWords.NotPlannedTooFar, day, Bounds.PlannedWithin.Days) : TextWords.NotPlannedSetAside;

    /// <summary>The day on which a request is ready, where that is later than plans look ahead; else null.</summary>
    public static string? ReadyTooFar(BenchState state, RequestId request, Instant now, DateTimeZone zone) =>
        state.Find(request) is { } cartridge && PlanObstacles.IsTooFar(cartridge, now)
            // In a zone east of Greenwich the last day that there is ends earlier.
            ? Say.Day(Instant.Min(cartridge.Wanted.Request.Ready, Instant.MaxValue - Duration.FromHours(14)), zone)
            : null;

    /// <summary>What the controls of a request's kit lot keep it waiting for; "" where they do not.</summary>
    public static string Gate(BenchState state, RequestId request) => state.Find(request) is { } cartridge
        ? Gate(state, cartridge.Wanted.Request.Lot) : "";

    /// <summary>
    /// What patients' cartridges of a kit lot wait for: "Waiting for the controls of lot …"; "" where they do not.
    /// </summary>
    public static string Gate(BenchState state, LotCode lot) => Gate(state.GateOf(lot)?.Gate ?? LotGate.Open, lot);

    /// <summary>The same of a gate that is known.</summary>
    public static string Gate(LotGate gate, LotCode lot) => gate switch
    {
        LotGate.AwaitingControls => Say.Of(TextWords.GateAwaiting, lot),
        LotGate.Failed => Say.Of(TextWords.GateFailed, lot),
        LotGate.ResultsHeld => Say.Of(TextWords.GateHeld, lot),
        LotGate.AwaitingComparison => Say.Of(TextWords.GateComparison, lot),
        _ => "",
    };

    /// <summary>
    /// In what a cartridge differs from what a rule allows, in words; empty where its result is not held.
    /// </summary>
    public static IReadOnlyList<string> Marks(Cartridge? cartridge) => cartridge is null
        ? [] : [.. cartridge.Deviations.Distinct().Select(Mark)];

    /// <summary>"read late".</summary>
    public static string Mark(Deviation deviation) => deviation switch
    {
        Deviation.OutOfOrder => TextWords.DeviationOutOfOrder,
        Deviation.LateLoad => TextWords.DeviationLateLoad,
        Deviation.LoadedAfterLoadBy => TextWords.DeviationLoadedAfterLoadBy,
        Deviation.SlotBelievedTaken => TextWords.DeviationSlotBelievedTaken,
        Deviation.ReaderBelievedTaken => TextWords.DeviationReaderBelievedTaken,
        Deviation.EarlyRead => TextWords.DeviationEarlyRead,
        Deviation.LateRead => TextWords.DeviationLateRead,
        Deviation.StatedInTime => TextWords.DeviationStatedInTime,
        Deviation.OtherCard => TextWords.DeviationOtherCard,
        Deviation.OtherPlace => TextWords.DeviationOtherPlace,
        Deviation.ClockInDoubt => TextWords.DeviationClockInDoubt,
        Deviation.TimeNotTaken => TextWords.DeviationTimeNotTaken,
        Deviation.ReadBeforeLoad => TextWords.DeviationReadBeforeLoad,
        Deviation.TemperatureOutside => TextWords.DeviationTemperatureOutside,
        Deviation.ControlsNotAccepted => TextWords.DeviationControlsNotAccepted,
        Deviation.ControlsFailed => TextWords.DeviationControlsFailed,
        Deviation.TooQuick => TextWords.DeviationTooQuick,
        Deviation.NotScanned => TextWords.DeviationNotScanned,
        Deviation.OtherThanPlanned => TextWords.DeviationOtherThanPlanned,
        _ => throw new InvalidOperationException($"The deviation {deviation} has no words."),
    };

    /// <summary>Why a card is not known.</summary>
    public static string Doubt(CardDoubt doubt) => doubt.Cause switch
    {
        CardDoubtCause.Restarted => TextWords.CardDoubtRestarted,
        CardDoubtCause.ReaderWasOut => TextWords.CardDoubtReaderWasOut,
        CardDoubtCause.StepNotKnown => TextWords.CardDoubtNotKnown,
        _ => TextWords.CardDoubtCorrected,
    };
}
