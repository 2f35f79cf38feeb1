using Incubation.Bench;
using Incubation.Model;
using Incubation.Service.Snapshots;
using NodaTime;

namespace Incubation.Service.Text;

/// <summary>The words of the batch page.</summary>
public static class BatchWords
{
    /// <summary>Where the batch stands, and when it ends.</summary>
    public static string Standing(BenchView view, DateTimeZone zone)
    {
        var (state, look) = view;
        if (state.Phase == BatchPhase.Preparing)
        {
            return state.Adopted is { } preview && look.Totals.Total > 0
                ? Say.Of(Words.StandingPlanned, Say.Length(preview.Plan.Finish))
                : Words.StandingEmpty;
        }

        return (IdleWords.IsFinished(state), look.Totals.Finish) switch
        {
            (true, { } end) => Say.Of(Words.StandingFinished, Say.Clock(end, zone)),
            (false, { } end) => Say.Of(Words.StandingRunning, Say.Clock(end, zone)),
            _ => Words.PhaseRunning,
        };
    }

    /// <summary>How far a request has come.</summary>
    public static string Stage(BenchView view, Cartridge cartridge, DateTimeZone zone) => cartridge.Stage switch
    {
        CartridgeStage.Waiting => view.State.Adopted?.Plan.Unplaced.FirstOrDefault(left => left.Request == cartridge.Id) is { } left
            ? Say.Of(Words.StageUnplaced, Say.InClinicTime(left.Why, zone))
            : Say.Dotted(Words.StageWaiting, Gated(view.State, cartridge)),
        CartridgeStage.InWork { Phase: CartridgePhase.Mixed } => Words.StageMixed,
        CartridgeStage.InWork { Phase: CartridgePhase.Reacting reacting } => Say.Of(Words.StageReacting, StepWords.PlaceName(reacting.Place, view.State.Setup)),
        CartridgeStage.InWork { Phase: CartridgePhase.Reading } => Words.StageReading,
        CartridgeStage.InWork => Words.StageRead,
        CartridgeStage.Astray => Words.StageAstray,
        CartridgeStage.Cleared cleared => Say.Dotted(Say.Of(Words.StageCleared, Say.Clock(cleared.End, zone)), Result(cartridge)),
        CartridgeStage.Discarded discarded => Say.Of(Words.StageDiscarded, discarded.InWords ?? Reason(discarded.Reason)),
        _ => Words.StageWithdrawn,
    };

    /// <summary>Whether a repeat may be offered: specimen is left, and no other open request does it already.</summary>
    public static bool MayRepeat(BenchState state, Cartridge cartridge) =>
        cartridge.Wanted.Request.RepeatLeft
        && (cartridge.Stage is CartridgeStage.Discarded || cartridge.Result is ReadResult.NoValue)
        && !state.Cartridges.Any(other => other.Id != cartridge.Id && !other.IsOver
            && other.Wanted.Request.Specimen == cartridge.Wanted.Request.Specimen
            && other.Wanted.Request.Assay == cartridge.Wanted.Request.Assay);

    /// <summary>What is still to be done before the batch can be closed.</summary>
    public static string NotClosable(BenchView view)
    {
        var cartridges = view.State.Cartridges;
        string? Counted(int count, string one, string many) => count == 0 ? null : Say.Counted(count, one, many);
        var left = new[]
        {
            Counted(cartridges.Count(cartridge => cartridge.Stage is CartridgeStage.InWork or CartridgeStage.Astray), Words.CloseInWorkOne, Words.CloseInWorkMany),
            Counted(cartridges.Count(cartridge => cartridge.Stage is CartridgeStage.Waiting), Words.CloseWaitingOne, Words.CloseWaitingMany),
            Counted(cartridges.Count(cartridge => cartridge.ResultMissing), Words.CloseResultOne, Words.CloseResultMany),
            Counted(cartridges.Count(cartridge => cartridge.MustBeTold), Words.CloseTellOne, Words.CloseTellMany),
        }.OfType<string>().ToList();
        return left.Count == 0 ? Words.CloseNotYet : Say.Of(Words.CloseAfter, string.Join(", ", left));
    }

    /// <summary>A discard's reason.</summary>
    public static string Reason(DiscardReason reason) => reason switch
    {
        DiscardReason.WindowClosed => Words.ReasonWindowClosed,
        DiscardReason.MixtureTooOld => Words.ReasonMixtureTooOld,
        DiscardReason.WellOverfilled => Words.ReasonWellOverfilled,
        DiscardReason.Bubbles => Words.ReasonBubbles,
        DiscardReason.Dropped => Words.ReasonDropped,
        DiscardReason.ReaderFault => Words.ReasonReaderFault,
        DiscardReason.FoundGone => Words.ReasonFoundGone,
        DiscardReason.Withdrawn => Words.ReasonWithdrawn,
        DiscardReason.Temperature => Words.ReasonTemperature,
        DiscardReason.PowerCut => Words.ReasonPowerCut,
        DiscardReason.ControlsFailed => Words.ReasonControlsFailed,
        _ => Words.ReasonOther,
    };

    private static string? Gated(BenchState state, Cartridge cartridge) =>
        cartridge.Wanted.Request.Kind == RequestKind.Patient ? MeansWords.Gate(state, cartridge.Wanted.Request.Lot) : null;

    private static string? Result(Cartridge cartridge) => cartridge.Result is null
        ? Words.ResultMissing
        : Say.Dotted(ResultSay.Value(cartridge), Say.Dotted(ResultSay.Marks(cartridge), cartridge.IsHeld ? Words.ResultHeld : null));
}
