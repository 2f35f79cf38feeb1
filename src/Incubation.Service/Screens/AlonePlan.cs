using Incubation.Bench;
using Incubation.Model;
using Incubation.Service.Alarms;
using Incubation.Service.Snapshots;
using Incubation.Service.Text;
using NodaTime;

namespace Incubation.Service.Screens;

/// <summary>Writes what a screen needs to go on without its server.</summary>
internal static class AlonePlan
{
    /// <summary>What programs and instruments report through; no screen has such a name.</summary>
    private const string Program = "key-";

    /// <summary>The part of a bench's snapshot; null where no batch runs or nothing is planned.</summary>
    public static AloneSnapshot? Of(BenchMoment view, StepPatience patience)
    {
        var state = LiveBench.Readable(view.State);
        if (state is not { Phase: BatchPhase.Running, Adopted: { } adopted })
            return null;
        var day = LiveBench.Problem(state, view.View.At);
        var near = day.MidRun!.Cartridges.Select(cartridge => cartridge.Request)
            .Concat(view.View.Offers.Select(offer => offer.Action.Subject).OfType<RequestId>())
            .Concat(state.NotKnown.Select(step => step.Action.Subject).OfType<RequestId>()).ToHashSet();
        var needed = day with { Requests = [.. day.Requests.Where(request => near.Contains(request.Id))] };
        // The plan may still have rows of a cartridge of which nobody knows where it is.
        var kept = needed.Requests.Select(request => request.Id).ToHashSet();
        var rows = adopted.Remaining.Select(row => row.Step)
            .Where(step => step.Action.Subject is not { } subject || kept.Contains(subject)).ToList();
        return Of(needed, rows, action => StepText.Title(state, action)) with
        {
            StartedAt = state.StartedAt,
            PromptAhead = Ms(state.PromptAhead),
            Hands = [.. state.Hands.Select(hands => new AloneHands(hands.Value, FreeFrom(state, hands),
                ServedBy(state, hands)?.Value, state.SilentSince(hands)))],
            Assays = WithTexts(state, needed),
            Cards = [.. state.Readers.Select(reader =>
                new AloneCard(reader.Value, state.CardIn(reader)?.Value, state.IsInDoubt(reader)))],
            Lost = [.. adopted.Plan.Lost.Select(left => left.Request).Where(kept.Contains)
                .Select(request => request.Value)],
            Patience = new AlonePatience(Ms(patience.Mix), Ms(patience.Load), Ms(patience.Move), Ms(patience.Clear),
                Ms(patience.Discard), Ms(patience.CardChange)),
            NotKnown = [.. state.NotKnown.Select(step => Unknown(state, step))],
            Alarms = AlarmText.Templates,
            Questions = QuestionText.Templates,
            SlotNames = [.. Enumerable.Range(1, state.Setup.Slots).Select(slot =>
                StepText.PlaceName(new CartridgePlace.InSlot(new SlotNumber(slot)), state.Setup))],
            ReaderNames = [.. state.Readers.Select(reader =>
                StepText.PlaceName(new CartridgePlace.InReader(reader), state.Setup))],
        };
    }

    /// <summary>A day and rows of a plan in the form that screens read.</summary>
    /// <param name="day">The day.</param>
    /// <param name="steps">Rows of a plan for it, by start.</param>
    /// <param name="title">The words of a step.</param>
    public static AloneSnapshot Of(BenchDay day, IEnumerable<PlannedStep> steps, Func<StepAction, string> title)
    {
        var keys = KeysOf(day);
        return new AloneSnapshot(
            null, 0, Ms(day.Bench.CardChange), Ms(day.Bench.ReadGuard), day.Bench.Slots, day.Bench.Readers,
            [.. Enumerable.Range(1, day.Bench.Hands).Select(hands => new AloneHands(hands, null, null, null))],
            [.. keys.Select(key => Assay(day.Assays.First(assay => assay.Key == key)))],
            [.. day.Requests.Select(request => Request(day, request, keys.IndexOf(request.AssayKey)))],
            [.. (day.MidRun?.Cartridges ?? []).Select(Cartridge)],
            [.. steps.Where(step => step.Hands is not null).Select(step => Step(step, title(step.Action)))],
            [.. day.Calendar.Select(Closing)],
            [.. (day.MidRun?.Cards ?? []).Select(card => new AloneCard(card.Reader.Value, card.Card.Value, false))],
            [], new AlonePatience(0, 0, 0, 0, 0, 0), [], [], [], [], []);
    }

    /// <summary>
    /// From when hands can have begun what is next: their last report, or their return after silence.
    /// </summary>
    private static Instant? FreeFrom(BenchState state, HandsNumber hands) =>
        state.ReturnedAt(hands) is { } back ? Instant.Max(back, state.LastReportOf(hands) ?? back)
            : state.LastReportOf(hands);

    private static AloneUnknown Unknown(BenchState state, UnknownStep step) => new(
        step.Hands.Value, StepText.Kind(step.Action), step.Action.Subject!.Value.Value,
        (step.Action as StepAction.Load)?.Place is CartridgePlace.InSlot at ? at.Slot.Value : null,
        step.Action.NeedsReader?.Value, step.Begun,
        [
            .. step.Planned.Where(row => row.Step.Hands is not null)
                .Select(row => Step(row.Step, StepText.Title(state, row.Step.Action))),
        ]);

    /// <summary>
    /// The screen that served a pair of hands last: through which they reported, else anybody did, else the batch was
    /// started.
    /// </summary>
    private static DeviceId? ServedBy(BenchState state, HandsNumber hands)
    {
        var byScreens = state.Story.Where(told => told.Event is BenchEvent.StepEvent { IsReport: true }
            && !told.Device.Value.StartsWith(Program, StringComparison.Ordinal)).ToList();
        return (byScreens.FindLast(told => ((BenchEvent.StepEvent)told.Event).Hands == hands)
            ?? byScreens.LastOrDefault())?.Device ?? state.Run.StartedThrough;
    }

    private static List<AssayKey> KeysOf(BenchDay day) =>
        [.. day.Requests.Select(request => request.AssayKey).Distinct()];

    private static List<AloneAssay> WithTexts(BenchState state, BenchDay day) =>
    [
        .. KeysOf(day).Select(key =>
        {
            var texts = state.Cartridges.Where(cartridge => cartridge.Wanted.Assay.Code == key.Code
                    && cartridge.Wanted.AssayVersion == key.Version)
                .Select(cartridge => cartridge.Wanted.Facts?.Texts).FirstOrDefault(found => found is not null);
            return Assay(day.Assays.First(assay => assay.Key == key)) with
            {
                Texts = texts is null ? null : new AloneTexts(texts.Mix, texts.Load, texts.Move ?? texts.Read,
                    texts.Clear),
            };
        }),
    ];

    private static AloneAssay Assay(Assay assay) => new(Ms(assay.Mix), Ms(assay.MixToLoad), Ms(assay.Load),
        Ms(assay.Incubation), Ms(assay.ReadWindow), Ms(assay.Move), Ms(assay.Read), Ms(assay.Clear),
        Ms(assay.MixShortest), Ms(assay.LoadShortest), null);

    private static AloneRequest Request(BenchDay day, Request request, int assay) => new(
        request.Id.Value, request.Specimen.Value, assay, request.Lot.Value, request.EffectiveReady(day.Start),
        request.LoadBy, [.. request.After.Select(before => before.Value)], request.Kind == RequestKind.Control,
        request.Priority == Priority.Urgent, request.RepeatLeft);

    private static AloneCartridge Cartridge(CartridgeInWork cartridge)
    {
        var id = cartridge.Request.Value;
        return cartridge.Phase switch
        {
            CartridgePhase.Mixed { MixEnd: var end } =>
                new AloneCartridge(id, "mixed", end.Earliest, end.Latest, null, null, cartridge.MustDiscard),
            CartridgePhase.Reacting { LoadEnd: var end, Place: var place } =>
                new AloneCartridge(id, "reacting", end.Earliest, end.Latest,
                    (place as CartridgePlace.InSlot)?.Slot.Value, (place as CartridgePlace.InReader)?.Reader.Value,
                    cartridge.MustDiscard),
            CartridgePhase.Reading reading =>
                new AloneCartridge(id, "reading", null, reading.Start, null, reading.Reader.Value, false),
            CartridgePhase.Read read => new AloneCartridge(id, "read", null, null, null, read.Reader.Value, false),
            var other => throw new InvalidOperationException($"The phase {other.GetType().Name} is not known."),
        };
    }

    private static AloneStep Step(PlannedStep step, string title) => new(
        StepText.Kind(step.Action), step.Action.Subject?.Value, step.Hands!.Value.Value,
        (step.Action as StepAction.Load)?.Place is CartridgePlace.InSlot at ? at.Slot.Value : null,
        step.Action.NeedsReader?.Value, (step.Action as StepAction.CardChange)?.Lot.Value, step.Start, step.End, title);

    private static AloneClosing Closing(CalendarEntry entry) => entry.Resource switch
    {
        BenchResource.Hands hands => new AloneClosing("hands", hands.Number.Value, entry.From, entry.To),
        BenchResource.Slot slot => new AloneClosing("slot", slot.Number.Value, entry.From, entry.To),
        BenchResource.Reader reader => new AloneClosing("reader", reader.Number.Value, entry.From, entry.To),
        _ => new AloneClosing("incubator", null, entry.From, entry.To),
    };

    private static long Ms(Duration length) => (long)length.TotalMilliseconds;
}
