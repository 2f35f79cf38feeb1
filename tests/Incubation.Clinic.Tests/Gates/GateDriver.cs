using System.Collections.Immutable;
using System.Globalization;
using System.Text;
using Incubation.Bench;
using Incubation.Clinic.Controls;
using Incubation.Clinic.Record;
using Incubation.Clinic.Stock;
using Incubation.Model;
using Incubation.Model.Controls;
using NodaTime;

namespace Incubation.Clinic.Tests.Gates;

/// <summary>
/// The program's own core, driven as the server drives it, without a file: two benches and the clinic, of which every
/// entry is kept, so that a stop and a start can be played between any two writes.
/// </summary>
internal sealed partial class GateDriver
{
    private static readonly PersonId Aide = new("aide");
    private static readonly DeviceId Tablet = new("tablet");
    private static readonly ReaderNumber Reader = new(1);
    private static readonly LotCode Material = new("K1");
    private readonly IReadOnlyDictionary<string, string> assayOf;
    private readonly DateTimeZone zone;
    private readonly List<BenchEntry>[] told = [[], []];
    private readonly List<ClinicEntry> toldClinic = [];
    private readonly BenchState?[] benches = [null, null];
    private readonly Dictionary<string, ReportId> entered = [];
    private readonly Dictionary<(string, string), ReportId> reports = [];
    private readonly Dictionary<RequestId, (BenchState State, Cartridge Cartridge)> closed = [];
    private ClinicState clinic = ClinicState.Empty;
    private AmendmentsState? seen;
    private int count;
    private int writesLeft;

    public GateDriver(DateTimeZone zone, IReadOnlyDictionary<string, string> assayOf, Instant start)
    {
        (this.zone, this.assayOf) = (zone, assayOf);
        Must(Record(start, new ClinicEvent.ClinicOpened("Invented clinic", zone.Id)));
        for (var bench = 0; bench < benches.Length; bench++)
        {
            Must(Record(start, new ClinicEvent.BenchRegistered(IdOf(bench), $"Bench {bench}")));
            Must(Say(bench, start, new BenchCommand.OpenBench(IdOf(bench), $"Bench {bench}",
                new BenchSetup(1, 200, 1, Duration.FromSeconds(25), Duration.FromSeconds(15), 0),
                Duration.FromSeconds(20))));
        }

        foreach (var assay in assayOf.Values.Distinct())
        {
            Must(Approve(start, new Step.Approved(1, assay, 0, false, false, false, false, "none")));
            Must(Record(start, new ClinicEvent.ControlRulesSet(new AssayCode(assay),
                new ControlRules(false, true, false, false, false, false))));
        }

        foreach (var lot in assayOf.Keys.Where(lot => lot[^1] == '1'))
            Must(ComeIn(start, lot));
    }

    /// <summary>Does a step; whether it was taken.</summary>
    public bool Do(Step step, Instant now)
    {
        switch (step)
        {
            case Step.Came came:
                return Come(came, now);
            case Step.Begun begun:
                var (bench, request) = Find(begun.Cart);
                if (benches[bench]!.Phase == BatchPhase.Preparing)
                    Must(Say(bench, now, new BenchCommand.StartBatch()));
                var slot = benches[bench]!.Cartridges.ToList().FindIndex(one => one.Id == request) + 1;
                return Say(bench, now, new BenchCommand.Mixed(request, true), IdOfNew(begun.Cart, "mix"))
                    && Say(bench, now + GateOracle.ToLoad, new BenchCommand.Loaded(request,
                        new CartridgePlace.InSlot(new SlotNumber(slot)), true), IdOfNew(begun.Cart, "load"));
            case Step.Read read:
                return Read(read, now);
            case Step.ReadAgain again:
                return ReadAgain(again, now);
            case Step.Answered answered:
                return Answer(answered, now);
            case Step.Entered result:
                entered[result.Cart] = new ReportId($"T{++count}");
                var (place, of) = Find(result.Cart);
                return Say(place, now, AsSaid(result.IsAide, new BenchCommand.ResultEntered(of, Shown(result.Value),
                    result.Identity switch
                    {
                        "own" => new ShownIdentity("SP-" + result.Cart),
                        "other" => new ShownIdentity("SP-0"),
                        "none" => ShownIdentity.None,
                        _ => null,
                    })), entered[result.Cart], result.IsChecked);
            case Step.TakenBack back:
                return entered.TryGetValue(back.Cart, out var report)
                    && benches[Find(back.Cart).Bench]!.Undo?.Report == report
                    && Say(Find(back.Cart).Bench, now, new BenchCommand.Undo(report));
            case Step.Never never:
                return Say(Find(never.Cart).Bench, now, new BenchCommand.CorrectReport(
                    IdOf(never.Cart, never.What), null, null, null, "It was another.", true));
            case Step.LoadWas was:
                var mixed = benches[Find(was.Cart).Bench]!.Story.Find(one => one.Id == IdOf(was.Cart, "mix"))!.At;
                return Say(Find(was.Cart).Bench, now, new BenchCommand.CorrectReport(IdOf(was.Cart, "load"),
                    mixed + Duration.FromMinutes(was.Minutes), null, null, "The clock on the wall."));
            case Step.Discarded discarded:
                var (where, thrown) = Find(discarded.Cart);
                return Say(where, now, new BenchCommand.Discarded(thrown, DiscardReason.Dropped, null),
                    IdOfNew(discarded.Cart, "discard"));
            case Step.Withdrawn withdrawn:
                return Say(Find(withdrawn.Cart), now, id => new BenchCommand.WithdrawRequest(id, "Not wanted."));
            case Step.Released released:
                return Find(released.Cart) is var (at, held) && at >= 0
                    ? Say(at, now, new BenchCommand.ReleaseResult(held, "The label was read again."))
                    : ReleaseClosed(IdOf(released.Cart), now);
            case Step.Amended amended:
                return Amend(amended, now);
            case Step.Proposed proposed:
                return Propose(proposed, now);
            case Step.Looked looked:
                return Look(looked, now);
            case Step.Told said:
                return Say(Find(said.Cart), now, id => new BenchCommand.TellCritical(id, "A doctor", true));
            case Step.Waived waived:
                return Say(Find(waived.Cart), now, id => new BenchCommand.WaiveTelling(id, "Taken again."));
            case Step.Ruled ruled:
                return Record(now, new ClinicEvent.AmendmentRuleSet(ruled.Second));
            case Step.Required required:
                return Record(now, new ClinicEvent.LotComparisonRequired(required.On));
            case Step.Compared compared:
                return Compare(compared, now);
            case Step.Closed close:
                return Close(close, now);
            case Step.TargetSet set:
                return Record(now, new ClinicEvent.ControlTargetSet(new AssayCode(set.Assay),
                    new ControlMaterial(Material, set.Level), new ControlTarget(set.Mean, set.Deviation),
                    TargetSource.Sheet));
            case Step.Approved approved:
                return Approve(now, approved);
            case Step.ActionTaken taken:
                return Record(now, new ClinicEvent.CorrectiveActionTaken(new LotCode(taken.Lot),
                    [.. clinic.Controls.Of(new LotCode(taken.Lot)).AwaitingAction.Select(run => run.Request)],
                    "A vial had stood open.", "A new one was opened."));
            case Step.Reviewed reviewed:
                return Record(now, new ClinicEvent.ReleasedReviewed(new LotCode(reviewed.Lot), [], "All repeated."));
            case Step.Serviced service:
                return Record(now, new ClinicEvent.ReaderServiced(IdOf(service.Bench), Reader, "Optics cleaned."));
            case Step.MoreCame more:
                return ComeIn(now, more.Lot);
            default:
                return true;
        }
    }

    /// <summary>
    /// Judges what is to be judged and sets the gates that stand otherwise than they should, as the server does.
    /// </summary>
    /// <param name="now">The present.</param>
    /// <param name="writes">The server stops after so many writes.</param>
    public void Settle(Instant now, int writes = int.MaxValue)
    {
        writesLeft = writes;
        JudgeClosed(now);
        foreach (var bench in benches)
            while (ControlJudgements.Next(clinic.Controls, bench!, now) is { } run && Judge(now, run))
            {
            }

        for (var bench = 0; bench < benches.Length; bench++)
            SetGates(bench, now, []);
        writesLeft = int.MaxValue;
    }

    /// <summary>The server stops and starts again: everything comes from what was written.</summary>
    public void Restart()
    {
        clinic = toldClinic.Aggregate(ClinicState.Empty, LiveClinic.Apply);
        for (var bench = 0; bench < benches.Length; bench++)
            benches[bench] = told[bench].Aggregate((BenchState?)null, LiveBench.Apply);
        seen = null;
    }

    /// <summary>The states, to be compared to the last bit.</summary>
    public (ClinicState Clinic, ImmutableArray<BenchState> Benches) States => (clinic, [.. benches!]);

    /// <summary>What may be out, in words.</summary>
    public string Reported() => string.Join(' ', benches.SelectMany(bench => bench!.Cartridges)
        .Where(one => one.Use.IsReported).Select(one => $"{one.Id}={Said(one.Result!)}")
        .Concat(closed.Values.Where(one => UseOf(one.State.Id, one.Cartridge).IsReported)
            .Select(one => $"{one.Cartridge.Id}={Said(ResultOf(one.State.Id, one.Cartridge)!)}"))
        .Order(StringComparer.Ordinal));

    /// <summary>Everything else, in words.</summary>
    public string Told(Instant now)
    {
        var (text, gates) = (new StringBuilder(), Gates);
        text.AppendJoin(' ', clinic.Controls.AllLatest.Where(run => run.Verdict != ControlVerdict.SetAside)
            .Select(run => $"{run.Request}:{Said(run.Verdict)}").Order(StringComparer.Ordinal)).AppendLine();
        text.AppendJoin(' ', ToTell().Order(StringComparer.Ordinal)).AppendLine();
        foreach (var (name, assay) in assayOf)
        {
            var lot = new LotCode(name);
            var history = clinic.Controls.Of(lot);
            text.Append(name);
            foreach (var bench in benches)
                text.Append(' ').Append(Said(gates.GateOn(bench!.Id, new AssayCode(assay), lot, now)));
            text.Append(" action ").AppendJoin(' ', history.AwaitingAction.Select(run => run.Request.Value)
                .Order(StringComparer.Ordinal)).Append(" review");
            foreach (var (bench, span) in history.AwaitingReview.OrderBy(one => one.Key.Value))
                text.Append(CultureInfo.InvariantCulture, $" {bench} {(span.Since == Instant.MinValue ? null
                    : span.Since.ToUnixTimeSeconds())}-{span.Until.ToUnixTimeSeconds()}");
            text.AppendLine();
        }

        return text.ToString();
    }

    /// <summary>How a lot's gate was told to a bench.</summary>
    public string GateOn(int bench, string lot) =>
        Said(benches[bench]!.GateOf(new LotCode(lot))?.Gate ?? LotGate.Open);

    private KitGates Gates => new(clinic.Assays, clinic.Stock, clinic.Controls, zone)
    {
        Comparisons = clinic.Comparisons,
    };

    private static BenchId IdOf(int bench) => new(bench.ToString(CultureInfo.InvariantCulture));

    private static RequestId IdOf(string cart) => new(cart);

    private ReportId IdOf(string cart, string step) => reports.GetValueOrDefault((cart, step));

    private (int Bench, RequestId Request) Find(string cart)
    {
        for (var bench = 0; bench < benches.Length; bench++)
            if (benches[bench]!.Find(new RequestId(cart)) is not null)
                return (bench, new RequestId(cart));
        return (-1, default);
    }

    private bool Come(Step.Came came, Instant now)
    {
        var sheet = clinic.Assays.Latest(new AssayCode(assayOf[came.Lot]))!;
        var request = new Request(new RequestId(came.Cart), new SpecimenId("SP-" + came.Cart), sheet.Sheet.Assay.Code,
            new LotCode(came.Lot), now, came.Level == 0 ? RequestKind.Patient : RequestKind.Control, true,
            Priority.Routine, null, null, []);
        var particulars = new Particulars(null, null, null, null,
            came.Level == 0 ? null : new ControlMaterial(Material, came.Level));
        Must(Record(now, new ClinicEvent.RequestReceived(IdOf(came.Bench), request, sheet.Version, particulars)));
        SetGates(came.Bench, now, [request.Lot]);
        return Say(came.Bench, now, new BenchCommand.AddRequests([new BenchRequest(request, sheet.Sheet.Assay,
            sheet.Version, sheet.Sheet.Unit, RunFacts.Of(sheet.Sheet, particulars))]));
    }

    private ReportId IdOfNew(string cart, string step) => reports[(cart, step)] = new ReportId($"T{++count}");

    /// <summary>
    /// What stands in the way of a close is seen to first, where nothing else does; what has come in of controls is
    /// judged, as the server has it.
    /// </summary>
    private bool Close(Step.Closed close, Instant now)
    {
        BenchState Present() => benches[close.Bench]!;
        var isReady = Present().Phase == BatchPhase.Running && Present().Cartridges.All(one => !one.ResultMissing
            && one.Stage is not (CartridgeStage.InWork or CartridgeStage.Astray));
        if (isReady)
        {
            foreach (var one in Present().Cartridges.Where(one => one.MustBeTold))
                Must(Say(close.Bench, now, new BenchCommand.TellCritical(one.Id, "A doctor", true)));
            foreach (var one in Fates.Open(Present()).ToList())
                Must(Say(close.Bench, now, close.Carry && one.Stage is CartridgeStage.Waiting
                    ? new BenchCommand.CarryOver(one.Id)
                    : new BenchCommand.GiveUpRequest(one.Id, "Not wanted.", true)));
        }

        Settle(now);
        var before = Present();
        if (!Say(close.Bench, now, new BenchCommand.CloseBatch()))
            return false;
        foreach (var cartridge in before.Cartridges)
            closed[cartridge.Id] = (before, cartridge);
        return true;
    }

    private bool Approve(Instant now, Step.Approved approved)
    {
        var code = new AssayCode(approved.Assay);
        var sheet = AssaySheet.Plain(new Assay(code, "Invented assay", IncubationPlace.Incubator,
            Duration.FromSeconds(50), Duration.FromHours(4), Duration.FromSeconds(25), GateOracle.Reaction,
            GateOracle.Window, Duration.FromSeconds(15), Duration.FromSeconds(40), Duration.FromSeconds(10),
            Duration.FromSeconds(35), Duration.FromSeconds(15)), "mg/L") with
        {
            Results = new ResultRule(null, new ValueRange(0.5m, 1000), ValueRange.Open, new ValueRange(null, 150)),
            Controls = new ControlPolicy(approved.Levels, approved.EachDay, approved.NewLot, approved.NewShipment,
                approved.AfterService, approved.Gate switch
                {
                    "wait" => ControlGate.Wait,
                    "hold" => ControlGate.HoldResults,
                    _ => ControlGate.None,
                }),
        };
        return Record(now, new ClinicEvent.AssayDrafted(sheet, clinic.Assays.NextRevision(code)))
            && Record(now, new PersonId("second"),
                new ClinicEvent.AssayApproved(sheet, clinic.Assays.VersionsOf(code) + 1));
    }

    private bool ComeIn(Instant now, string lot)
    {
        foreach (var kind in new[] { StockKind.Kit, StockKind.Buffer, StockKind.ReaderCard })
            Must(Record(now, new ClinicEvent.StockReceived(kind, new LotCode(lot), new AssayCode(assayOf[lot]),
                new LocalDate(2099, 12, 31), 20, null, null)));
        return true;
    }

    private void JudgeClosed(Instant now)
    {
        if (clinic.Controls.JudgedByRule < ControlJudgements.Rule && clinic.Controls.AllLatest.ToList() is
            { Count: > 0 } earlier)
        {
            foreach (var run in earlier)
                JudgeClosed(now, run.Request, JudgementCause.RuleChanged);
            if (writesLeft-- > 0)
                Must(Record(now, new ClinicEvent.JudgementRuleTaken(ControlJudgements.Rule)));
        }

        if (ReferenceEquals(clinic.Amendments, seen))
            return;
        var amendments = clinic.Amendments;
        if (amendments.Cartridges.Where(one => !ControlJudgements.IsBorneOut(
                clinic.Controls, amendments, one.Bench, one.Request))
            .OrderBy(one => one.Batch).ThenBy(one => OutOf(one.Request))
            .ThenBy(one => one.Request.Value, StringComparer.Ordinal).ToList()
            .TrueForAll(one => JudgeClosed(now, one.Request, null)))
            seen = amendments;
    }

    private Instant? OutOf(RequestId request) => closed.TryGetValue(request, out var one)
        && one.Cartridge.Stage is CartridgeStage.Cleared cleared ? cleared.End : null;

    private bool JudgeClosed(Instant now, RequestId request, JudgementCause? because)
    {
        if (!closed.TryGetValue(request, out var one) || one.Cartridge is not
            {
                Stage: CartridgeStage.Cleared cleared,
                Wanted: { Facts.Control: { } control, Request: var wanted },
            } || ResultOf(one.State.Id, one.Cartridge) is not { } result)
            return true;
        var amended = !clinic.Amendments.Of(one.State.Id, request).IsEmpty;
        var standing = new ControlResult(request, one.State.Id, one.State.Batch, wanted.Assay, wanted.Lot, control,
            cleared.End, result, UseOf(one.State.Id, one.Cartridge), amended, false);
        return ControlJudgements.Of(clinic.Controls, standing, now) is not { } run
            || Judge(now, run with { Cause = because ?? run.Cause });
    }

    private bool Judge(Instant now, ControlRun run)
    {
        if (writesLeft-- <= 0)
            return false;
        Must(Record(now, new ClinicEvent.ControlJudged(run)));
        return true;
    }

    private void SetGates(int bench, Instant now, IEnumerable<LotCode> coming)
    {
        foreach (var (lot, gate) in Gates.ToSet(benches[bench]!, coming, now).ToList())
            if (writesLeft-- > 0)
                Must(Say(bench, now, new BenchCommand.SetLotGate(lot, gate)));
    }

    private bool Say((int Bench, RequestId Request) of, Instant now, Func<RequestId, BenchCommand> what) =>
        Say(of.Bench, now, what(of.Request));

    private bool Record(Instant now, ClinicEvent wanted) => Record(now, Aide, wanted);

    private bool Record(Instant now, PersonId by, params ClinicEvent[] wanted)
    {
        var provenance = new Provenance(new ReportId($"T{++count}"), now, now, by, Tablet);
        if (LiveClinic.Decide(clinic, wanted, provenance) is not ClinicDecision.Accepted accepted)
            return false;
        foreach (var happened in accepted.Events)
        {
            toldClinic.Add(new ClinicEntry(happened, provenance));
            clinic = LiveClinic.Apply(clinic, toldClinic[^1]);
        }

        return true;
    }

    private static void Must(bool done)
    {
        if (!done)
            throw new InvalidOperationException("What the server says to itself was refused.");
    }

    private static ShownResult Shown(string value) =>
        value[0] == '!' ? new ShownResult.NoValue(value[1..]) : new ShownResult.Value(value);

    private static string Said(ReadResult result) => result switch
    {
        ReadResult.Measured measured => measured.Value,
        ReadResult.NoValue none => "!" + none.Code,
        _ => "",
    };

    private static string Said(LotGate gate) => gate switch
    {
        LotGate.Open => "open",
        LotGate.AwaitingControls => "wait",
        LotGate.ResultsHeld => "hold",
        LotGate.AwaitingComparison => "compare",
        _ => "failed",
    };

    private static string Said(ControlVerdict verdict) => verdict switch
    {
        ControlVerdict.Accepted => "accepted",
        ControlVerdict.Rejected => "rejected",
        _ => "neither",
    };
}
