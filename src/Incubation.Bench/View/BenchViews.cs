using System.Collections.Immutable;
using Incubation.Model;
using NodaTime;

namespace Incubation.Bench;

/// <summary>What is due, and what a bench shows. Follows the adopted plan; plans nothing itself.</summary>
internal static class BenchViews
{
    public static BenchView View(BenchState state, StepPatience patience, Instant now)
    {
        var stale = StaleSteps.KeptBack(state, now);
        var moments = Dangers.MomentsOf(state, stale, now);
        var dangers = new Dangers(state, moments, stale);
        var offers = InOrder(state, dangers, Offers(state), stale, now);
        var readers = Readers(state, now);
        var alarms = Alarms.List(state, dangers, now);
        return new BenchView(
            now,
            offers,
            Upcoming(state, offers),
            Slots(state, now),
            readers,
            alarms,
            Questions.List(state),
            Losses.List(state, now),
            [.. state.Cartridges.Where(cartridge => BatchDecisions.CanBeRepeated(state, cartridge))
                .Select(cartridge => cartridge.Id)],
            NotPlanned(state, now),
            Totals.Of(state, now),
            ChangesAt(state, offers, readers, alarms, now),
            ReplanTimes.At(state, now),
            moments,
            state.NotKnown,
            UnknownSteps.NextAt(state, patience, now));
    }

    /// <summary>
    /// The offers without mixes and loads that would cost a cartridge; of those that may begin what must begin first
    /// stands first, then by when they may.
    /// </summary>
    private static ImmutableArray<Offer> InOrder(BenchState state, Dangers dangers, ImmutableArray<Offer> offers,
        ImmutableArray<RemainingStep> stale, Instant now) =>
    [
        .. offers.Where(offer => state.Adopted?.NextOf(offer.Hands) is not { } row
                || (!stale.Contains(row) && !dangers.IsKeptBack(row, now)
                    && (Progress.HasBegun(state, row, now) || !StaleSteps.CostsWhatIsAsked(state, row, now))))
            .Select(offer => state.Adopted?.NextOf(offer.Hands) is { } row
                ? offer with { IfNotBegun = IfNotBegun.First(state, row, offer.LatestStart, now) } : offer)
            .OrderBy(offer => offer.MayBegin > now)
            .ThenBy(offer => offer.MayBegin > now ? Instant.MaxValue
                : dangers.BeginBy(offer.Action) ?? offer.LatestStart ?? Instant.MaxValue)
            .ThenBy(offer => offer.MayBegin).ThenBy(offer => offer.Hands.Value),
    ];

    public static ImmutableArray<Offer> Offers(BenchState state)
    {
        if (state is not { Phase: BatchPhase.Running, Adopted: { } adopted })
            return [];
        return [.. state.Hands
            .Select(adopted.NextOf)
            .OfType<RemainingStep>()
            .Where(row => !IsIntoATakenPlace(state, adopted, row) && !LotGates.KeepsBack(state, row.Step.Action))
            .Select(row => OfferOf(state, row))
            .OrderBy(offer => offer.MayBegin).ThenBy(offer => offer.Hands.Value)];
    }

    /// <summary>
    /// Whether the adopted plan wants to put something into a place that a report has filled meanwhile, and does not
    /// empty that place first. A place that is taken is never offered; the plan is replaced soon.
    /// </summary>
    private static bool IsIntoATakenPlace(BenchState state, AdoptedPlan adopted, RemainingStep row)
    {
        if (row.Step.Action.NeedsReader is { } wanted && state.IsInDoubt(wanted))
            return true;
        if (UnknownSteps.IsIntoAnUnknownPlace(state, row.Step.Action))
            return true;
        var inside = row.Step.Action switch
        {
            StepAction.Load { Place: CartridgePlace.InSlot at } => state.InSlot(at.Slot),
            StepAction.Load or StepAction.Move or StepAction.CardChange => row.Step.Action.NeedsReader is { } reader
                ? state.InReader(reader) : null,
            _ => null,
        };
        return inside is not null && inside.Id != row.Step.Action.Subject && !adopted.Remaining.Any(leaving =>
            leaving.Step.Action.Subject == inside.Id && leaving.Step.Start <= row.Step.Start
            && leaving.Step.Action is StepAction.Move or StepAction.Clear or StepAction.Discard);
    }

    private static Offer OfferOf(BenchState state, RemainingStep row)
    {
        var begins = Progress.BegunAt(state, row);
        var action = row.Step.Action;
        var window = WindowOf(state, action);
        return new Offer(
            action,
            row.Step.Hands!.Value,
            PromptAt: begins - state.PromptAhead,
            MayBegin: begins,
            PlannedEnd: begins + Progress.Allowed(state, action),
            LatestStart: row.Spare is { } spare ? row.Step.Start + spare : null,
            ReportFrom: window is { } open ? Instant.Max(open.Opens, begins) : begins,
            AskWhenAfter: AskWhenAfter(state, action, begins),
            window,
            action is StepAction.Discard discard && state.Find(discard.Request) is { } gone
                ? Losses.ReasonFor(state, gone, state.Adopted!.At) : null);
    }

    private static ReadWindow? WindowOf(BenchState state, StepAction action) =>
        action is StepAction.Move move && state.Find(move.Request) is { } cartridge ? state.WindowOf(cartridge) : null;

    /// <summary>
    /// From when a reported mix or load is asked for the time of its end: the end lies between the begin plus the
    /// shortest length and the tap, and is asked if that is wider than its usual spread plus half the guard.
    /// </summary>
    private static Instant? AskWhenAfter(BenchState state, StepAction action, Instant begins) =>
        action is StepAction.Mix or StepAction.Load
            ? begins + Progress.Allowed(state, action) + (state.Setup.ReadGuard / 2)
            : null;

    private static ImmutableArray<UpcomingStep> Upcoming(BenchState state, ImmutableArray<Offer> offers)
    {
        if (state.Adopted is not { } adopted)
            return [];
        var offered = state.Phase == BatchPhase.Running
            ? offers.Select(offer => adopted.NextOf(offer.Hands)).ToHashSet()
            : [];
        return [.. adopted.Remaining
            .Where(row => row.Step.Hands is not null && !offered.Contains(row))
            .Select(row => new UpcomingStep(row.Step, row.Spare))];
    }

    private static ImmutableArray<SlotView> Slots(BenchState state, Instant now) =>
    [
        .. state.Slots.Select(slot =>
        {
            var cartridge = state.InSlot(slot);
            return new SlotView(
                slot,
                cartridge,
                cartridge is null ? null : state.WindowOf(cartridge),
                cartridge is null ? null : state.Adopted?.MoveOf(cartridge.Id)?.Step.Start,
                BenchResources.Out(state, new BenchResource.Slot(slot), now),
                UnknownSteps.At(state, new CartridgePlace.InSlot(slot)));
        }),
    ];

    private static ImmutableArray<ReaderView> Readers(BenchState state, Instant now) =>
    [
        .. state.Readers.Select(reader =>
        {
            var cartridge = state.InReader(reader);
            var over = cartridge is null ? null : Progress.ReadOver(cartridge);
            return new ReaderView(
                reader,
                state.CardIn(reader),
                cartridge,
                over,
                state.DoubtOf(reader),
                BenchResources.Out(state, new BenchResource.Reader(reader), now),
                UnknownSteps.At(state, new CartridgePlace.InReader(reader)));
        }),
    ];

    private static ImmutableArray<NotPlanned> NotPlanned(BenchState state, Instant now)
    {
        var ready = Readiness.List(state, now);
        var waiting = state.Cartridges.Where(cartridge => cartridge.Stage is CartridgeStage.Waiting).ToList();
        var causes = new Dictionary<RequestId, NotPlannedCause>();
        foreach (var cartridge in waiting)
            if (BenchResources.NotPlanned(state, cartridge, ready, now) is { } cause)
                causes[cartridge.Id] = cause;
            else if (UnknownSteps.Of(state, cartridge.Id) is not null)
                causes[cartridge.Id] = NotPlannedCause.StepNotKnown;
        // What comes after one that is not planned waits with it.
        while ((causes.Count > 0 || !state.NotKnown.IsEmpty)
            && waiting.Find(cartridge => !causes.ContainsKey(cartridge.Id) && After(cartridge).Any(id =>
                causes.ContainsKey(id) || UnknownSteps.Of(state, id) is not null)) is { } next)
            causes[next.Id] = NotPlannedCause.AfterNotPlanned;
        return
        [
            .. waiting.Where(cartridge => causes.ContainsKey(cartridge.Id))
                .Select(cartridge => new NotPlanned(cartridge.Id, causes[cartridge.Id])),
        ];

        // The controls of its lot too, where one of them is what nobody knows.
        IReadOnlyList<RequestId> After(Cartridge cartridge) => state.NotKnown.IsEmpty
            ? cartridge.Wanted.Request.After
            : LotGates.AsPlanned(state, cartridge, cartridge.Wanted.Request, ready, now).After;
    }

    private static Instant? ChangesAt(BenchState state, ImmutableArray<Offer> offers,
        ImmutableArray<ReaderView> readers, ImmutableArray<Alarm> alarms, Instant now)
    {
        var instants = new List<Instant?>();
        foreach (var offer in offers)
            instants.AddRange([offer.PromptAt, offer.MayBegin, offer.ReportFrom, offer.PlannedEnd, offer.LatestStart,
                IfNotBegun.ChangesAt(state, offer, now)]);
        foreach (var alarm in alarms)
            instants.AddRange([alarm.From, alarm.Until]);
        instants.AddRange(readers.Select(reader => reader.ReadyAt));
        instants.AddRange(state.OutOfUse.Select(entry => (Instant?)entry.To));
        instants.AddRange(state.Cartridges.Where(cartridge => !cartridge.IsOver)
            .Select(cartridge => cartridge.Wanted.Request.Due));
        return Earliest(instants.Where(instant => instant > now));
    }

    internal static Instant? Earliest(IEnumerable<Instant?> instants) =>
        instants.OfType<Instant>().Select(instant => (Instant?)instant).Min();
}
