using System.Globalization;
using System.Text;
using System.Text.Json;
using Incubation.Bench;
using Incubation.Clinic;
using Incubation.Clinic.Controls;
using Incubation.Clinic.Record;
using Incubation.Clinic.Stock;
using Incubation.Records.Benches;
using Incubation.Records.Clinic;
using Incubation.Records.Events;
using Incubation.Records.Log;
using NodaTime;

namespace Incubation.Records.Tests;

/// <summary>What a stream leads to, in lines that mean the same for ever.</summary>
internal static class SampleSummary
{
    /// <summary>Replays verified rows of one stream and says where they lead.</summary>
    public static string Of(IReadOnlyList<LogRow> rows)
    {
        var head = rows[^1].Header;
        var text = new StringBuilder();
        text.AppendLine(CultureInfo.InvariantCulture, $"stream {head.Stream}");
        text.AppendLine(CultureInfo.InvariantCulture, $"rows {head.Sequence}");
        text.AppendLine(CultureInfo.InvariantCulture, $"head {head.Hash}");
        if (head.Stream == StreamName.Clinic)
            Clinic(text, rows);
        else
            Bench(text, rows);
        return text.ToString();
    }

    private static void Clinic(StringBuilder text, IReadOnlyList<LogRow> rows)
    {
        var state = ClinicState.Empty;
        foreach (var row in rows)
            state = LiveClinic.Apply(state, ClinicLog.EntryOf(row));
        text.AppendLine(CultureInfo.InvariantCulture, $"zone {state.Zone?.Id}");
        text.AppendLine(CultureInfo.InvariantCulture, $"commands {state.Recorded.Count}");
        foreach (var (code, versions) in state.Assays.Versions.OrderBy(pair => pair.Key.Value, StringComparer.Ordinal))
            text.AppendLine(CultureInfo.InvariantCulture, $"assay {code} version {versions.Length}");
        foreach (var lot in state.Stock.Items.Values.Where(item => item.Kind == StockKind.Kit)
            .OrderBy(item => item.Lot.Value, StringComparer.Ordinal))
            text.AppendLine(CultureInfo.InvariantCulture, $"lot {lot.Lot} of {lot.Assay} until {lot.Expiry:R}");
        foreach (
            var item in state.Stock.Items.Values.Where(item =>
                item.Shipments.Any(shipment => shipment.Count is not null)).OrderBy(item => item.Kind)
                .ThenBy(item => item.Lot.Value, StringComparer.Ordinal))
            text.AppendLine(CultureInfo.InvariantCulture,
                $"stock {Json(item.Kind)} {item.Lot} item {item.Item} counted {item.Counted} opened "
                + $"{Json(item.OpenedAt)} quarantine {Json(item.Quarantine)} finished {Json(item.FinishedAt)}");
        foreach (var bench in state.Benches.OrderBy(id => id.Value, StringComparer.Ordinal))
            text.AppendLine(CultureInfo.InvariantCulture, $"bench {bench}");
        foreach (var request in state.Requests.OrderBy(id => id.Value, StringComparer.Ordinal))
            text.AppendLine(CultureInfo.InvariantCulture, $"request {request}");
        foreach (var one in state.Benches.SelectMany(bench =>
            state.Requests.SelectMany(request => state.Amendments.Of(bench, request))).OrderBy(one => one.Sequence))
            text.AppendLine(CultureInfo.InvariantCulture, $"amended {one.Sequence} {Amended(one)}");
        foreach (var one in state.Benches.SelectMany(bench => state.LateReports.Of(bench, 1))
            .OrderBy(one => one.Sequence))
            text.AppendLine(CultureInfo.InvariantCulture,
                $"late {one.Sequence} {Json(one.Report)} {one.Decision?.Sequence} {Json(one.Decision?.Settled)}");
        foreach (var person in state.People.Persons.Values.OrderBy(person => person.Id.Value, StringComparer.Ordinal))
            text.AppendLine(CultureInfo.InvariantCulture,
                $"person {person.Id} {Json(person.Role)} active {person.IsActive} password {person.HasPassword} pin "
                + $"{person.HasPin}");
        foreach (var device in state.People.Devices.Values.OrderBy(device => device.Id.Value, StringComparer.Ordinal))
            text.AppendLine(CultureInfo.InvariantCulture,
                $"device {device.Id} {Json(device.Kind)} revoked {device.IsRevoked}");
        foreach (var target in state.Controls.Targets)
            text.AppendLine(CultureInfo.InvariantCulture,
                $"target {target.Assay} {Json(target.Control)} {Json(target.Target)} "
                + $"{Json(target.Source)}{Until(target)}");
        foreach (var (code, lot) in state.Controls.Lots.OrderBy(pair => pair.Key.Value, StringComparer.Ordinal))
        {
            foreach (var run in lot.Runs)
                text.AppendLine(CultureInfo.InvariantCulture,
                    $"control {run.Request} of {code} run {run.Run} {run.Shown} {Json(run.Verdict)} "
                    + $"{Json(run.Violations)}");
            text.AppendLine(CultureInfo.InvariantCulture,
                $"controls of {code}: actions {lot.Actions.Count}, reviews {lot.Reviews.Count}");
        }

        foreach (var one in state.Comparisons.Cases)
            text.AppendLine(CultureInfo.InvariantCulture,
                $"comparison {one.Number} {one.Assay} {one.Old} {one.New} {Json(one.Criterion)} {Json(one.Pairs)} "
                + $"{Json(one.Decision)}");
        foreach (var one in state.Proficiency.Rounds)
            text.AppendLine(CultureInfo.InvariantCulture,
                $"round {one.Number} {one.Programme} {one.Name} {Json(one.Items)} {Json(one.Due)} "
                + $"{Json(one.Reported)} {Json(one.Cancelled)} {Json(one.Grades)}");
        foreach (var point in Reorder.Of(state.Stock, item => item.Counted, new LocalDate(2026, 3, 2), 30))
            text.AppendLine(CultureInfo.InvariantCulture, $"order {Json(point.Key)} below {point.Least}");
        foreach (var assay in state.Assays.Versions.Keys.OrderBy(code => code.Value, StringComparer.Ordinal))
            if (state.Controls.MovingMeanOf(assay) is { } mean)
                text.AppendLine(CultureInfo.InvariantCulture, $"moving mean of {assay} {Json(mean)}");
        foreach (var key in state.People.Keys.Values.OrderBy(key => key.Id.Value, StringComparer.Ordinal))
            text.AppendLine(CultureInfo.InvariantCulture, $"key {key.Id} {Json(key.Scopes)} revoked {key.IsRevoked}");
    }

    /// <summary>What was said; a reason only where somebody chose one.</summary>
    private static string Amended(ClosedAmendment one)
    {
        var said = JsonSerializer.SerializeToNode(one.Amended, EventJson.Options)!.AsObject();
        if (said["reason"] is null)
            said.Remove("reason");
        return said.ToJsonString(EventJson.Options)
            + (one.Question is { } question ? $" question {Json(question)}" : "")
            + (one.Due is { } due ? $" to tell {Json(due)}" : "")
            + (one.Proposal is { } proposal ? $" second look at {Json(proposal)}" : "");
    }

    private static string Until(PresentTarget target) => target.LastDay is { } day
        ? string.Create(CultureInfo.InvariantCulture, $" until {day:R}") : "";

    private static void Bench(StringBuilder text, IReadOnlyList<LogRow> rows)
    {
        BenchState? state = null;
        foreach (var entry in rows.Select(BenchStreams.EntryOf))
        {
            if (entry.Event is BenchEvent.BatchClosed)
                Batch(text, state!);
            state = LiveBench.Apply(state, entry);
        }
        Batch(text, state!);
    }

    private static void Batch(StringBuilder text, BenchState state)
    {
        text.AppendLine(CultureInfo.InvariantCulture,
            $"batch {state.Batch}{(state.Phase == BatchPhase.Running ? " running" : "")}");
        text.AppendLine(CultureInfo.InvariantCulture, $"  revision {state.Revision}, commands {state.Recorded.Count}");
        foreach (var reader in state.Checkpoint.Readers.Where(reader => reader.Card is not null))
            text.AppendLine(CultureInfo.InvariantCulture, $"  reader {reader.Reader.Value} card {reader.Card}");
        foreach (var gate in state.LotGates)
            text.AppendLine(CultureInfo.InvariantCulture,
                $"  lot {gate.Lot} {Json(gate.Gate)} since {Json(gate.Since)}");
        text.AppendLine(CultureInfo.InvariantCulture,
            $"  steps done {state.Done.Length}, still planned {state.Adopted?.Remaining.Length ?? 0}");
        foreach (var cartridge in state.Cartridges)
            text.AppendLine(CultureInfo.InvariantCulture, $"  cartridge {cartridge.Id}: {Of(cartridge)}");
        foreach (var told in state.Story.Where(told => told.Claimed is not null))
            text.AppendLine(CultureInfo.InvariantCulture, $"  {told.Id} claimed {Json(told.Claimed)}");
        foreach (var report in state.Unchecked)
            text.AppendLine(CultureInfo.InvariantCulture,
                $"  unchecked {report.Report} of {report.Person} on {report.Device}");
    }

    private static string Of(Cartridge cartridge)
    {
        var stage = cartridge.Stage switch
        {
            CartridgeStage.Waiting => "waiting",
            CartridgeStage.InWork work => "in work " + Json(work.Phase),
            CartridgeStage.Astray => "astray",
            CartridgeStage.Cleared cleared => "cleared " + Json(cleared.End),
            CartridgeStage.Discarded discarded =>
                $"discarded {Json(discarded.End)} {Json(discarded.Reason)} {Json(discarded.InWords)}",
            CartridgeStage.Withdrawn => "withdrawn",
            _ => throw new InvalidOperationException("This stage has no words here."),
        };
        var fate = cartridge.Fate switch
        {
            null => "",
            RequestFate.GivenUp given => $"; given up by {given.By} {Json(given.At)} {Json(given.Why)}",
            RequestFate.CarriedOver carried => $"; carried over by {carried.By} {Json(carried.At)}",
            _ => throw new InvalidOperationException("This fate has no words here."),
        };
        var from = cartridge.FromBatch is { } batch
            ? $"; from batch {batch}, repeat of {cartridge.RepeatOf?.Value ?? "none"}, "
                + $"since {Json(cartridge.WaitsSince)}"
            : "";
        var asked = cartridge.Status is not { } status ? "" : (status.Question is { } question
            ? $"; question {Json(question)}" : "") + (status.Waived is { } waived ? $"; not told: {waived.Why}" : "")
            + (status.Proposal is { } proposal ? $"; waits {Json(proposal)}" : "")
            + (status.Declined.IsEmpty ? "" : $"; declined {Json(status.Declined)}")
            + (status.Earlier is [.., { Second: { } second }] ? $"; confirmed {Json(second)}" : "");
        return string.Join("; ", stage, "deviations " + Json(cartridge.Deviations),
            "in window " + Json(cartridge.ReadInWindow), "result " + Json(cartridge.Result)) + asked + fate + from;
    }

    private static string Json<T>(T value) => JsonSerializer.Serialize(value, EventJson.Options);
}
