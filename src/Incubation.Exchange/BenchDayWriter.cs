using System.Text.Json;
using Incubation.Model;
using NodaTime;
using NodaTime.Text;

namespace Incubation.Exchange;

/// <summary>Writes the members of a bench-day file.</summary>
internal static class BenchDayWriter
{
    public static string Write(BenchDay day) => JsonWriting.Document(writer =>
    {
        writer.WriteString("start", IsoInstant.Format(day.Start));
        writer.WriteLine("bench", bench =>
        {
            bench.WriteNumber("hands", day.Bench.Hands);
            bench.WriteNumber("slots", day.Bench.Slots);
            bench.WriteNumber("readers", day.Bench.Readers);
            WriteLength(bench, "cardChange", day.Bench.CardChange);
            WriteLength(bench, "readGuard", day.Bench.ReadGuard);
            if (day.Bench.WaitWeight != 0)
                bench.WriteNumber("waitWeight", day.Bench.WaitWeight);
        });
        writer.WriteRows("assays", day.Assays, WriteAssay);
        writer.WriteRows("requests", day.Requests, WriteRequest);
        if (day.Calendar.Count > 0)
            writer.WriteRows("calendar", day.Calendar, WriteEntry);
        if (day.MidRun is not { } run)
            return;
        writer.WriteString("now", IsoInstant.Format(run.Now));
        writer.WriteStartObject("state");
        WriteState(writer, run);
        writer.WriteEndObject();
    });

    private static void WriteAssay(Utf8JsonWriter row, Assay assay)
    {
        row.WriteString("code", assay.Code.Value);
        row.WriteString("name", assay.Name);
        row.WriteString("place", Wordlists.Places.WordOf(assay.Place));
        WriteLength(row, "mix", assay.Mix);
        WriteLength(row, "mixToLoad", assay.MixToLoad);
        WriteLength(row, "load", assay.Load);
        WriteLength(row, "incubation", assay.Incubation);
        WriteLength(row, "readWindow", assay.ReadWindow);
        WriteLength(row, "move", assay.Move);
        WriteLength(row, "read", assay.Read);
        WriteLength(row, "clear", assay.Clear);
        if (assay.MixShortest != assay.Mix)
            WriteLength(row, "mixShortest", assay.MixShortest);
        if (assay.LoadShortest != assay.Load)
            WriteLength(row, "loadShortest", assay.LoadShortest);
    }

    private static void WriteRequest(Utf8JsonWriter row, Request request)
    {
        row.WriteString("id", request.Id.Value);
        row.WriteString("specimen", request.Specimen.Value);
        row.WriteString("assay", request.Assay.Value);
        row.WriteString("lot", request.Lot.Value);
        row.WriteString("ready", IsoInstant.Format(request.Ready));
        if (request.Kind != RequestKind.Patient)
            row.WriteString("kind", Wordlists.Kinds.WordOf(request.Kind));
        if (!request.RepeatLeft)
            row.WriteBoolean("repeatLeft", false);
        if (request.Priority != Priority.Routine)
            row.WriteString("priority", Wordlists.Priorities.WordOf(request.Priority));
        if (request.Due is { } due)
            row.WriteString("due", IsoInstant.Format(due));
        if (request.LoadBy is { } loadBy)
            row.WriteString("loadBy", IsoInstant.Format(loadBy));
        if (request.After.Count == 0)
            return;
        row.WriteStartArray("after");
        foreach (var id in request.After)
            row.WriteStringValue(id.Value);
        row.WriteEndArray();
    }

    private static void WriteEntry(Utf8JsonWriter row, CalendarEntry entry)
    {
        var (kind, number) = entry.Resource.Parts;
        row.WriteString("resource", Wordlists.Resources.WordOf(kind));
        if (number is { } which)
            row.WriteNumber("number", which);
        row.WriteString("from", IsoInstant.Format(entry.From));
        row.WriteString("to", IsoInstant.Format(entry.To));
        if (entry.Why is { } why)
            row.WriteString("why", why);
    }

    private static void WriteState(Utf8JsonWriter writer, MidRun run)
    {
        writer.WriteRows("readers", run.Cards, (row, known) =>
        {
            row.WriteNumber("reader", known.Reader.Value);
            row.WriteString("card", known.Card.Value);
        });
        writer.WriteRows("steps", run.Steps, (row, step) =>
        {
            row.WriteAction(step.Action, step.Hands);
            row.WriteString("start", IsoInstant.Format(step.Start));
            if (step.Unknown)
                row.WriteBoolean("unknown", true);
        });
        writer.WriteRows("cartridges", run.Cartridges, WriteCartridge);
    }

    private static void WriteCartridge(Utf8JsonWriter row, CartridgeInWork cartridge)
    {
        row.WriteString("request", cartridge.Request.Value);
        switch (cartridge.Phase)
        {
            case CartridgePhase.Mixed mixed:
                row.WriteString("phase", Wordlists.Phases.WordOf(PhaseWord.Mixed));
                WriteRange(row, "mixEnd", mixed.MixEnd);
                break;
            case CartridgePhase.Reacting reacting:
                row.WriteString("phase", Wordlists.Phases.WordOf(PhaseWord.Reacting));
                WriteRange(row, "loadEnd", reacting.LoadEnd);
                row.WritePlace(reacting.Place);
                break;
            case CartridgePhase.Reading reading:
                row.WriteString("phase", Wordlists.Phases.WordOf(PhaseWord.Reading));
                row.WriteNumber("reader", reading.Reader.Value);
                row.WriteString("start", IsoInstant.Format(reading.Start));
                break;
            case CartridgePhase.Read read:
                row.WriteString("phase", Wordlists.Phases.WordOf(PhaseWord.Read));
                row.WriteNumber("reader", read.Reader.Value);
                break;
        }

        if (cartridge is { MustDiscard: true, Phase: CartridgePhase.Mixed or CartridgePhase.Reacting })
            row.WriteBoolean("mustDiscard", true);
    }

    private static void WriteRange(Utf8JsonWriter row, string name, InstantRange range)
    {
        row.WriteStartArray(name);
        row.WriteStringValue(IsoInstant.Format(range.Earliest));
        row.WriteStringValue(IsoInstant.Format(range.Latest));
        row.WriteEndArray();
    }

    private static void WriteLength(Utf8JsonWriter row, string name, Duration length)
    {
        if (length.BclCompatibleTicks % NodaConstants.TicksPerSecond != 0)
            throw new ArgumentException(
                $"The length {name} of {DurationPattern.Roundtrip.Format(length)} is not of whole seconds.",
                nameof(length));
        row.WriteString(name, IsoDuration.Format(length));
    }
}
