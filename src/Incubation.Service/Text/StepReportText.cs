using Incubation.Bench;
using Incubation.Model;
using Incubation.Service.Snapshots;

namespace Incubation.Service.Text;

/// <summary>The words of reports: as told, and as they can be taken back or corrected.</summary>
public static class StepReportText
{
    private const int MaxReports = 40;

    /// <summary>"Undo: mixed SP-014", or null for what cannot be taken back.</summary>
    public static string? Undo(BenchState state, BenchEvent happened) => happened switch
    {
        BenchEvent.Mixed mixed => Say.Of(TextWords.UndoMixed, StepText.Specimen(state, mixed.Request)),
        BenchEvent.Loaded loaded => Say.Of(TextWords.UndoLoaded, StepText.Specimen(state, loaded.Request)),
        BenchEvent.ReadStarted started => Say.Of(TextWords.UndoReadStarted, StepText.Specimen(state, started.Request)),
        BenchEvent.Cleared cleared => Say.Of(TextWords.UndoCleared, StepText.Specimen(state, cleared.Request)),
        BenchEvent.CardChanged changed => Say.Of(TextWords.UndoCardChanged, changed.Lot),
        BenchEvent.Discarded discarded => Say.Of(TextWords.UndoDiscarded, StepText.Specimen(state, discarded.Request)),
        BenchEvent.ResultEntered result => Say.Of(TextWords.UndoResult, StepText.Specimen(state, result.Request)),
        BenchEvent.StepNotBegun => TextWords.UndoNotBegun,
        _ => null,
    };

    /// <summary>What was told: "SP-014 loaded in slot 3".</summary>
    public static string Told(BenchState state, BenchEvent happened) => happened switch
    {
        BenchEvent.Mixed mixed => Say.Of(TextWords.ToldMixed, StepText.Specimen(state, mixed.Request)),
        BenchEvent.Loaded loaded =>
            Say.Of(TextWords.ToldLoaded, StepText.Specimen(state, loaded.Request),
                StepText.PlaceName(loaded.Place, state.Setup)),
        BenchEvent.ReadStarted started =>
            Say.Of(TextWords.ToldReadStarted, StepText.Specimen(state, started.Request),
                Say.Reader(started.Reader, state.Setup)),
        BenchEvent.Cleared cleared =>
            Say.Of(TextWords.ToldCleared, StepText.Specimen(state, cleared.Request),
                Say.Reader(cleared.Reader, state.Setup)),
        BenchEvent.CardChanged changed =>
            Say.Of(TextWords.ToldCardChanged, changed.Lot, Say.Reader(changed.Reader, state.Setup)),
        BenchEvent.Discarded discarded => Say.Of(TextWords.ToldDiscarded, StepText.Specimen(state, discarded.Request)),
        _ => "",
    };

    /// <summary>
    /// What was to be told with others: "SP-014 loaded in slot 3".
    /// </summary>
    public static string Told(BenchState state, Told told)
    {
        ArgumentNullException.ThrowIfNull(told);
        return told.What switch
        {
            BenchCommand.Mixed mixed => Say.Of(TextWords.ToldMixed, StepText.Specimen(state, mixed.Request)),
            BenchCommand.Loaded loaded => Say.Of(TextWords.ToldLoaded, StepText.Specimen(state, loaded.Request),
                StepText.PlaceName(loaded.Place, state.Setup)),
            BenchCommand.ReadStarted started =>
                Say.Of(TextWords.ToldReadStarted, StepText.Specimen(state, started.Request),
                    Say.Reader(started.Reader, state.Setup)),
            BenchCommand.Cleared cleared => Say.Of(TextWords.ToldCleared, StepText.Specimen(state, cleared.Request),
                Say.Reader(cleared.Reader, state.Setup)),
            BenchCommand.CardChanged changed =>
                Say.Of(TextWords.ToldCardChanged, changed.Lot, Say.Reader(changed.Reader, state.Setup)),
            BenchCommand.CardSeen seen =>
                Say.Of(TextWords.ToldCardChanged, seen.Lot, Say.Reader(seen.Reader, state.Setup)),
            BenchCommand.Discarded discarded =>
                Say.Of(TextWords.ToldDiscarded, StepText.Specimen(state, discarded.Request)),
            _ => TextWords.ToldAnswer,
        };
    }

    /// <summary>The newest reports of the batch.</summary>
    public static IReadOnlyList<ReportSnapshot> Recent(BenchState state) =>
    [
        .. state.Story.Reverse().Where(told => told.Event is not BenchEvent.CardDoubted).Take(MaxReports)
            .Select(told => Write(state, told)),
    ];

    /// <summary>For each device its own last report, as it can be taken back.</summary>
    public static IReadOnlyList<UndoOfDevice> Undos(BenchState state)
    {
        var devices = state.Story.Select(told => told.Device).Concat(state.Undo is { } last ? [last.Device] : [])
            .Distinct();
        return [.. devices.Select(device => UndoOf(state, device)).OfType<UndoOfDevice>()
            .OrderBy(undo => undo.Device, StringComparer.Ordinal)];
    }

    private static UndoOfDevice? UndoOf(BenchState state, DeviceId device)
    {
        if (Revisions.Undoable(state, device) is not { } report)
            return null;
        var isLast = state.Undo?.Report == report;
        var happened = isLast ? state.Undo!.Event : state.Story.FindLast(told => told.Id == report)?.Event;
        return happened is not null && Undo(state, happened) is { } text
            ? new UndoOfDevice(device.Value, report.Value, text, isLast
                ? [] : [.. Revisions.RestingOn(state, report).Select(told => Write(state, told))])
            : null;
    }

    private static ReportSnapshot Write(BenchState state, ReportedStep told)
    {
        var (slot, reader) = Place(told.Place);
        return new ReportSnapshot(
            told.Id.Value, KebabCase.OfCase(told.Event), Say.First(Told(state, told.Event)), told.At,
                told.Device.Value, told.At + Revisions.CorrectWithoutReasonWithin,
            told.Subject?.Value, told.Subject is { } subject ? StepText.Specimen(state, subject) : null,
            slot, reader, (told.Event as BenchEvent.CardChanged)?.Lot.Value);
    }

    /// <summary>The number of a slot or of a reader.</summary>
    public static (int? Slot, int? Reader) Place(CartridgePlace? place) =>
        ((place as CartridgePlace.InSlot)?.Slot.Value, (place as CartridgePlace.InReader)?.Reader.Value);
}
