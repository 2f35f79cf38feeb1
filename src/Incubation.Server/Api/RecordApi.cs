using System.Globalization;
using System.Text;
using Incubation.Clinic.People;
using Incubation.Records;
using Incubation.Records.Batches;
using Incubation.Records.Export;
using Incubation.Server.Doors;
using Incubation.Service.Clinic;
using Incubation.Service.Clock;
using Incubation.Service.Record;

namespace Incubation.Server.Api;

/// <summary>The whole record for other programs.</summary>
public static class RecordApi
{
    /// <summary>Tables as RFC 4180 has them, with a line of names.</summary>
    internal const string CsvType = "text/csv; charset=utf-8; header=present";

    /// <summary>So many characters are sent at a time.</summary>
    private const int ChunkCharacters = 64 * 1024;

    /// <summary>Adds the record's addresses.</summary>
    public static void MapRecordApi(this IEndpointRouteBuilder app)
    {
        var api = app.MapGroup("/api/v1/record").WithTags("Record").RequireRateLimiting(Limits.Usual)
            .WithMetadata(new NeedsAttribute(Right.ReadEvents));
        api.MapGet("/cartridges.csv",
            (HttpContext context, DataFile file, CartridgeProjection book, ClinicHost clinic, Exporter exporter) =>
                exporter.SendAsync(context, "cartridges.csv", CsvType, RecordExport.Lines(file, book,
                    clinic.Log.Controls, ExportForm.Csv, clinic.Facts.Zone)))
            .WithName("export-cartridges").WithSummary("Every cartridge on record")
            .WithDescription(
                "Comma-separated values (RFC 4180), a line for each cartridge; times in the clinic's zone with their "
                + "offset.")
            .Produces<string>(contentType: "text/csv");
        api.MapGet("/amendments.csv",
            (HttpContext context, DataFile file, CartridgeProjection book, ClinicHost clinic, Exporter exporter) =>
                exporter.SendAsync(context, "amendments.csv", CsvType, RecordExport.Lines(file, book,
                    clinic.Log.Controls, ExportForm.Amendments, clinic.Facts.Zone)))
            .WithName("export-amendments").WithSummary("Every amendment and telling of a result")
            .WithDescription(
                "Comma-separated values (RFC 4180), a line for each amendment of a result, made, declined or waiting, "
                + "and for each telling; times in the clinic's zone with their offset.")
            .Produces<string>(contentType: "text/csv");
        api.MapGet("/happenings.csv",
            (HttpContext context, DataFile file, CartridgeProjection book, ClinicHost clinic, Exporter exporter) =>
                exporter.SendAsync(context, "happenings.csv", CsvType, HappeningCsv.Lines(file, book,
                    clinic.Facts.Zone, batch => HappeningText.Of(batch, clinic.Facts.Zone, clinic.Log.People))))
            .WithName("export-happenings").WithSummary("What else happened in batches")
            .WithDescription(
                "Comma-separated values (RFC 4180), a line for whatever is no step and no plan: alarms, times out of "
                + "use, corrections, decisions; times in the clinic's zone with their offset.")
            .Produces<string>(contentType: "text/csv");
        api.MapGet("/events.jsonl",
            (HttpContext context, DataFile file, CartridgeProjection book, ClinicHost clinic, Exporter exporter) =>
                exporter.SendAsync(context, "events.jsonl", "application/jsonl; charset=utf-8", RecordExport.Lines(
                    file, book, clinic.Log.Controls, ExportForm.Jsonl, clinic.Facts.Zone)))
            .WithName("export-events").WithSummary("Every row of the record")
            .WithDescription(
                "A JSON object a line, with the hashes by which whoever holds them can verify them; a payload that was "
                + "erased after its time is null.")
            .Produces<string>(contentType: "application/jsonl");
    }

    /// <summary>Says why an export does not begin, and when it may be asked for again.</summary>
    internal static IResult Refused(HttpContext context, ExportRefusal refusal)
    {
        if (refusal.RetryAfter is { } seconds)
            context.Response.Headers.RetryAfter = seconds.ToString(CultureInfo.InvariantCulture);
        return Results.Problem(detail: refusal.Sentence, statusCode: refusal.RetryAfter is null
            ? StatusCodes.Status503ServiceUnavailable : StatusCodes.Status429TooManyRequests);
    }

    /// <summary>Sends an export to whoever may have the whole record, and notes who had it.</summary>
    internal sealed class Exporter(BenchClock clock, Actors actors, AccessLog looks)
    {
        /// <summary>Sends lines as a file of that name, with the day.</summary>
        public async Task SendAsync(HttpContext context, string file, string type, IEnumerable<string> lines)
        {
            // The record is the whole clinic's: not for whoever belongs to one bench.
            if (actors.Present(context.User) is not { Bench: null } actor)
            {
                await Results.Problem(statusCode: StatusCodes.Status403Forbidden, detail: ServiceWords.NotAllowed)
                    .ExecuteAsync(context);
                return;
            }

            if (looks.Exported(actor, file) is { } refusal)
            {
                await Refused(context, refusal).ExecuteAsync(context);
                return;
            }

            var day = clock.Now.InUtc().Date.ToString("uuuuMMdd", CultureInfo.InvariantCulture);
            var (name, end) = (Path.GetFileNameWithoutExtension(file), Path.GetExtension(file));
            context.Response.ContentType = type;
            context.Response.Headers.ContentDisposition = $"attachment; filename=\"{name}-{day}{end}\"";
            var chunk = new StringBuilder();
            foreach (var line in lines)
            {
                chunk.Append(line);
                if (chunk.Length < ChunkCharacters)
                    continue;
                await context.Response.WriteAsync(chunk.ToString(), context.RequestAborted);
                chunk.Clear();
            }

            await context.Response.WriteAsync(chunk.ToString(), context.RequestAborted);
        }
    }
}
