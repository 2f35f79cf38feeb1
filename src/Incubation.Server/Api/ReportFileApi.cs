using System.Text;
using Incubation.Clinic.People;
using Incubation.Server.Doors;
using Incubation.Service.Bundles;
using Incubation.Service.Clock;
using Incubation.Service.Record;
using Incubation.Records.Export;
using Incubation.Service.Reports;
using Incubation.Service.StepTimes;

namespace Incubation.Server.Api;

/// <summary>The tables behind the reports as files.</summary>
internal static class ReportFileApi
{
    /// <summary>Adds the address from which the reports' page saves them.</summary>
    public static void MapReportFiles(this IEndpointRouteBuilder app)
    {
        app.MapGet("/reports/{table}.csv",
            (HttpContext context, ReportService desk, Actors actors, AccessLog looks, string table, string? from,
                string? to, string? bench, string? assay, string? day) =>
            {
                var actor = actors.Present(context.User)!;
                var bundle = desk.Make(actor, new ReportSearch(from, to, bench, assay, day));
                if (bundle.Sections.Any(section => section.Name == table)
                    && looks.Exported(actor, "reports/" + table + ".csv") is { } refusal)
                    return RecordApi.Refused(context, refusal);
                return bundle.Sections.FirstOrDefault(section => section.Name == table) is { } found
                    ? Results.File(InBytes(found.Table), RecordApi.CsvType,
                        $"{found.Name}-{bundle.Search.From}-{bundle.Search.To}.csv")
                    : Results.Problem(statusCode: StatusCodes.Status404NotFound, detail: bundle.Nothing
                        ?? ApiWords.NoSuchTable);
            })
            .RequireRateLimiting(Limits.Usual).WithMetadata(new NeedsAttribute(Right.SeeReports))
            .ExcludeFromDescription();
        app.MapGet("/record/{bench}/{batch:int}/bundle.zip",
            (HttpContext context, BundleService desk, BenchClock clock, Actors actors, AccessLog looks, string bench,
                int batch, string? request) =>
            {
                var actor = actors.Present(context.User)!;
                if (desk.Files(actor, bench, batch, request) is not { } files)
                    return Results.Problem(statusCode: StatusCodes.Status404NotFound,
                        detail: ApiWords.NoSuchCartridge);
                // What is taken out is recorded before it goes (45 CFR 164.312(b)).
                return looks.Exported(actor, $"bundle {bench}/{batch}/{request}") is { } refusal
                    ? RecordApi.Refused(context, refusal)
                    : Results.File(BundleService.Zip(files, clock.Now), "application/zip",
                        $"bundle-{bench}-{batch}-{request}.zip");
            })
            .RequireRateLimiting(Limits.Usual).WithMetadata(new NeedsAttribute(Right.SeeReports))
            .ExcludeFromDescription();
        app.MapGet("/step-times.csv", (HttpContext context, StepTimeService desk, Actors actors, string? bench) =>
                Results.File(
                    InBytes(desk.Make(actors.Present(context.User), bench, null).Overview), RecordApi.CsvType,
                    "step-times.csv"))
            .RequireRateLimiting(Limits.Usual).WithMetadata(new NeedsAttribute(Right.SeeReports))
            .ExcludeFromDescription();
    }

    /// <summary>A table as a file that a spreadsheet reads in the right letters.</summary>
    private static byte[] InBytes(ReportTable table) =>
        Encoding.UTF8.GetBytes(Csv.Mark + string.Concat(table.Lines()));
}
