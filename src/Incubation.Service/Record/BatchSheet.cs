using Incubation.Bench;
using Incubation.Chart;
using Incubation.Clinic;
using Incubation.Clinic.Controls;
using Incubation.Clinic.People;
using Incubation.Clinic.Record;
using Incubation.Clinic.Stock;
using Incubation.Model;
using Incubation.Records.Batches;
using Incubation.Records.Clinic;
using Incubation.Service.Controls;
using Incubation.Service.Text;
using NodaTime;

namespace Incubation.Service.Record;

/// <summary>A cell of the batch record: what was, and under it, small, what belongs to it.</summary>
public sealed record SheetCell(string Large, string Small = "");

/// <summary>A line of what else happened.</summary>
public sealed record BenchEventLine(string When, string What, string Who, string Device);

/// <summary>A batch record in words.</summary>
public sealed class BatchSheet
{
    /// <summary>
    /// The cells of a cartridge's line that stand beside its specimen, for they matter first: assay, result, status, by
    /// whom.
    /// </summary>
    public static IReadOnlyList<int> FirstCells { get; } = [1, 8, 9, 10];

    /// <summary>Those that follow under them: its place and its steps, each with its time.</summary>
    public static IReadOnlyList<int> StepCells { get; } = [2, 3, 4, 5, 6, 7];

    /// <summary>
    /// So many of the things that happened stand on the page: more than any batch has, and what runs wild makes no page
    /// that cannot be shown. The export of events has all.
    /// </summary>
    public const int MostShown = 1000;

    private readonly BatchRecord batch;
    private readonly ClinicFacts clinic;
    private readonly PeopleState people;
    private readonly ControlsState controls;
    private readonly StockState stock;
    private readonly AmendmentsState amendments;
    private readonly IReadOnlyList<LateReport> late;
    private readonly RecordClock clock;

    /// <summary>Writes a batch in words.</summary>
    /// <param name="batch">The batch.</param>
    /// <param name="clinic">What the clinic says of itself.</param>
    /// <param name="log">The clinic's stream.</param>
    /// <param name="only">The one cartridge of which it tells; null for all of the batch.</param>
    public BatchSheet(BatchRecord batch, ClinicFacts clinic, ClinicLog log, RequestId? only = null)
    {
        ArgumentNullException.ThrowIfNull(batch);
        ArgumentNullException.ThrowIfNull(clinic);
        ArgumentNullException.ThrowIfNull(log);
        (this.batch, this.clinic, people, controls, stock, amendments) = (batch, clinic, log.People, log.Controls,
            log.Stock, log.Amendments);
        late = [.. log.LateReports.Of(batch.State.Id, batch.Number)
            .Where(one => only is null || one.Report.Request == only)];
        clock = new RecordClock(clinic.Zone, TimesOf(batch));
        Facts = [.. AllFacts()];
        Cartridges = [.. batch.Cartridges.Select(Line)];
        Requests = [.. batch.Cartridges.Select(one => one.Request.Value)];
        Amendable =
            [.. batch.Cartridges.Select(one => batch.Closed is not null
                && one is { Result: not null, Proposal: null } ? one.Request.Value : null)];
        Releasable = [.. batch.Cartridges.Select(one => batch.Closed is not null
            && one is { AwaitsDecision: true, Proposal: null } ? one.Request.Value : null)];
        Decidable = [.. batch.Cartridges.Select(one => batch.Closed is not null
            && one.Proposal is not null ? one.Request.Value : null)];
        ToTell = [.. batch.Cartridges.Select(one => batch.Closed is not null && one.Telling is not null)];
        WithoutValue = [.. batch.Cartridges.Where(one => one.IsWithoutValue).Select(LineWithoutValue)];
        Temperatures = DrawTemperatures();
        var words = new BenchEventText(batch.State, clock, people) { Undone = batch.Undone };
        Happenings =
        [
            .. batch.Happenings
                .Select(entry =>
                    (entry.Provenance.Arrived,
                        Line: new BenchEventLine(clock.At(entry.Provenance.At), words.Of(entry),
                            Name(entry.Provenance.Person), Device(entry.Provenance.Device))))
                .Concat(AboutControls()).Concat(AmendedLater()).Concat(DecidedLater()).Concat(ReleasedLater())
                .Concat(ToldLater())
                .Concat(ReportedLate())
                .OrderBy(one => one.Arrived).Select(one => one.Line),
        ];
    }

    /// <summary>Name of the bench.</summary>
    public string BenchName => batch.State.Name;

    /// <summary>Whether the batch is closed.</summary>
    public bool IsClosed => batch.Closed is not null;

    /// <summary>What is true of the whole batch.</summary>
    public IReadOnlyList<(string Name, string Value)> Facts { get; }

    /// <summary>A line a cartridge, in the columns of the page.</summary>
    public IReadOnlyList<IReadOnlyList<SheetCell>> Cartridges { get; }

    /// <summary>For each of these lines its request.</summary>
    public IReadOnlyList<string> Requests { get; }

    /// <summary>
    /// For each of these lines the request whose result may be amended now that the batch is closed; null where none
    /// may.
    /// </summary>
    public IReadOnlyList<string?> Amendable { get; }

    /// <summary>The same for results that are held: null where it is not.</summary>
    public IReadOnlyList<string?> Releasable { get; }

    /// <summary>The same for results of which an amendment waits for a second person.</summary>
    public IReadOnlyList<string?> Decidable { get; }

    /// <summary>For each of these lines whether somebody must still be told of its result.</summary>
    public IReadOnlyList<bool> ToTell { get; }

    /// <summary>A line a request that has no value: since when it is waited for, and what becomes of it.</summary>
    public IReadOnlyList<IReadOnlyList<SheetCell>> WithoutValue { get; }

    /// <summary>The incubator's temperatures as a drawing; null where none was measured.</summary>
    public string? Temperatures { get; }

    /// <summary>What else happened.</summary>
    public IReadOnlyList<BenchEventLine> Happenings { get; }

    private static IEnumerable<Instant> TimesOf(BatchRecord batch)
    {
        var steps = batch.Cartridges.SelectMany(one => new[] { one.Mix, one.Load, one.Read, one.Clear, one.Discard })
            .SelectMany(step => new[] { step.Planned, step.From, step.To });
        return steps.Concat(batch.Cartridges.SelectMany(one => new[] { one.WindowOpens, one.WindowCloses }))
            .Concat(batch.Happenings.Select(entry => (Instant?)entry.Provenance.At))
            .Concat([batch.Started?.At, batch.Closed?.At])
            .OfType<Instant>();
    }

    private IEnumerable<(string, string)> AllFacts()
    {
        var setup = batch.State.Setup;
        yield return (RecordWords.FactBench, Say.Dotted(batch.State.Name, batch.State.Id.Value, Say.Of(
            RecordWords.FactSetup, Say.Counted(setup.Hands, RecordWords.HandsOne, RecordWords.HandsMany),
            Say.Counted(setup.Slots, RecordWords.SlotOne, RecordWords.SlotMany),
                Say.Counted(setup.Readers, RecordWords.ReaderOne, RecordWords.ReaderMany))));
        yield return (RecordWords.FactStarted, By(batch.Started, RecordWords.FactNotStarted));
        yield return (RecordWords.FactClosed, By(batch.Closed, RecordWords.FactNotClosed));
        yield return (RecordWords.FactPeople, string.Join(", ", PeopleOf().DefaultIfEmpty(RecordWords.FactNobody)));
        yield return (RecordWords.FactLots,
            string.Join(", ", batch.Cartridges.Select(one => one.Lot).Distinct()
                .OrderBy(lot => lot.Value, StringComparer.Ordinal).Select(LotText)
                .DefaultIfEmpty(RecordWords.Nothing)));
        yield return (RecordWords.FactCounts, Counts());
        yield return (RecordWords.FactIncubator, batch.State.Incubator is { } rule
            ? Say.Of(RecordWords.FactIncubatorOf, rule.Set, rule.Tolerance)
            : Readiness.BatchWarmth(batch.State) is { } warmth
            ? Say.Of(RecordWords.FactIncubatorBySheet, warmth.Set, warmth.Tolerance)
            : RecordWords.FactIncubatorNone);
        var day = clock.Day is { } first ? Say.Day(first) : "";
        yield return (RecordWords.FactZone, clock.Offset is { } offset
            ? Say.Of(RecordWords.FactZoneOne, day, clinic.Zone.Id, RecordClock.Text(offset))
            : Say.Of(RecordWords.FactZoneChanges, day, clinic.Zone.Id));
    }

    private string? DrawTemperatures()
    {
        var dots = batch.Happenings.OrderBy(entry => entry.Provenance.At)
            .Select(entry => entry.Event is BenchEvent.TemperatureMeasured measured
                ? Dot(entry.Provenance.At, measured) : null).OfType<TemperatureDot>().ToList();
        var warmth = Readiness.BatchWarmth(batch.State);
        return dots.Count == 0 ? null : TemperatureChart.Render(
            RecordWords.Temperatures, (batch.State.Incubator?.Set ?? warmth?.Set)?.Degrees,
                (batch.State.Incubator?.Tolerance ?? warmth?.Tolerance)?.Degrees ?? 0, dots);
    }

    private TemperatureDot Dot(Instant at, BenchEvent.TemperatureMeasured measured) => new(
        at, measured.Value.Degrees, clock.At(at), Say.Dotted(measured.Value.ToString(), measured.Outside
            ? RecordWords.TemperatureOutside : null), measured.Outside);

    private string LotText(LotCode lot) => stock.Find(StockKind.Kit, lot) is null
        ? lot.Value : Say.Of(RecordWords.LotUntil, lot, Say.Day(stock.LastDayOf(lot)));

    /// <summary>What was done about rejected controls of the batch's lots while it ran.</summary>
    private IEnumerable<(Instant Arrived, BenchEventLine Line)> AboutControls()
    {
        bool IsInBatch(Instant at) => batch.Started?.At <= at
            && (batch.Closed is not { } closed || at <= closed.Arrived);
        foreach (var lot in batch.Cartridges.Select(one => one.Lot).Distinct())
        {
            var history = controls.Of(lot);
            foreach (var action in history.Actions.Where(action => IsInBatch(action.At)))
                yield return (action.At,
                    new BenchEventLine(clock.At(action.At),
                        Say.Of(ControlsWords.LogCorrectiveAction, lot, action.Found, action.Done), Name(action.By),
                        Through(action.Device)));
            foreach (var review in history.Reviews.Where(review => IsInBatch(review.At)))
                yield return (review.At,
                    new BenchEventLine(clock.At(review.At),
                        Say.Of(ControlsWords.LogReviewed, lot, review.Results.Length, review.Finding), Name(review.By),
                        Through(review.Device)));
        }
    }

    /// <summary>What was amended after the batch had been closed.</summary>
    private IEnumerable<(Instant Arrived, BenchEventLine Line)> AmendedLater() => batch.Cartridges
        .SelectMany(one => amendments.Of(one.Bench, one.Request)
            .Select(later => (later.Provenance.Arrived, new BenchEventLine(
            RecordClock.Full(later.Provenance.At, clinic.Zone),
            Say.Dotted(
                Say.Of(RecordWords.HappenAmendedLater, one.Specimen, ResultSentence.Of(later.Amended.Before),
                    ResultSentence.Of(later.Amended.After),
                    ResultSentence.Why(later.Amended.Reason, later.Amended.Why)),
                later.Question is { } question ? ResultSentence.Of(question) : null,
                later.Amended.Told is { } told ? Say.Of(RecordWords.HappenAmendedTold, told) : null),
            Name(later.Provenance.Person), Device(later.Provenance.Device)))));

    /// <summary>Amendments entered after the close that wait, and what second persons decided after it.</summary>
    private IEnumerable<(Instant Arrived, BenchEventLine Line)> DecidedLater()
    {
        foreach (var one in batch.Cartridges)
        {
            if (amendments.ProposalOf(one.Bench, one.Request) is { } waits)
                yield return Entered(one, waits.Proposal);
            foreach (var decided in amendments.DecidedOf(one.Bench, one.Request))
            {
                if (batch.Closed is { } closed && decided.Decided.Proposal.At > closed.Arrived)
                    yield return Entered(one, decided.Decided.Proposal);
                yield return (decided.Look.At, new BenchEventLine(RecordClock.Full(decided.Look.At, clinic.Zone),
                    Say.Of(decided.Decided.Confirmed ? RecordWords.HappenConfirmedLater
                        : RecordWords.HappenDeclinedLater, one.Specimen,
                        ResultSentence.Of(decided.Decided.Proposal.After), decided.Look.Why), Name(decided.Look.By),
                    Device(decided.Provenance.Device)));
            }
        }

        (Instant, BenchEventLine) Entered(CartridgeRecord one, AmendmentProposal proposal) => (proposal.At,
            new BenchEventLine(RecordClock.Full(proposal.At, clinic.Zone), Say.Of(RecordWords.HappenProposedLater,
                one.Specimen, ResultSentence.Of(proposal.Before), ResultSentence.Of(proposal.After),
                ResultSentence.Why(proposal.Reason, proposal.Why)), Name(proposal.By), ""));
    }

    /// <summary>What was held, and was released after the batch had been closed.</summary>
    private IEnumerable<(Instant Arrived, BenchEventLine Line)> ReleasedLater() => batch.Cartridges
        .Select(one => (one.Specimen, Release: amendments.ReleaseOf(one.Bench, one.Request)))
        .Where(one => one.Release is not null)
        .Select(one => (one.Release!.Provenance.Arrived, new BenchEventLine(
            RecordClock.Full(one.Release.Provenance.At, clinic.Zone),
            Say.Of(RecordWords.HappenReleasedLater, one.Specimen, one.Release.Released.Why),
            Name(one.Release.Provenance.Person), Device(one.Release.Provenance.Device))));

    /// <summary>Who was told of results after the batch had been closed, or need not be.</summary>
    private IEnumerable<(Instant Arrived, BenchEventLine Line)> ToldLater()
    {
        foreach (var one in batch.Cartridges)
            foreach (var telling in amendments.TellingsOf(one.Bench, one.Request))
                yield return telling is { Told: { } told }
                    ? (told.At, new BenchEventLine(RecordClock.Full(told.At, clinic.Zone),
                        Say.Dotted(Say.Of(told.ReadBack ? RecordWords.HappenToldLaterReadBack
                            : RecordWords.HappenToldLater, one.Specimen, told.Whom),
                            told.Why is { } why ? Say.Of(RecordWords.HappenToldWhy, why) : null), Name(told.By), ""))
                    : (telling.Waived!.At, new BenchEventLine(RecordClock.Full(telling.Waived.At, clinic.Zone),
                        Say.Of(RecordWords.HappenWaivedLater, one.Specimen, telling.Waived.Why),
                        Name(telling.Waived.By), ""));
    }

    /// <summary>What was reported after the batch had been closed, and what was decided on it.</summary>
    private IEnumerable<(Instant Arrived, BenchEventLine Line)> ReportedLate()
    {
        foreach (var one in late)
        {
            var what = LateReportText.Of(one, batch.Cartridges, people);
            yield return Line(one.Provenance, Say.Of(one.Decision is null
                ? RecordWords.HappenLate : RecordWords.HappenLateSettled, what));
            if (one.Decision is { } decided)
                yield return Line(decided.Provenance, Say.Of(decided.Settled.Decision == LateReportDecision.Amended
                    ? RecordWords.HappenLateAmended : RecordWords.HappenLateNoted, what, decided.Settled.Why));
        }

        (Instant, BenchEventLine) Line(Provenance by, string what) => (by.Arrived, new BenchEventLine(
            RecordClock.Full(by.At, clinic.Zone), what, Name(by.Person), Device(by.Device)));
    }

    /// <summary>How a control was judged: "rejected 1-3s"; null for a patient's cartridge and before it was.</summary>
    private string? Judged(CartridgeRecord one)
    {
        var run = one.Kind == RequestKind.Control ? controls.LatestOf(one.Request) : null;
        return run is null
            ? null : Say.Dotted(Say.Of(RecordWords.ControlWas, ControlText.Verdict(run)), run.Violations.IsEmpty
                ? null : ControlText.Broken(run));
    }

    private string By(Provenance? provenance, string none) => provenance is null
        ? none : Say.Of(RecordWords.FactBy, clock.At(provenance.At), Name(provenance.Person));

    private IEnumerable<string> PeopleOf() => batch.Cartridges
        .SelectMany(one => new[] { one.Mix, one.Load, one.Read, one.Clear, one.Discard, one.ResultEntered })
        .Select(step => step.Person)
        .Concat([batch.Started?.Person, batch.Closed?.Person]).OfType<PersonId>().Distinct().Select(Name)
        .Order(StringComparer.CurrentCulture);

    private string Counts()
    {
        int Of(params CartridgeStatus[] standings) => batch.Cartridges.Count(one => standings.Contains(one.Standing));
        return Say.Of(
            RecordWords.FactCountsOf, batch.Cartridges.Length, Of(CartridgeStatus.Done),
                Of(CartridgeStatus.ResultHeld), Of(CartridgeStatus.Discarded), Of(CartridgeStatus.Withdrawn),
            Of(CartridgeStatus.Waiting, CartridgeStatus.InWork, CartridgeStatus.InDoubt,
                CartridgeStatus.ResultMissing));
    }

    private List<SheetCell> Line(CartridgeRecord one) =>
    [
        new(one.Specimen.Value, Say.Dotted(one.Request.Value, KindText.Of(one.Kind),
            one.Priority == Priority.Urgent ? Words.Urgent : null)),
        new(one.AssayName, Say.Dotted(Say.Of(RecordWords.VersionOf, one.AssayVersion), one.Lot.Value)),
        new(one.Slot is { } slot ? Say.Of(RecordWords.PlaceSlot, slot) : "", one.Reader is { } reader
            ? Say.Of(RecordWords.PlaceReader, reader) : ""),
        new(clock.At(one.Mix.To), Planned(one.Mix)),
        new(clock.Between(one.Load.From, one.Load.To), Planned(one.Load)),
        new(clock.At(one.WindowOpens), clock.At(one.WindowCloses)),
        new(clock.At(one.Read.From), Say.Dotted(Planned(one.Read), one.InWindow is { } inside ? inside
            ? RecordWords.InWindow : RecordWords.OutsideWindow : null)),
        new(clock.At(one.Clear.To), Planned(one.Clear)),
        new(ResultStatusText.Result(one), Say.Dotted(EnteredAt(one), Sender(one))),
        new(ResultStatusText.Of(one),
            Say.Dotted(ResultStatusText.ResultMarks(one), Judged(one), ResultStatusText.Marks(one),
                ResultHoldText.BesideMarks(one, clinic.Zone), Released(one), InReview(one),
                clock.At(one.Discard.To))),
        new("", string.Join(", ", Hands(one))),
    ];

    /// <summary>
    /// When a result was entered; where it was amended each value with its own time, the present one first.
    /// </summary>
    private string EnteredAt(CartridgeRecord one) => Say.Dotted(one.Values is { Values: { Length: > 1 } values }
        ? string.Join("; ", values.Reverse().Select((value, index) => Say.Dotted(index == 0
            ? RecordClock.Full(value.At, clinic.Zone)
            : Say.Of(RecordWords.ValueThen, ResultSentence.Of(value.Value), RecordClock.Full(value.At, clinic.Zone)),
            value.Second is { } second ? Say.Of(RecordWords.ValueConfirmedBy, Name(value.By), Name(second.By),
                RecordClock.Full(second.At, clinic.Zone)) : null)))
        : clock.At(one.ResultEntered.To), Replaced(one), Undecided(one));

    /// <summary>What was entered before and typed anew; null where nothing was.</summary>
    private string? Replaced(CartridgeRecord one) => one.Replaced.IsDefaultOrEmpty ? null : Say.Dotted([
        .. one.Replaced.Select(was => Say.Of(RecordWords.ValueReplaced, ResultSentence.Of(was.Was), Name(was.By),
            RecordClock.Full(was.At, clinic.Zone)))]);

    /// <summary>That it went out on a lot that proves wrong; null where it did not, or that was reviewed.</summary>
    private string? InReview(CartridgeRecord one) =>
        CartridgeProjection.IsInReview(one, controls) ? RecordWords.InReview : null;

    /// <summary>When, by whom and why its held result was released; null where it was not.</summary>
    private string? Released(CartridgeRecord one) =>
        one is { Released: { } why, Release: { To: { } at, Person: { } by } }
        ? Say.Of(RecordWords.ResultReleased, RecordClock.Full(at, clinic.Zone), Name(by), why) : null;

    /// <summary>Values that were entered and do not count: not confirmed yet, or declined; null where none.</summary>
    private string? Undecided(CartridgeRecord one) => Say.Dotted([
        .. one.Declined.Select(declined => Say.Of(declined.IsOwn ? RecordWords.ValueUndone : RecordWords.ValueDeclined,
            ResultSentence.Of(declined.Proposal.After), Name(declined.Proposal.By), Name(declined.Look.By),
            RecordClock.Full(declined.Look.At, clinic.Zone))),
        one.Proposal is { } proposal ? Say.Of(RecordWords.ValueProposed, ResultSentence.Of(proposal.After),
            Name(proposal.By), RecordClock.Full(proposal.At, clinic.Zone)) : null,
    ]) is { Length: > 0 } text ? text : null;

    private List<SheetCell> LineWithoutValue(CartridgeRecord one) =>
    [
        new(one.Specimen.Value, Say.Dotted(one.Request.Value, FateText.From(one.FromBatch, one.RepeatOf))),
        new(one.AssayName, one.Priority == Priority.Urgent ? Words.Urgent : ""),
        new(RecordClock.Full(one.WaitsSince, clinic.Zone)),
        new(ResultStatusText.Of(one)),
        new(one.Fate is { } fate ? FateText.Of(fate, one.Standing != CartridgeStatus.Withdrawn)
            : batch.Closed is null && one.Standing is CartridgeStatus.Waiting or CartridgeStatus.InWork
                or CartridgeStatus.InDoubt ? "" : TextWords.FateNone),
        one.Fate switch
        {
            RequestFate.CarriedOver carried => new(Name(carried.By), clock.At(carried.At)),
            RequestFate.GivenUp given => new(Name(given.By), clock.At(given.At)),
            _ => new(""),
        },
    ];

    /// <summary>Who sent a result under another's name, or that this is not known; null where it was checked.</summary>
    private string? Sender(CartridgeRecord one) =>
        one.ResultSentBy is { } sender ? Say.Of(RecordWords.ResultSentBy, Name(sender))
        : one.ResultNotChecked ? RecordWords.ResultNotChecked : null;

    private string Planned(RecordedStep step) => step.Planned is { } planned
        ? Say.Of(RecordWords.PlannedAt, clock.At(planned)) : "";

    /// <summary>
    /// Who did what: the one name where one did it all, else each name once with the steps that were theirs.
    /// </summary>
    private IEnumerable<string> Hands(CartridgeRecord one)
    {
        (string Step, RecordedStep Done)[] steps =
        [
            (RecordWords.StepMix, one.Mix), (RecordWords.StepLoad, one.Load), (RecordWords.StepRead, one.Read),
                (RecordWords.StepClear, one.Clear),
            (RecordWords.StepResult, one.ResultEntered), (RecordWords.StepDiscard, one.Discard),
        ];
        var owners = steps.Where(step => step.Done.Person is not null).GroupBy(step => step.Done.Person!.Value)
            .ToList();
        return owners is [var alone]
            ? [Name(alone.Key)]
            : owners.Select(own =>
                Say.Of(RecordWords.DoneBy, Name(own.Key), string.Join(" ", own.Select(step => step.Step))));
    }

    private string Name(PersonId id) => Names.Of(id, people);

    private string Device(DeviceId id) => Names.Of(id, people);

    private string Through(DeviceId? device) => device is { } known ? Device(known) : "";
}
