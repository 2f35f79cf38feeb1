using Incubation.Bench;
using Incubation.Chart;
using Incubation.Model;
using Incubation.Service.Alarms;
using Incubation.Service.Clinic;
using Incubation.Service.Clock;
using Incubation.Service.Settings;
using Incubation.Service.Snapshots;
using Incubation.Service.Text;

namespace Incubation.Service.Screens;

/// <summary>Turns a bench's view into what screens show: every word, every absolute instant, and the picture.</summary>
/// <param name="clinic">The clinic, for its time zone.</param>
/// <param name="clock">The server's clock, for its rate.</param>
/// <param name="host">The alarms of this server.</param>
/// <param name="patience">For how long hands are believed, on a screen without its server too.</param>
/// <param name="labels">What is asked of labels at a bench for which nobody has said it.</param>
public sealed class SnapshotWriter(ClinicHost clinic, BenchClock clock, IHostAlarms host,
    StepPatience? patience = null, LabelSettings? labels = null)
{
    private const int MaxUpcoming = 8;

    /// <summary>The snapshot of a view for a layout of the lanes; the wall's names no specimen.</summary>
    public BenchSnapshot Write(BenchMoment view, LaneLayout layout) => layout == LaneLayout.Wall
        ? WriteUnnamed(view, layout) : WriteAll(view, layout);

    /// <summary>The snapshot of a view that names no specimen.</summary>
    public BenchSnapshot WriteUnnamed(BenchMoment view, LaneLayout layout) =>
        WriteAll(UnnamedView.Of(view), layout) with
        { Labels = [], Reports = [], Undos = [], Tellings = [], Alone = null };

    private BenchSnapshot WriteAll(BenchMoment view, LaneLayout layout)
    {
        var (state, look) = view;
        return new BenchSnapshot(
            state.Id.Value, state.Name, state.Revision, look.At, clock.Rate, clinic.Facts.Zone.Id,
            Batch(view),
            [.. look.Offers.Select(offer => WriteOffer(state, offer))],
            [.. look.Upcoming.Where((coming, place) => place < MaxUpcoming || IsOfWork(state, coming))
                .Select(coming => Upcoming(state, coming))],
            [.. look.Slots.Select(slot => Slot(view, slot))],
            [.. look.Readers.Select(reader => Reader(state, reader))],
            Alarms(view),
            [.. state.Cartridges.Where(cartridge => cartridge.ResultMissing)
                .Select(cartridge => MissingResult(state, cartridge))],
            Undo(state),
            LotsOf(state),
            LaneChart.Render(state, look, layout),
            [.. state.Unchecked.GroupBy(report => report.Device.Value)
                .Select(reports => new UncheckedSnapshot(reports.Key, reports.Count()))],
            [.. look.Questions.Select(question => QuestionText.Write(state, question, clinic.Facts.Zone))],
            StepReportText.Undos(state),
            StepReportText.Recent(state),
            [.. look.Losses.Select(loss => ResourceText.Write(state, loss))],
            [.. look.Repeats.Select(request => Repeat(state.Find(request)!.Wanted))],
            [.. look.NotPlanned.Select(left => ResourceText.Write(state, left, look.At, clinic.Facts.Zone))],
            ResourceText.Write(state, look.At),
            [.. state.Cartridges.Select(cartridge => Label(state, cartridge))],
            UrgentText.Write(state, clinic.Facts.Zone),
            TellingText.Write(state, look.At),
            layout == LaneLayout.Wall ? null : AlonePlan.Of(view, patience ?? StepPatience.Usual),
            clinic.Log.Instruments.QuestionsOf(state.Id), KebabCase.Of((labels ?? LabelSettings.Usual).Of(state)));
    }

    /// <summary>
    /// Whether a screen without its server still offers a step: of a cartridge in work, or the card that it may need.
    /// </summary>
    private static bool IsOfWork(BenchState state, UpcomingStep coming) => coming.Step.Action switch
    {
        StepAction.CardChange => true,
        StepAction.Move or StepAction.Clear or StepAction.Discard =>
            state.Find(coming.Step.Action.Subject!.Value)?.Stage is CartridgeStage.InWork,
        _ => false,
    };

    private List<AlarmSnapshot> Alarms(BenchMoment view) =>
    [
        .. host.Of(view.State).Select(AlarmText.Write),
        .. view.View.Alarms.Where(alarm => !host.Withholds(alarm))
            .Select(alarm => AlarmText.Write(view.State, alarm, view.View.Losses, clinic.Facts.Zone,
                device => Names.Of(device, clinic.Log.People))),
    ];

    private List<string> LotsOf(BenchState state) =>
    [
        .. clinic.Lots
            .Concat(state.Cartridges.Select(cartridge => cartridge.Wanted.Request.Lot.Value))
            .Concat(state.Checkpoint.Readers.Select(reader => reader.Card?.Value).OfType<string>())
            .Distinct(StringComparer.Ordinal).Order(StringComparer.Ordinal),
    ];

    /// <summary>A bench in the list of benches.</summary>
    public static BenchSummary Summarize(BenchMoment view)
    {
        var (state, look) = view;
        return new BenchSummary(state.Id.Value, state.Name, Phase(state), Headline(look.Totals), state.Revision);
    }

    private BatchSnapshot Batch(BenchMoment view)
    {
        var (state, look) = view;
        var totals = look.Totals;
        return new BatchSnapshot(
            Phase(state), state.Batch, Headline(totals), totals.Finish, totals.Total, totals.Done, totals.Reacting,
                totals.Waiting,
            totals.Discarded, totals.ReadInWindow, totals.ReadOutside, totals.UrgentWaiting, totals.UrgentSince,
                totals.LateNow, totals.PerHour,
            IdleText.Write(view, clinic.Facts.Zone), state.StartedAt);
    }

    private static string Phase(BenchState state) => state.Phase == BatchPhase.Preparing ? "preparing"
        : IdleText.IsFinished(state) ? "finished" : "running";

    private static string Headline(BatchTotals totals) => Say.Dotted(
        Say.Of(ScreensWords.HeadlineDone, totals.Done, totals.Total),
        totals.Reacting > 0 ? Say.Of(ScreensWords.HeadlineReacting, totals.Reacting) : null,
        totals.Discarded > 0 ? Say.Of(ScreensWords.HeadlineDiscarded, totals.Discarded) : null,
        totals.CarriedOver > 0 ? Say.Of(ScreensWords.HeadlineCarriedOver, totals.CarriedOver) : null,
        totals.GivenUp > 0 ? Say.Of(ScreensWords.HeadlineGivenUp, totals.GivenUp) : null,
        totals.Open > 0 ? Say.Of(ScreensWords.HeadlineOpen, totals.Open) : null,
        totals.LateNow > 0 ? Say.Of(ScreensWords.HeadlineLate, totals.LateNow) : null);

    private static OfferSnapshot WriteOffer(BenchState state, Offer offer)
    {
        var action = offer.Action;
        var cartridge = action.Subject is { } subject ? state.Find(subject) : null;
        return new OfferSnapshot(
            KeyOf(offer), StepText.Kind(action), offer.Hands.Value, state.Setup.Hands == 1
                ? "" : Say.Of(Words.HandsNumber, offer.Hands.Value),
            StepText.Now(state, offer.Hands, action), StepText.Detail(state, action), StepText.Button(action),
            StepText.CountdownToBegin(action), StepText.CountdownToLatest(action),
            cartridge?.Wanted.Request.Priority == Priority.Urgent,
            cartridge?.Id.Value, cartridge?.Wanted.Request.Specimen.Value,
            SlotOf(state, action), action.NeedsReader?.Value, (action as StepAction.CardChange)?.Lot.Value,
            offer.PromptAt, offer.MayBegin, offer.PlannedEnd, offer.Window?.Closes
                ?? offer.PlannedEnd, offer.LatestStart,
            offer.ReportFrom, offer.AskWhenAfter, offer.Window?.Opens, offer.Window?.Closes, offer.Reason is { } reason
                ? KebabCase.Of(reason) : null, InstructionOf(action, cartridge?.Wanted.Facts?.Texts),
            offer.IfNotBegun is { } first ? Say.Of(ScreensWords.IfNotBegun, StepText.Act(state, first)) : null);
    }

    private static string? InstructionOf(StepAction action, StepTexts? texts) => action switch
    {
        StepAction.Mix => texts?.Mix,
        StepAction.Load => texts?.Load,
        StepAction.Move => texts?.Move ?? texts?.Read,
        StepAction.Clear => texts?.Clear,
        _ => null,
    };

    /// <summary>
    /// The same step keeps its key; the same step offered again later in another place, or to other hands, has another.
    /// </summary>
    private static string KeyOf(Offer offer) => offer.Action switch
    {
        StepAction.Load { Place: CartridgePlace.InSlot at } load => $"load/{load.Request}/slot-{at.Slot}/{offer.Hands}",
        StepAction.CardChange change => $"card-change/{change.Lot}/{change.Reader}/{offer.Hands}",
        var action => $"{StepText.Kind(action)}/{action.Subject}/{action.NeedsReader}/{offer.Hands}",
    };

    private static UpcomingSnapshot Upcoming(BenchState state, UpcomingStep coming)
    {
        var action = coming.Step.Action;
        var cartridge = action.Subject is { } subject ? state.Find(subject) : null;
        return new UpcomingSnapshot(
            StepText.Title(state, action), coming.Step.Start, coming.Spare?.TotalSeconds,
            cartridge?.Wanted.Request.Priority == Priority.Urgent, cartridge?.Id.Value, StepText.Kind(action),
            SlotOf(state, action), action.NeedsReader?.Value, (action as StepAction.CardChange)?.Lot.Value);
    }

    private static int? SlotOf(BenchState state, StepAction action) => action switch
    {
        StepAction.Load { Place: CartridgePlace.InSlot at } => at.Slot.Value,
        StepAction.Move or StepAction.Discard
            when state.Find(action.Subject!.Value)?.Phase is CartridgePhase.Reacting
            {
                Place: CartridgePlace.InSlot at
            } => at.Slot.Value,
        StepAction.Move move => state.Adopted?.Plan.Steps.Select(step => step.Action).OfType<StepAction.Load>()
            .Where(load => load.Request == move.Request)
            .Select(load => (load.Place as CartridgePlace.InSlot)?.Slot.Value).FirstOrDefault(),
        _ => null,
    };

    /// <summary>The specimen of a step that is not known, or null.</summary>
    private static string? NotKnown(BenchState state, UnknownStep? step) =>
        step?.Action.Subject is { } request ? StepText.Specimen(state, request) : null;

    private static SlotSnapshot Slot(BenchMoment view, SlotView slot)
    {
        var wanted = slot.Cartridge?.Wanted;
        var saving = slot.Cartridge is { } inside ? view.View.LastMoments.For(inside.Id) : null;
        return new SlotSnapshot(
            slot.Slot.Value, wanted?.Request.Id.Value, wanted?.Request.Specimen.Value, wanted?.Assay.Name,
            wanted?.Request.Priority == Priority.Urgent, slot.Window?.Opens, slot.Window?.GuardFrom,
                slot.Window?.Closes, slot.MoveAt,
            ResourceText.Marks(slot.Cartridge), slot.OutOfUse is { } entry ? ResourceText.Write(entry) : null,
            saving?.BeginBy, saving is { Acts.Count: > 0 } ? AlarmText.Chain(view.State, saving.Acts) : null,
            NotKnown(view.State, slot.NotKnown));
    }

    private static ReaderSnapshot Reader(BenchState state, ReaderView reader) => new(
        reader.Reader.Value, reader.Card?.Value, reader.Cartridge?.Id.Value,
            reader.Cartridge?.Wanted.Request.Specimen.Value, reader.ReadyAt,
        ResourceText.Marks(reader.Cartridge), reader.CardDoubt is { } doubt
            ? ResourceText.Doubt(doubt) : null, reader.CardDoubt?.Believed?.Value,
        reader.OutOfUse is { } entry ? ResourceText.Write(entry) : null, NotKnown(state, reader.NotKnown));

    private static LabelSnapshot Label(BenchState state, Cartridge cartridge) => new(
        CartridgeLabel.Of(state.Id, cartridge.Id), cartridge.Id.Value, cartridge.Wanted.Request.Specimen.Value,
            cartridge.Wanted.Assay.Name, cartridge.IsOver);

    private static RepeatSnapshot Repeat(BenchRequest wanted) =>
        new(wanted.Request.Id.Value, wanted.Request.Specimen.Value, wanted.Assay.Name);

    /// <summary>Whether a result that is entered now is held.</summary>
    private static bool WillBeHeld(BenchState state, Cartridge cartridge) =>
        ResultUse.HoldsOfNext(state, cartridge).Any();

    private static MissingResultSnapshot MissingResult(BenchState state, Cartridge cartridge) => new(
        cartridge.Id.Value, cartridge.Wanted.Request.Specimen.Value, cartridge.Wanted.Assay.Name, cartridge.Wanted.Unit,
        WillBeHeld(state, cartridge));

    /// <summary>The last report of all, whatever came after it that is no report.</summary>
    private static UndoSnapshot? Undo(BenchState state)
    {
        var (report, device, happened) = state.Undo is { } last
            ? (last.Report, last.Device, last.Event)
            : state.Story.FindLast(told => told.Event is not BenchEvent.CardDoubted) is { } told
            ? (told.Id, told.Device, told.Event) : default;
        return happened is not null && StepReportText.Undo(state, happened) is { } what
            ? new UndoSnapshot(report.Value, device.Value, what) : null;
    }
}
