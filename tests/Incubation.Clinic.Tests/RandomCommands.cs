using System.Globalization;
using Incubation.Bench;
using Incubation.Clinic.Connections;
using Incubation.Clinic.Instruments;
using Incubation.Clinic.Programme;
using Incubation.Clinic.Stock;
using Incubation.Clinic.TestKit;
using Incubation.Clinic.Worklist;
using Incubation.Model;
using Incubation.Model.Controls;
using Incubation.TestKit;
using NodaTime;

namespace Incubation.Clinic.Tests;

/// <summary>
/// Commands to an invented clinic by chance: every kind of event, of a few names, so that they meet; what they say
/// mostly fits the clinic as it is, and sometimes cannot be.
/// </summary>
internal sealed class RandomCommands(int seed)
{
    private static readonly IReadOnlyList<Type> Kinds = Any.Cases(typeof(ClinicEvent));
    private static readonly IReadOnlyList<StoryCommand> Whole = StoryCommand.Numbered(
        [
            .. PeopleStory.Commands.Select(command => command.Events),
            [new ClinicEvent.BenchRegistered(new BenchId("bench-2"), "Bench 2")],
            .. ControlsStory.Commands.Skip(2).Select(command => command.Events),
            [StockStory.In(StockKind.Kit, StockStory.First, new LocalDate(2027, 4, 30), 5)],
            .. Enumerable.Range(3, 8).Select(number => (IReadOnlyList<ClinicEvent>)[PeopleStory.Phone with
            {
                Passkey = new DeviceId($"passkey-{number}"),
                Credential = $"more-{number}",
            }]),
        ],
        300);

    private static readonly IReadOnlyList<StoryCommand>[] Beginnings =
    [
        [], Whole, ClinicStory.Commands, Whole, StockStory.Commands, Whole, PeopleStory.Commands, Whole,
        ControlsStory.Commands, LateReportStory.Commands, [.. ProgrammeStory.Compared.SkipLast(2)],
        InstrumentsStory.Commands, WorklistStory.Commands, Whole, [.. ProgrammeStory.Proficiency.SkipLast(4)],
        ConnectionsStory.Commands,
    ];

    private readonly Random random = new(seed);
    private int said = 1000;

    /// <summary>A story with which such a clinic begins; it may be none.</summary>
    public IReadOnlyList<StoryCommand> Beginning { get; } = Beginnings[seed % Beginnings.Length];

    /// <summary>The next command to a clinic.</summary>
    public StoryCommand Next(ClinicState state) => new(
        [.. Enumerable.Range(0, Pick(1, 1, 1, 1, 2, 3)).Select(_ => Fitted(Event(), state))], Provenance());

    private ClinicEvent Event() => (ClinicEvent)Any.Value(Pick(Kinds), random, Chosen);

    private Provenance Provenance()
    {
        var now = StoryProvenance.Of(Chance(10) ? random.Next(1000, said + 1) : ++said);
        return now with
        {
            Person = (PersonId)Chosen(typeof(PersonId))!,
            Device = (DeviceId)Chosen(typeof(DeviceId))!,
            At = Chance(5) ? now.At - Duration.FromMinutes(random.Next(3000)) : now.At,
            Arrived = Chance(10) ? now.Arrived + Duration.FromDays(random.Next(4000)) : now.Arrived,
        };
    }

    /// <summary>What is said of the types whose values are to meet.</summary>
    private object? Chosen(Type type) =>
        type == typeof(AssayCode) ? new AssayCode(Pick("A", "A", "A", "B", "B", "X"))
        : type == typeof(LotCode) ? new LotCode(Pick("A-L1", "A-L2", "A-L7", "B-L1", "CTRL-7"))
        : type == typeof(BenchId) ? new BenchId(Pick("bench-1", "bench-1", "bench-1", "bench-2", "bench-3"))
        : type == typeof(RequestId)
            ? new RequestId("R" + random.Next(1, 31).ToString("00", CultureInfo.InvariantCulture))
        : type == typeof(PersonId) ? new PersonId(Pick("mara", "lena", "aide", "second"))
        : type == typeof(DeviceId) ? new DeviceId(Pick("tablet-0001", "tablet-2", "key-0001", "browser-7", "server"))
        : type == typeof(AssaySheet) && !Chance(8)
            ? ClinicStory.Sheet((AssayCode)Chosen(typeof(AssayCode))!, random.Next(1, 9))
        : type == typeof(LocalDate) && !Chance(4) ? new LocalDate(2026, 3, 2).PlusDays(random.Next(-1, 400))
        : type == typeof(int) ? Pick(1, 1, 2, 3, 24, 60, 84, 0, -1, 1201)
        : type == typeof(string) ? Pick("said", "said", "said", "said", "said", "said", "said", " ")
        : null;

    /// <summary>The event, mostly made to fit what the clinic knows.</summary>
    private ClinicEvent Fitted(ClinicEvent any, ClinicState state) => Chance(5) ? any : any switch
    {
        _ when state.Zone is null && !Chance(3) =>
            ClinicStory.Opened with { TimeZone = Pick("Europe/Berlin", "Middle/Nowhere") },
        ClinicEvent.AssayDrafted drafted =>
            drafted with { Revision = state.Assays.NextRevision(drafted.Sheet.Assay.Code) },
        ClinicEvent.AssayDraftDropped dropped =>
            dropped with { Revision = state.Assays.NextRevision(dropped.Code) - 1 },
        ClinicEvent.AssayApproved approved when state.Assays.Drafts.Count > 0 => Approved(approved, state),
        ClinicEvent.PanelSet set when !Chance(4) => set with { Assays = [.. state.Assays.Versions.Keys.Take(2)] },
        ClinicEvent.PanelRemoved removed when state.Panels.All.Values.FirstOrDefault() is { Name: var known } =>
            removed with { Panel = known },
        ClinicEvent.RequestReceived request => Requested(request, state),
        ClinicEvent.StockReceived received when state.Stock.Find(received.Kind, received.Lot) is { } known =>
            received with { Assay = known.Assay, Expiry = known.Expiry },
        ClinicEvent.ReorderPointSet set when !Chance(4) =>
            set with { Kind = Pick(StockKind.Kit, StockKind.Control), Assay = ClinicStory.A, Least = random.Next(9) },
        ClinicEvent.MovingMeanSet set when !Chance(4) =>
            set with { Assay = ClinicStory.A, Rule = Chance(4) ? null : new MovingMeanRule(0.1m, 5, 4, 6) },
        ClinicEvent.StockOpened one when Item(state) is { } item => one with { Kind = item.Kind, Lot = item.Lot },
        ClinicEvent.StockCounted one when Item(state) is { } item => one with { Kind = item.Kind, Lot = item.Lot },
        ClinicEvent.StockQuarantined one when Item(state) is { } item => one with { Kind = item.Kind, Lot = item.Lot },
        ClinicEvent.StockLetOut one when Item(state) is { } item => one with { Kind = item.Kind, Lot = item.Lot },
        ClinicEvent.StockFinished one when Item(state) is { } item => one with { Kind = item.Kind, Lot = item.Lot },
        ClinicEvent.ControlJudged judged => new ClinicEvent.ControlJudged(Judged(judged.Run, state)),
        ClinicEvent.ControlTargetRemoved removed when state.Controls.Targets is [.., var last] =>
            removed with { Assay = last.Assay, Control = last.Control },
        ClinicEvent.ClosedResultQuestioned asked when state.Amendments.Cartridges.Any() =>
            Amended(state) is var (bench, batch, request)
                ? asked with { Bench = bench, Batch = batch, Request = request } : asked,
        ClinicEvent.ClosedTellingDue due when state.Amendments.Cartridges.Any() =>
            Amended(state) is var (bench, batch, request)
                ? due with { Bench = bench, Batch = batch, Request = request } : due,
        ClinicEvent.LotComparisonBegun or ClinicEvent.LotPairSet or ClinicEvent.LotPairRemoved
            or ClinicEvent.LotComparisonSettled => OfComparisons(any, state),
        ClinicEvent.ProficiencyReceived or ClinicEvent.ProficiencyReported or ClinicEvent.ProficiencyCancelled
            or ClinicEvent.ProficiencyGraded => OfProficiency(any, state),
        ClinicEvent.InstrumentSet or ClinicEvent.InstrumentEnded or ClinicEvent.WireMessageTaken
            or ClinicEvent.WireMessageJudged or ClinicEvent.WireQuestionSettled or ClinicEvent.WireMessagesErased =>
            OfInstruments(any, state),
        ClinicEvent.DestinationAdded or ClinicEvent.DestinationChanged or ClinicEvent.DestinationSecretReplaced
            or ClinicEvent.DestinationSwitched or ClinicEvent.DestinationEnded or ClinicEvent.DeliveryResent
            or ClinicEvent.DayResent or ClinicEvent.DeliveryGivenUp or ClinicEvent.ResultNoticed
            or ClinicEvent.AlarmNoticed =>
            OfConnections(any, state),
        ClinicEvent.OrderReceived or ClinicEvent.OrderPlaced or ClinicEvent.OrderReturned
            or ClinicEvent.OrderCancelled or ClinicEvent.OrdersErased => OfOrders(any, state.Worklist),
        ClinicEvent.ReleasedReviewed reviewed when state.Controls.Lots.FirstOrDefault(one =>
            one.Value.AwaitingReview.Count > 0) is { Value: not null, Key: var lot } => reviewed with { Lot = lot },
        ClinicEvent.CorrectiveActionTaken taken => Corrective(taken, state),
        ClinicEvent.ClosedResultAmended amended
            when state.Amendments.Waiting.FirstOrDefault() is { Proposed: var waits } =>
            amended with { Bench = waits.Bench, Request = waits.Request, Before = waits.Before },
        ClinicEvent.ClosedResultAmended amended
            when state.Amendments.Of(amended.Bench, amended.Request) is [.., var last] =>
            amended with { Before = last.Amended.After },
        ClinicEvent.ClosedResultReleased released
            when state.Amendments.Waiting.FirstOrDefault() is { Proposed: var waits } =>
            released with { Bench = waits.Bench, Request = waits.Request },
        ClinicEvent.ClosedAmendmentDecided decided
            when state.Amendments.Waiting.FirstOrDefault() is { } waits => decided with
            {
                Bench = waits.Proposed.Bench,
                Request = waits.Proposed.Request,
                Proposal = waits.Proposal,
            },
        ClinicEvent.PasskeyAdded or ClinicEvent.PasskeyUsed or ClinicEvent.PasskeyRemoved => OfPasskeys(any, state),
        ClinicEvent.LateReportSettled settled when state.LateReports.Waiting is [var late, ..] => settled with
        {
            Bench = late.Report.Bench,
            Request = late.Report.Request,
            Report = late.Provenance.Id,
        },
        ClinicEvent.RecordErased erased =>
            erased with { Months = 1200, ClosedBefore = StoryProvenance.Morning - Duration.FromDays(40_000) },
        _ => any,
    };

    /// <summary>Of few passkeys, some of them nearly too many, with few ids, handles and domains.</summary>
    private ClinicEvent OfPasskeys(ClinicEvent any, ClinicState state)
    {
        IReadOnlyList<DeviceId> known =
            [.. state.People.Passkeys.All.Keys.OrderBy(id => id.Value, StringComparer.Ordinal)];
        return any switch
        {
            ClinicEvent.PasskeyAdded added => added with
            {
                Passkey = new DeviceId("passkey-" + random.Next(100).ToString(CultureInfo.InvariantCulture)),
                Person = PeopleStory.Chief,
                Domain = Chance(8) ? "other.example" : PeopleStory.Passkey.Domain,
                Credential = "c" + random.Next(100).ToString(CultureInfo.InvariantCulture),
                Handle = Chance(8) ? "other" : PeopleStory.Passkey.Handle,
                Transports = ["usb"],
                Count = random.Next(4),
            },
            ClinicEvent.PasskeyUsed used when known.Count > 0 =>
                used with { Passkey = Pick(known), Count = random.Next(6) },
            ClinicEvent.PasskeyRemoved removed when known.Count > 0 => removed with { Passkey = Pick(known) },
            _ => any,
        };
    }

    /// <summary>Of the round that was received last, or a next one.</summary>
    private ClinicEvent OfProficiency(ClinicEvent any, ClinicState state)
    {
        var last = state.Proficiency.Rounds.LastOrDefault();
        var number = state.Proficiency.Rounds.Count;
        return any switch
        {
            ClinicEvent.ProficiencyReceived received => received with
            {
                Round = number + 1,
                Programme = "said",
                Name = "said",
                Items = [new ProficiencyItem(new SpecimenId($"PT-{random.Next(4)}"), ClinicStory.A)],
            },
            ClinicEvent.ProficiencyReported reported => reported with
            {
                Round = number,
                Results = [.. (last?.Items ?? []).Select(item =>
                    new ProficiencyResult(item.Specimen, item.Assay, "4.2"))],
            },
            ClinicEvent.ProficiencyCancelled cancelled => cancelled with { Round = number },
            ClinicEvent.ProficiencyGraded graded
                when (state.Proficiency.Rounds.LastOrDefault(one => one.Reported is not null) ?? last) is { } round =>
                graded with { Round = round.Number, Item = Chance(4) ? graded.Item : round.Items[0] },
            _ => any,
        };
    }

    /// <summary>Of few instruments, and of what waits.</summary>
    private ClinicEvent OfInstruments(ClinicEvent any, ClinicState state)
    {
        var known = state.Instruments;
        var id = Instrument.IdOf(Math.Max(1, known.All.Count));
        return any switch
        {
            ClinicEvent.InstrumentSet set => set with
            {
                Instrument = Chance(2) ? id : Instrument.IdOf(known.All.Count + 1),
                Link = InstrumentsStory.Link with
                {
                    Bench = set.Link.Bench,
                    Transport = new WireTransport.Tcp("127.0.0.1", Pick(4000, 4001, 4002, 80), ["127.0.0.1"]),
                },
            },
            ClinicEvent.InstrumentEnded ended => ended with { Instrument = id },
            ClinicEvent.WireMessageTaken taken => taken with
            {
                Instrument = id,
                Message = known.LastMessage + 1,
                Length = random.Next(9),
                Body = Pick("b", "c"),
            },
            ClinicEvent.WireMessageJudged judged => judged with
            {
                Message = known.Unjudged.FirstOrDefault()?.Number ?? judged.Message,
                Fates = [.. judged.Fates.DistinctBy(fate => fate.Result)],
            },
            ClinicEvent.WireQuestionSettled settled when known.Questions.FirstOrDefault() is { } open =>
                settled with { Message = open.Message.Number, Result = open.Fate.Result },
            ClinicEvent.WireMessagesErased => new ClinicEvent.WireMessagesErased(
                [.. known.Messages.Values.Where(one => one.DoneAt is not null).Take(2).Select(one => one.Number)],
                InstrumentsState.UsualDays),
            _ => any,
        };
    }

    /// <summary>Of few destinations, and of what may be said of each.</summary>
    private ClinicEvent OfConnections(ClinicEvent any, ClinicState state)
    {
        var known = state.Connections;
        var id = Connection.IdOf(Math.Max(1, random.Next(known.All.Count + 1)));
        return any switch
        {
            ClinicEvent.DestinationAdded added => added with
            {
                Destination = Connection.IdOf(known.All.Count + 1),
                What = Pick(ConnectionsStory.Records, ConnectionsStory.Pager),
                After = [],
            },
            ClinicEvent.DestinationChanged => new ClinicEvent.DestinationChanged(id,
                (known.Find(id)?.Destination ?? ConnectionsStory.Records) with { Name = Pick("North", "South") }),
            ClinicEvent.DestinationSecretReplaced replaced => replaced with { Destination = id },
            ClinicEvent.DestinationSwitched switched => switched with { Destination = id },
            ClinicEvent.DestinationEnded ended => ended with { Destination = id },
            ClinicEvent.DeliveryResent resent => resent with { Destination = id },
            ClinicEvent.DeliveryGivenUp given => given with { Destination = id },
            ClinicEvent.DayResent resent => resent with
            {
                Destination = id,
                From = StoryProvenance.Morning,
                Until = StoryProvenance.Morning + Duration.FromHours(Pick(24, 25, 30)),
            },
            ClinicEvent.ResultNoticed noticed when state.Requests.Count > 0 =>
                noticed with { Request = state.Requests.OrderBy(one => one.Value).First() },
            _ => any,
        };
    }

    /// <summary>Of few orders, and of what may be said of each.</summary>
    private ClinicEvent OfOrders(ClinicEvent any, WorklistState known)
    {
        var order = known.All.Values.OrderBy(_ => random.Next()).FirstOrDefault();
        var over = known.All.Values.Where(one => one.Cancelled is not null).Take(2).Select(one => one.Row).ToList();
        return any switch
        {
            ClinicEvent.OrderReceived received => received with
            {
                Source = WorklistStory.Source,
                Number = new OrderNumber(Pick("N-1", "N-2", "N-3", "N-4")),
                Order = received.Order with { Specimen = SpecimenId.Of(Pick("SP-1", "SP-2")) },
            },
            ClinicEvent.OrderPlaced placed when order is not null => placed with { Order = order.Row },
            ClinicEvent.OrderReturned returned when order?.Place is { } place =>
                returned with { Order = order.Row, Request = place.Request },
            ClinicEvent.OrderCancelled cancelled when order is not null => cancelled with { Order = order.Row },
            ClinicEvent.OrdersErased => new ClinicEvent.OrdersErased([.. over], known.RowsOf(over),
                WorklistState.KeptDays),
            _ => any,
        };
    }

    private static (BenchId Bench, int Batch, RequestId Request) Amended(ClinicState state) =>
        state.Amendments.Cartridges.OrderBy(one => one.Request.Value, StringComparer.Ordinal)
            .ThenBy(one => one.Bench.Value, StringComparer.Ordinal).First();

    /// <summary>Of the comparison that was begun last, or a next one of two lots that there are.</summary>
    private ClinicEvent OfComparisons(ClinicEvent any, ClinicState state)
    {
        var last = state.Comparisons.Cases.Count;
        var next = (state.Comparisons.Cases.LastOrDefault()?.Pairs.Length ?? 0) + 1;
        return any switch
        {
            ClinicEvent.LotComparisonBegun begun => begun with
            {
                Comparison = last + 1,
                Assay = ClinicStory.A,
                Old = LotCode.Of("A-L1"),
                New = LotCode.Of("A-L2"),
                Criterion = new LotCriterion(Pick(DifferenceUnit.Percent, DifferenceUnit.Units), 10, Pick(1, 2)),
            },
            ClinicEvent.LotPairSet set => set with
            {
                Comparison = last,
                Pair = Chance(4) ? set.Pair : next,
                Label = "said",
                Old = set.Old with { Value = random.Next(1, 9) },
                New = set.New with { Value = random.Next(1, 9) },
            },
            ClinicEvent.LotPairRemoved removed => removed with { Comparison = last, Pair = random.Next(1, next + 1) },
            ClinicEvent.LotComparisonSettled settled => settled with { Comparison = last },
            _ => any,
        };
    }

    /// <summary>Of a lot that waits for it, where there is one.</summary>
    private static ClinicEvent.CorrectiveActionTaken Corrective(ClinicEvent.CorrectiveActionTaken any,
        ClinicState state)
    {
        LotCode[] waiting = [.. state.Controls.Lots.Keys.Where(lot => state.Controls.Of(lot).AwaitingAction.Count > 0)
            .OrderBy(lot => lot.Value, StringComparer.Ordinal)];
        var lot = waiting is [var first, ..] ? first : any.Lot;
        return any with
        {
            Lot = lot,
            Controls = [.. state.Controls.Of(lot).AwaitingAction.Select(run => run.Request)],
        };
    }

    private ClinicEvent.AssayApproved Approved(ClinicEvent.AssayApproved approved, ClinicState state)
    {
        var draft = Pick(
            [.. state.Assays.Drafts.Values.OrderBy(one => one.Sheet.Assay.Code.Value, StringComparer.Ordinal)]);
        return approved with
        {
            Sheet = draft.Sheet,
            Version = state.Assays.VersionsOf(draft.Sheet.Assay.Code) + 1,
        };
    }

    /// <summary>A request of a kit that has come in, in its assay's latest version.</summary>
    private ClinicEvent.RequestReceived Requested(ClinicEvent.RequestReceived any, ClinicState state)
    {
        var request = Item(state, StockKind.Kit) is not { Assay: { } assay, Lot: var lot }
            ? any.Request
            : any.Request with { Assay = assay, Lot = lot };
        return any with { Request = request, AssayVersion = state.Assays.VersionsOf(request.Assay) };
    }

    /// <summary>Something that has come in, or null where nothing has.</summary>
    private StockItem? Item(ClinicState state, StockKind? kind = null)
    {
        IReadOnlyList<StockItem> items =
        [
            .. state.Stock.Items.Values.Where(item => kind is null || item.Kind == kind)
                .OrderBy(item => item.Kind).ThenBy(item => item.Lot.Value, StringComparer.Ordinal),
        ];
        return items is [] ? null : Pick(items);
    }

    private ControlRun Judged(ControlRun any, ClinicState state)
    {
        var target = state.Controls.Target(any.Assay, any.Control)?.Target ?? new ControlTarget(200, 4);
        var value = target.Mean + (random.Next(-4, 5) * target.StandardDeviation);
        return state.Controls.Of(any.Lot).Judged(
            any with { Target = target, Value = value, Shown = value.ToString(CultureInfo.InvariantCulture) },
            state.Controls.RulesOf(any.Assay));
    }

    /// <summary>True once in so many times.</summary>
    private bool Chance(int times) => random.Next(times) == 0;

    private T Pick<T>(params IReadOnlyList<T> items) => items[random.Next(items.Count)];
}
