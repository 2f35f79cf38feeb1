using Incubation.Bench;
using Incubation.Model;
using Incubation.Service.Snapshots;
using Incubation.Service.Text;
using NodaTime;

namespace Incubation.Service.Batches;

/// <summary>A step on the run sheet.</summary>
/// <param name="Number">Its place in the order.</param>
/// <param name="At">When it is planned: after the start of the batch, or by the clock once that runs.</param>
/// <param name="Hands">Whose, on a bench with several pairs; else empty.</param>
/// <param name="Title">Verb and object.</param>
/// <param name="Detail">Whose it is and what must be true.</param>
/// <param name="Latest">When it must begin at the latest; empty where nothing is at stake.</param>
public sealed record SheetStep(int Number, string At, string Hands, string Title, string Detail, string Latest);

/// <summary>A cartridge on the run sheet.</summary>
/// <param name="Specimen">Its specimen.</param>
/// <param name="Assay">Name of its assay.</param>
/// <param name="Lot">Lot of its kit and card.</param>
/// <param name="Place">The slot or reader.</param>
/// <param name="IsUrgent">Whether it is urgent.</param>
/// <param name="LoadWithin">The longest from the end of its mix to the begin of its load; empty once it is
/// loaded.</param>
/// <param name="Loaded">When it was loaded; empty before.</param>
/// <param name="Opens">When its read may start: by the clock where it is loaded, else after the end of its
/// load.</param>
/// <param name="Closes">When its read must have started.</param>
public sealed record SheetCartridge(string Specimen, string Assay, string Lot, string Place, bool IsUrgent,
    string LoadWithin, string Loaded, string Opens, string Closes);

/// <summary>
/// The plan on paper, to go on by if need be: slots, windows, order, and room for what was really done.
/// </summary>
public static class RunSheet
{
    /// <summary>The steps that are left, in the plan's order.</summary>
    public static IReadOnlyList<SheetStep> Steps(BenchState state, DateTimeZone zone)
    {
        ArgumentNullException.ThrowIfNull(state);
        var rows = (state.Adopted?.Remaining ?? []).Where(row => row.Step.Hands is not null).ToList();
        if (rows.Count == 0)
            return [];
        var start = rows[0].Step.Start;
        string At(Instant instant) => state.Phase == BatchPhase.Preparing
            ? Say.Of(BatchesWords.SheetAfter, Say.Length(instant - start)) : Say.ClockWithSeconds(instant, zone);
        return
        [
            .. rows.Select((row, index) => new SheetStep(
                index + 1, At(row.Step.Start), state.Setup.Hands == 1
                    ? "" : Say.Of(Words.HandsNumber, row.Step.Hands!.Value.Value),
                StepText.Title(state, row.Step.Action), DetailOf(state, row.Step.Action), row.Spare is { } spare
                    ? At(row.Step.Start + spare) : "")),
        ];
    }

    /// <summary>Which card is in now says nothing about when a later one is changed.</summary>
    private static string DetailOf(BenchState state, StepAction action) => action is StepAction.CardChange
        ? "" : StepText.Detail(state, action);

    /// <summary>The cartridges that are not over, in the order in which they are, or will be, loaded.</summary>
    public static IReadOnlyList<SheetCartridge> Cartridges(BenchMoment view, DateTimeZone zone)
    {
        ArgumentNullException.ThrowIfNull(view);
        var state = view.State;
        var order = (state.Adopted?.Plan.Steps ?? []).Select(step => step.Action).OfType<StepAction.Load>()
            .Select((load, index) => (load, index))
            .ToDictionary(one => one.load.Request, one => (one.load.Place, one.index));
        return
        [
            .. state.Cartridges.Where(cartridge => !cartridge.IsOver)
                .OrderBy(cartridge => cartridge.Reached is CartridgePhase.Mixed or null ? 1 : 0)
                .ThenBy(cartridge => order.TryGetValue(cartridge.Id, out var planned) ? planned.index : int.MaxValue)
                .Select(cartridge => Of(view, cartridge, order.TryGetValue(cartridge.Id, out var planned)
                    ? planned.Place : null, zone)),
        ];
    }

    private static SheetCartridge Of(BenchMoment view, Cartridge cartridge, CartridgePlace? planned, DateTimeZone zone)
    {
        var state = view.State;
        var (request, assay) = (cartridge.Wanted.Request, cartridge.Wanted.Assay);
        // Of one that reports disagree about, the place alone is in doubt.
        var isAstray = cartridge.Stage is CartridgeStage.Astray;
        var reacting = cartridge.Reached as CartridgePhase.Reacting;
        var place = isAstray ? BatchesWords.SheetWhere
            : (reacting?.Place ?? planned) is { } known ? StepText.PlaceName(known, state.Setup)
            : cartridge.Stage is CartridgeStage.Waiting ? BatchesWords.SheetNotPlanned
            : StepText.Whereabouts(state, cartridge.Id);
        var isInReader = (reacting?.Place ?? planned) is CartridgePlace.InReader;
        var its = reacting is { Place: CartridgePlace.InSlot }
            ? ReadWindow.Of(assay, state.Setup, reacting.LoadEnd) : (ReadWindow?)null;
        var (opens, closes) = (its, isInReader) switch
        {
            _ when PhaseText.Beyond(view, cartridge) => (PhaseText.Of(view, cartridge), its is { } closed
                ? Say.ClockWithSeconds(closed.Closes, zone) : ""),
            ({ } window, _) => (Say.ClockWithSeconds(window.Opens, zone), Say.ClockWithSeconds(window.Closes, zone)),
            (null, true) => (BatchesWords.SheetByItself, ""),
            _ when cartridge.Reached is CartridgePhase.Reading or CartridgePhase.Read =>
                (cartridge.Phase is null ? Words.StageReading : PhaseText.Of(view, cartridge), ""),
            _ =>
                (Say.Of(BatchesWords.SheetAfter, Say.Length(assay.Incubation)),
                    Say.Of(BatchesWords.SheetAfter, Say.Length(assay.Incubation + assay.ReadWindow))),
        };
        var isLoaded = cartridge.Reached is not (null or CartridgePhase.Mixed);
        return new SheetCartridge(
            request.Specimen.Value, assay.Name, request.Lot.Value, place, request.Priority == Priority.Urgent, isLoaded
                ? "" : Say.Length(assay.MixToLoad),
            reacting is null ? "" : Say.ClockWithSeconds(reacting.LoadEnd.Latest, zone), opens, closes);
    }
}
