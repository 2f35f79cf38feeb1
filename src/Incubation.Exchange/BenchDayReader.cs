using Incubation.Exchange.Json;
using Incubation.Model;
using NodaTime;

namespace Incubation.Exchange;

/// <summary>
/// Something that was read, with its members, so that a contradiction found later can say where it stands.
/// </summary>
internal sealed record Located<T>(T Value, Members At);

/// <summary>Reads the members of a bench-day file, then looks for contradictions among what could be read.</summary>
internal static class BenchDayReader
{
    public static BenchDay? Read(JsonItem item, FaultList faults)
    {
        if (Members.Of(item, faults)?.Only("start", "bench", "assays", "requests", "calendar", "now",
            "state") is not { } root)
            return null;
        var start = root.Required<Instant>("start", Values.Instant);
        var bench = Bench(root, faults);
        var ranges = bench is null ? StepRanges.Widest : new StepRanges(bench.Hands, bench.Slots, bench.Readers);
        var assays = root.RequiredItems("assays", BenchLimits.Assays).Select(assay => AssayReader.Read(assay, faults))
            .OfType<Located<Assay>>().ToList();
        var requests = root.RequiredItems("requests", BenchDay.MaximumRequests)
            .Select(request => Request(request, faults)).OfType<Located<Request>>().ToList();
        var calendar = root.OptionalItems("calendar", BenchLimits.CalendarEntries)
            .Select(entry => Entry(entry, ranges, faults)).OfType<CalendarEntry>().ToList();
        var now = Now(root, start, faults);
        RequestContradictions.Find(root, assays, requests, faults);
        var midRun = MidRunReader.Read(root, now, ranges, faults);
        if (midRun is not null && IsReadInFull(root, assays.Count, requests.Count, midRun))
            new MidRunContradictions(midRun, [.. assays.Select(assay => assay.Value)],
                [.. requests.Select(request => request.Value)], faults).Find();
        if (!faults.IsEmpty)
            return null;
        return new BenchDay(
            start!.Value, bench!, [.. assays.Select(assay => assay.Value)],
                [.. requests.Select(request => request.Value)], calendar, midRun?.Value);
    }

    /// <summary>
    /// Whether every assay, request and part of the state could be read, so that a missing one is missing indeed.
    /// </summary>
    private static bool IsReadInFull(Members root, int assays, int requests, LocatedMidRun midRun)
    {
        return root.At("assays") is JsonItem.Array && root.At("requests") is JsonItem.Array
            && Count(root.At("assays")) == assays && Count(root.At("requests")) == requests
            && Count(InState("readers")) == midRun.Cards.Count && Count(InState("steps")) == midRun.Steps.Count
            && Count(InState("cartridges")) == midRun.Cartridges.Count;

        JsonItem? InState(string name) => (root.At("state") as JsonItem.Object)?.Find(name);
        static int Count(JsonItem? item) => (item as JsonItem.Array)?.Items.Count ?? 0;
    }

    private static BenchSetup? Bench(Members root, FaultList faults)
    {
        if (root.RequiredItem("bench") is not { } item
            || Members.Of(item, faults)?.Only("hands", "slots", "readers", "cardChange", "readGuard",
                "waitWeight") is not { } bench)
            return null;
        var hands = bench.Required("hands", Values.Integer(1, BenchLimits.Hands));
        var slots = bench.Required("slots", Values.Integer(0, BenchLimits.Slots));
        var readers = bench.Required("readers", Values.Integer(1, BenchLimits.Readers));
        var cardChange = bench.Required<Duration>("cardChange", Values.Length);
        var readGuard = bench.Required<Duration>("readGuard", Values.Length);
        var waitWeight = bench.Optional("waitWeight", Values.Real(0, BenchLimits.WaitWeight));
        return hands is null || slots is null || readers is null || cardChange is null || readGuard is null
            ? null
            : new BenchSetup(hands.Value, slots.Value, readers.Value, cardChange.Value, readGuard.Value, waitWeight
                ?? 0);
    }

    private static Located<Request>? Request(JsonItem item, FaultList faults)
    {
        if (Members.Of(item, faults)?.Only("id", "specimen", "assay", "lot", "ready", "kind", "repeatLeft", "priority",
            "due", "loadBy", "after") is not { } row)
            return null;
        var id = row.Required<RequestId>("id", Values.Id<RequestId>);
        var specimen = row.Required<SpecimenId>("specimen", Values.Id<SpecimenId>);
        var assay = row.Required<AssayCode>("assay", Values.Id<AssayCode>);
        var lot = row.Required<LotCode>("lot", Values.Id<LotCode>);
        var ready = row.Required<Instant>("ready", Values.Instant);
        var kind = row.Optional("kind", Values.OneOf(Wordlists.Kinds)) ?? RequestKind.Patient;
        var repeatLeft = row.Optional<bool>("repeatLeft", Values.Truth) ?? true;
        var priority = row.Optional("priority", Values.OneOf(Wordlists.Priorities)) ?? Priority.Routine;
        var due = row.Optional<Instant>("due", Values.Instant);
        var loadBy = row.Optional<Instant>("loadBy", Values.Instant);
        var after = row.OptionalItems("after", BenchDay.MaximumRequests)
            .Select(before => Values.Id<RequestId>(before, faults)).ToList();
        if (id is null || specimen is null || assay is null || lot is null || ready is null || after.Contains(null))
            return null;
        return new(new Request(
            id.Value, specimen.Value, assay.Value, lot.Value, ready.Value, kind, repeatLeft, priority, due, loadBy,
            [.. after.Select(before => before!.Value)]), row);
    }

    private static CalendarEntry? Entry(JsonItem item, StepRanges ranges, FaultList faults)
    {
        if (Members.Of(item, faults) is not { } row
            || row.Required("resource", Values.OneOf(Wordlists.Resources)) is not { } kind)
            return null;
        var isIncubator = kind == ResourceKind.Incubator;
        row.Only(isIncubator ? ["resource", "from", "to", "why"] : ["resource", "number", "from", "to", "why"]);
        var most = kind switch
        {
            ResourceKind.Hands => ranges.Hands,
            ResourceKind.Slot => ranges.Slots,
            _ => ranges.Readers,
        };
        var number = isIncubator ? null : row.Required("number", Values.Integer(1, most));
        var from = row.Required<Instant>("from", Values.Instant);
        var to = row.Required<Instant>("to", Values.Instant);
        var why = row.OptionalText("why", BenchLimits.NameLength);
        if (to <= from)
            faults.Add(row.At("to"), Words.EntryReversed, Words.AllowedToAfterFrom);
        return from is null || to is null || BenchResource.Of(kind, number) is not { } resource
            ? null
            : new CalendarEntry(resource, from.Value, to.Value, why);
    }

    private static Instant? Now(Members root, Instant? start, FaultList faults)
    {
        var now = root.Optional<Instant>("now", Values.Instant);
        if (now < start)
            faults.Add(root.At("now"), Words.NowBeforeStart, Words.AllowedNow);
        if (root.Has("state") && !root.Has("now"))
            faults.Add(root.At("state"), Words.StateWithoutNow, Words.AllowedStateWithNow);
        return now;
    }
}
