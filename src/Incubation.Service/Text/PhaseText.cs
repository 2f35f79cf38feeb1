using Incubation.Bench;
using Incubation.Model;
using Incubation.Service.Snapshots;

namespace Incubation.Service.Text;

/// <summary>
/// How far a cartridge in work has come, as it is at an instant and not as it was last reported: what the alarms say of
/// it is said of it everywhere.
/// </summary>
public static class PhaseText
{
    /// <summary>"in slot 3, window closed"; empty for a cartridge that is not in work.</summary>
    public static string Of(BenchMoment view, Cartridge cartridge)
    {
        ArgumentNullException.ThrowIfNull(cartridge);
        return Say.Dotted(Reached(view, cartridge), Beyond(view, cartridge) ? null
            : Stands(view, cartridge, AlarmKind.CannotBeSaved) ? TextWords.StageGivenUp
            : MustGo(view, cartridge) ? TextWords.StageMustGo : null);
    }

    /// <summary>Whether nothing reads it in time any more: its window has closed, or its mixture is too old.</summary>
    public static bool Beyond(BenchMoment view, Cartridge cartridge)
    {
        ArgumentNullException.ThrowIfNull(cartridge);
        return Stands(view, cartridge, AlarmKind.WindowClosed) || Stands(view, cartridge, AlarmKind.MixtureTooOld);
    }

    private static string Reached(BenchMoment view, Cartridge cartridge) => cartridge.Phase switch
    {
        CartridgePhase.Mixed => Stands(view, cartridge, AlarmKind.MixtureTooOld)
            ? TextWords.StageTooOld : TextWords.StageMixed,
        CartridgePhase.Reacting { Place: CartridgePlace.InSlot } reacting => Say.Of(
            Stands(view, cartridge, AlarmKind.WindowClosed) ? TextWords.StageWindowClosed
                : view.State.WindowOf(cartridge) is { } window && window.Opens <= view.View.At
                ? TextWords.StageWindowOpen : TextWords.StageReacting,
            StepText.PlaceName(reacting.Place, view.State.Setup)),
        CartridgePhase.Reacting reacting when IsReadOver(view, cartridge, reacting.Place) => TextWords.StageRead,
        CartridgePhase.Reacting reacting => Say.Of(TextWords.StageReacting,
            StepText.PlaceName(reacting.Place, view.State.Setup)),
        CartridgePhase.Reading reading =>
            IsReadOver(view, cartridge, new CartridgePlace.InReader(reading.Reader))
                ? TextWords.StageRead : Words.StageReading,
        CartridgePhase.Read => TextWords.StageRead,
        _ => "",
    };

    private static bool IsReadOver(BenchMoment view, Cartridge cartridge, CartridgePlace place) =>
        view.View.Readers.Any(reader => reader.Cartridge?.Id == cartridge.Id
            && place == new CartridgePlace.InReader(reader.Reader) && reader.ReadyAt <= view.View.At);

    private static bool MustGo(BenchMoment view, Cartridge cartridge) =>
        view.View.Losses.Any(loss => loss.Request == cartridge.Id
            && loss.Cause is LossCause.Withdrawn or LossCause.Temperature or LossCause.ControlsFailed);

    private static bool Stands(BenchMoment view, Cartridge cartridge, AlarmKind kind) =>
        view.View.Alarms.Any(alarm => alarm.Key == new AlarmKey(kind, cartridge.Id) && alarm.StandsAt(view.View.At));
}
