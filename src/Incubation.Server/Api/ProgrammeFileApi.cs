using System.Text;
using Incubation.Clinic.People;
using Incubation.Model;
using Incubation.Records.Export;
using Incubation.Server.Doors;
using Incubation.Service.Controls;
using Incubation.Service.Programme;
using Incubation.Service.Record;

namespace Incubation.Server.Api;

/// <summary>The tables of controls and of the control programme as files.</summary>
internal static class ProgrammeFileApi
{
    /// <summary>Adds the addresses from which their pages save them.</summary>
    public static void MapProgrammeFiles(this IEndpointRouteBuilder app)
    {
        Map(app, "/controls.csv", (HttpContext context, ControlFiles desk, Actors actors, AccessLog looks,
            string? assay, string? bench) =>
            File(context, actors, looks, "controls.csv", desk.Judgements(assay, bench)));
        Map(app, "/controls/targets.csv", (HttpContext context, ControlFiles desk, Actors actors, AccessLog looks) =>
            File(context, actors, looks, "controls/targets.csv", desk.Targets()));
        Map(app, "/controls/moving-mean.csv", (HttpContext context, MovingMeanService desk, Actors actors,
            AccessLog looks, string? assay, string? bench) =>
            File(context, actors, looks, "controls/moving-mean.csv", TextId.IsValid(assay) && TextId.IsValid(bench)
                ? desk.File(new AssayCode(assay!), new BenchId(bench!)) : null));
        Map(app, "/comparisons.csv", (HttpContext context, ComparisonService desk, Actors actors, AccessLog looks) =>
            File(context, actors, looks, "comparisons.csv", desk.File()));
        Map(app, "/comparisons/{number:int}.csv", (HttpContext context, ComparisonService desk, Actors actors,
            AccessLog looks, int number) => File(context, actors, looks, $"comparisons/{number}.csv",
                desk.Find(number) is { } one ? desk.File(one) : null));
        Map(app, "/proficiency.csv", (HttpContext context, ProficiencyService desk, Actors actors, AccessLog looks) =>
            File(context, actors, looks, "proficiency.csv", desk.File()));
    }

    internal static void Map(IEndpointRouteBuilder app, string pattern, Delegate handler) =>
        app.MapGet(pattern, handler).RequireRateLimiting(Limits.Usual)
            .WithMetadata(new NeedsAttribute(Right.SeeReports)).ExcludeFromDescription();

    /// <summary>
    /// Lines as a file that a spreadsheet reads in the right letters; not found where there are none.
    /// </summary>
    internal static IResult File(HttpContext context, Actors actors, AccessLog looks, string name,
        IEnumerable<string>? lines) => lines is null
        ? Results.Problem(statusCode: StatusCodes.Status404NotFound, detail: ApiWords.NoSuchTable)
        : looks.Exported(actors.Present(context.User)!, name) is { } refusal ? RecordApi.Refused(context, refusal)
        : Results.File(Encoding.UTF8.GetBytes(Csv.Mark + string.Concat(lines)), RecordApi.CsvType,
            name.Replace('/', '-'));
}
