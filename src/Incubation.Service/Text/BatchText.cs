using Incubation.Bench;
using Incubation.Model;
using Incubation.Planning;
using Incubation.Service.Snapshots;
using NodaTime;

namespace Incubation.Service.Text;

/// <summary>The words of the batch page.</summary>
public static class BatchText
{
    /// <summary>Where the batch stands, and when it ends.</summary>
    public static string Status(BenchMoment view, DateTimeZone zone)
    {
        var (state, look) = view;
        if (state.Phase == BatchPhase.Preparing)
        {
            return state.Adopted is { } preview && look.Totals.Total > 0
                ? Say.Of(TextWords.StandingPlanned, Say.Length(preview.Plan.Finish))
                : TextWords.StandingEmpty;
        }

        return (IdleText.IsFinished(state), look.Totals.Finish) switch
        {
            (true, { } end) => Say.Of(TextWords.StandingFinished, Say.Clock(end, zone)),
            (false, { } end) => Say.Of(TextWords.StandingRunning, Say.Clock(end, zone)),
            _ => TextWords.PhaseRunning,
        };
    }

    /// <summary>How far a request has come.</summary>
    public static string Stage(BenchMoment view, Cartridge cartridge, DateTimeZone zone) =>
        cartridge is { Stage: CartridgeStage.Withdrawn, Fate: { } fate } ? FateText.Of(fate, isUsed: false)
        : Reached(view, cartridge, zone);

    private static string Reached(BenchMoment view, Cartridge cartridge, DateTimeZone zone) => cartridge.Stage switch
    {
        CartridgeStage.Waiting when view.State.IsSetAside(cartridge) =>
            Say.Dotted(TextWords.StageWaiting, ResourceText.SetAside(view.State, cartridge.Id, view.View.At, zone)),
        CartridgeStage.Waiting =>
            view.State.Adopted?.Plan.Unplaced.FirstOrDefault(left => left.Request == cartridge.Id) is { } left
            ? Say.Of(TextWords.StageUnplaced, Say.InClinicTime(LeftOutText.Of(left.Why), zone))
            : Say.Dotted(TextWords.StageWaiting, Gated(view.State, cartridge)),
        CartridgeStage.InWork => PhaseText.Of(view, cartridge),
        CartridgeStage.Astray => TextWords.StageAstray,
        CartridgeStage.Cleared cleared =>
            Say.Dotted(Say.Of(TextWords.StageCleared, Say.Clock(cleared.End, zone)), Result(cartridge)),
        CartridgeStage.Discarded discarded =>
            Say.Of(TextWords.StageDiscarded, discarded.InWords ?? Reason(discarded.Reason)),
        _ => TextWords.StageWithdrawn,
    };

    /// <summary>Whether a repeat may be offered: specimen is left, and no other open request does it already.</summary>
    public static bool MayRepeat(BenchState state, Cartridge cartridge) =>
        cartridge.Wanted.Request.RepeatLeft
        && (cartridge.Stage is CartridgeStage.Discarded || cartridge.Result is ReadResult.NoValue)
        && cartridge.Fate is null
        && !state.Cartridges.Any(other => other.Id != cartridge.Id && !other.IsOver
            && other.Wanted.Request.Specimen == cartridge.Wanted.Request.Specimen
            && other.Wanted.Request.Assay == cartridge.Wanted.Request.Assay);

    /// <summary>What is still to be done before the batch can be closed.</summary>
    public static string NotClosable(BenchMoment view)
    {
        var cartridges = view.State.Cartridges;
        string? Counted(int count, string one, string many) => count == 0 ? null : Say.Counted(count, one, many);
        var left = new[]
        {
            Counted(cartridges.Count(cartridge => cartridge.Stage is CartridgeStage.InWork or CartridgeStage.Astray),
                TextWords.CloseInWorkOne, TextWords.CloseInWorkMany),
            Counted(cartridges.Count(cartridge => cartridge.Stage is CartridgeStage.Waiting),
                TextWords.CloseWaitingOne, TextWords.CloseWaitingMany),
            Counted(view.View.Totals.Open, TextWords.CloseOpenOne, TextWords.CloseOpenMany),
            Counted(cartridges.Count(cartridge => cartridge.ResultMissing), TextWords.CloseResultOne,
                TextWords.CloseResultMany),
            Counted(cartridges.Count(cartridge => cartridge.MustBeTold), TextWords.CloseTellOne,
                TextWords.CloseTellMany),
        }.OfType<string>().ToList();
        return left.Count == 0 ? TextWords.CloseNotYet : Say.Of(TextWords.CloseAfter, string.Join(", ", left));
    }

    /// <summary>A discard's reason.</summary>
    public static string Reason(DiscardReason reason) => reason switch
    {
        DiscardReason.WindowClosed => TextWords.ReasonWindowClosed,
        DiscardReason.MixtureTooOld => TextWords.ReasonMixtureTooOld,
        DiscardReason.WellOverfilled => TextWords.ReasonWellOverfilled,
        DiscardReason.Bubbles => TextWords.ReasonBubbles,
        DiscardReason.Dropped => TextWords.ReasonDropped,
        DiscardReason.ReaderFault => TextWords.ReasonReaderFault,
        DiscardReason.FoundGone => TextWords.ReasonFoundGone,
        DiscardReason.Withdrawn => TextWords.ReasonWithdrawn,
        DiscardReason.Temperature => TextWords.ReasonTemperature,
        DiscardReason.PowerCut => TextWords.ReasonPowerCut,
        DiscardReason.ControlsFailed => TextWords.ReasonControlsFailed,
        _ => TextWords.ReasonOther,
    };

    private static string? Gated(BenchState state, Cartridge cartridge) =>
        cartridge.Wanted.Request.Kind != RequestKind.Control
            ? ResourceText.Gate(state, cartridge.Wanted.Request.Lot) : null;

    private static string? Result(Cartridge cartridge) => cartridge.Result is null
        ? TextWords.ResultMissing
        : Say.Dotted(ResultSentence.Value(cartridge), Say.Dotted(ResultSentence.Marks(cartridge), cartridge.IsHeld
            ? TextWords.ResultHeld : null));
}
