using Incubation.Bench;
using Incubation.Clinic.Stock;
using Incubation.Records.Batches;
using Incubation.Records.Clinic;
using Incubation.Service.Assays;
using Incubation.Service.Controls;
using Incubation.Service.Record;
using Incubation.Service.Text;
using NodaTime;

namespace Incubation.Service.Bundles;

/// <summary>The tables of a cartridge's bundle, from the record as it stands.</summary>
internal sealed class BundleTables(BatchRecord batch, CartridgeRecord one, ClinicLog log)
{
    /// <summary>Every table, in the order of the page.</summary>
    public IReadOnlyList<BundleTable> All(BatchSheet sheet) =>
        [Values(), Duties(), Steps(), Temperatures(), Controls(), Actions(), Lots(), Sheet(), Happenings(sheet)];

    /// <summary>
    /// Until when its controls had to be accepted: its read, or what came last where it was not read.
    /// </summary>
    private Instant Read => one.Read.From ?? one.Clear.To ?? one.Discard.To ?? batch.Closed?.At ?? Instant.MaxValue;

    private BundleTable Values()
    {
        var values = one.Values?.Values ?? [];
        return Table("values", BundleWords.Values,
            [(BundleWords.Value, "value"), (BundleWords.Standing, "standing"), (BundleWords.EnteredAt, "entered"),
                (BundleWords.EnteredBy, "enteredBy"), (BundleWords.Why, "why"), (BundleWords.LookedAt, "lookedAt"),
                (BundleWords.LookedBy, "lookedBy"), (BundleWords.LookedWhy, "lookedWhy")],
            [
                .. values.Select((value, at) => Row(ResultSentence.Of(value.Value),
                    at == values.Length - 1 ? BundleWords.InForce : BundleWords.Earlier, value.At, value.By,
                    value.Why is { } why ? ResultSentence.Why(value.Reason, why) : null, value.Second?.At,
                    value.Second?.By, value.Second?.Why)),
                .. one.Declined.Select(no => Row(ResultSentence.Of(no.Proposal.After),
                    no.IsOwn ? BundleWords.Undone : BundleWords.Declined,
                    no.Proposal.At, no.Proposal.By, ResultSentence.Why(no.Proposal.Reason, no.Proposal.Why),
                    no.Look.At, no.Look.By, no.Look.Why)),
                .. one.Proposal is { } waits ? [Row(ResultSentence.Of(waits.After), BundleWords.Waits, waits.At,
                    waits.By, ResultSentence.Why(waits.Reason, waits.Why), null, null, null)]
                    : Array.Empty<IReadOnlyList<object?>>(),
            ]);
    }

    /// <summary>Who was told of which value, or why nobody need be; and what is still to be told.</summary>
    private BundleTable Duties()
    {
        List<IReadOnlyList<object?>> rows = [];
        foreach (var value in one.Values?.Values ?? [])
        {
            if (value.Told is { } told)
                rows.Add(Row(ResultSentence.Of(value.Value), told.ReadBack ? BundleWords.ToldReadBack
                    : BundleWords.Told, told.Whom, told.At, told.By, told.Why));
            if (value.Waived is { } waived)
                rows.Add(Row(ResultSentence.Of(value.Value), BundleWords.NotNeeded, null, waived.At, waived.By,
                    waived.Why));
        }

        if (one.Telling is { } duty)
            rows.Add(Row(ResultStatusText.Result(one), BundleWords.OpenDuty, null, null, null,
                ResultSentence.ToTell(duty)));
        return Table("duties", BundleWords.Duties,
            [(BundleWords.Value, "value"), (BundleWords.HowEnded, "ended"), (BundleWords.Whom, "whom"),
                (BundleWords.At, "at"), (BundleWords.By, "by"), (BundleWords.Words, "words")], rows);
    }

    private BundleTable Steps()
    {
        (string Step, RecordedStep Done)[] steps =
        [
            (RecordWords.StepMix, one.Mix), (RecordWords.StepLoad, one.Load), (RecordWords.StepRead, one.Read),
            (RecordWords.StepClear, one.Clear), (RecordWords.StepResult, one.ResultEntered),
            (RecordWords.StepDiscard, one.Discard),
        ];
        return Table("steps", BundleWords.Steps,
            [(BundleWords.Step, "step"), (BundleWords.Planned, "planned"), (BundleWords.From, "from"),
                (BundleWords.To, "to"), (BundleWords.By, "by"), (BundleWords.Device, "device")],
            [
                .. steps.Where(step => step.Done.To is not null || step.Done.Planned is not null)
                    .Select(step => Row(step.Step, step.Done.Planned, step.Done.From, step.Done.To, step.Done.Person,
                        step.Done.Device)),
                .. one.WindowOpens is { } opens
                    ? [Row(BundleWords.Window, null, opens, one.WindowCloses, null, null)]
                    : Array.Empty<IReadOnlyList<object?>>(),
            ]);
    }

    private BundleTable Temperatures() => Table("temperatures", BundleWords.Temperatures,
        [(BundleWords.At, "at"), (BundleWords.Celsius, "celsius"), (BundleWords.Outside, "outside"),
            (BundleWords.By, "by")],
        [.. batch.Happenings.Where(entry => entry.Event is BenchEvent.TemperatureMeasured)
            .OrderBy(entry => entry.Provenance.At)
            .Select(entry => (entry.Provenance, Measured: (BenchEvent.TemperatureMeasured)entry.Event))
            .Select(entry => Row(entry.Provenance.At, entry.Measured.Value.Degrees,
                entry.Measured.Outside ? BundleWords.Yes : BundleWords.No, entry.Provenance.Person))]);

    /// <summary>
    /// Every judgement of a control of its lot on its bench. Those that stood at its read are marked: the last of each
    /// control that was made until then.
    /// </summary>
    private BundleTable Controls()
    {
        var history = log.Controls.Of(one.Lot);
        var runs = history.Runs.Where(run => run.Bench == one.Bench).ToList();
        var stood = runs.Where(run => run.At <= Read && run.JudgedAt <= Read).GroupBy(run => run.Request)
            .Select(group => group.MaxBy(run => run.Revision)!).ToHashSet();
        var last = stood.Count == 0 ? 0 : stood.Max(run => run.Run);
        return Table("controls", BundleWords.Controls,
            [(BundleWords.AtRead, "atRead"), (BundleWords.Control, "request"), (BundleWords.ControlLot, "controlLot"),
                (BundleWords.Level, "level"), (BundleWords.TakenOut, "takenOut"), (BundleWords.Value, "value"),
                (BundleWords.Mean, "mean"), (BundleWords.Deviation, "deviation"), (BundleWords.Z, "z"),
                (BundleWords.Verdict, "verdict"), (BundleWords.Rules, "rules"), (BundleWords.JudgedAt, "judged")],
            [.. runs.OrderBy(run => run.JudgedAt).ThenBy(run => run.Request.Value, StringComparer.Ordinal)
                .Select(run => Row(stood.Contains(run) && run.Run == last ? BundleWords.Yes : BundleWords.No,
                    run.Request.Value, run.Control.Lot.Value, run.Control.Level, run.At, run.Shown, run.Target?.Mean,
                    run.Target?.StandardDeviation, ControlText.Z(run), ControlText.Standing(run, history),
                    ControlText.Broken(run), run.JudgedAt))]);
    }

    private BundleTable Actions()
    {
        var history = log.Controls.Of(one.Lot);
        return Table("control-actions", BundleWords.Actions,
            [(BundleWords.At, "at"), (BundleWords.What, "what"), (BundleWords.Found, "found"),
                (BundleWords.Done, "done"), (BundleWords.By, "by")],
            [
                .. history.Actions.Select(act => Row(act.At, BundleWords.Corrective, act.Found, act.Done, act.By)),
                .. history.Reviews.Select(act => Row(act.At, BundleWords.Review, act.Finding, null, act.By)),
            ]);
    }

    private BundleTable Lots()
    {
        IEnumerable<StockItem> items =
        [
            .. new[] { StockKind.Kit, StockKind.Buffer, StockKind.ReaderCard }
                .Select(kind => log.Stock.Find(kind, one.Lot)).OfType<StockItem>(),
            .. log.Controls.Of(one.Lot).Runs.Where(run => run.Bench == one.Bench).Select(run => run.Control.Lot)
                .Distinct().Select(lot => log.Stock.Find(StockKind.Control, lot)).OfType<StockItem>(),
        ];
        return Table("lots", BundleWords.Lots,
            [(BundleWords.What, "kind"), (BundleWords.Lot, "lot"), (BundleWords.LastDay, "lastDay"),
                (BundleWords.CameIn, "cameIn"), (BundleWords.Opened, "opened"),
                (BundleWords.Quarantine, "quarantined"), (BundleWords.Words, "words"),
                (BundleWords.Finished, "finished")],
            [.. items.Select(item => Row(Kind(item.Kind), item.Lot.Value, Say.Day(item.Expiry),
                item.Shipments is [var first, ..] ? first.At : null, item.OpenedAt, item.Quarantine?.At,
                item.Quarantine?.Why, item.FinishedAt))]);
    }

    private static string Kind(StockKind kind) => kind switch
    {
        StockKind.Kit => BundleWords.KindKit,
        StockKind.Buffer => BundleWords.KindBuffer,
        StockKind.ReaderCard => BundleWords.KindCard,
        _ => BundleWords.KindControl,
    };

    /// <summary>The version of the assay sheet under which it ran.</summary>
    private BundleTable Sheet()
    {
        var version = log.Assays.Versions.GetValueOrDefault(one.Assay, []).ElementAtOrDefault(one.AssayVersion - 1);
        return Table("sheet", Say.Of(BundleWords.Sheet, one.AssayName, one.AssayVersion),
            [(BundleWords.Field, "field"), (BundleWords.Value, "value"), (BundleWords.Member, "member")],
            version is null ? [] :
            [
                Row(BundleWords.ApprovedAt, version.At, "ApprovedAt"),
                Row(BundleWords.ApprovedBy, version.By, "ApprovedBy"),
                .. SheetFields.All.Where(field => field.Shown(version.Sheet).Length > 0)
                    .Select(field => Row(field.Label, field.Shown(version.Sheet), field.Member)),
            ]);
    }

    private static BundleTable Happenings(BatchSheet sheet) => Table("happenings", BundleWords.Happenings,
        [(BundleWords.At, "at"), (BundleWords.What, "what"), (BundleWords.By, "by"), (BundleWords.Device, "device")],
        [.. sheet.Happenings.Select(line => Row(line.When, line.What, line.Who, line.Device))]);

    private static IReadOnlyList<object?> Row(params object?[] cells) => cells;

    private static BundleTable Table(string name, string title, IEnumerable<(string Head, string Name)> columns,
        IReadOnlyList<IReadOnlyList<object?>> rows) =>
        new(name, title, [.. columns.Select(column => new BundleColumn(column.Head, column.Name))], rows);
}
