using System.ComponentModel;
using System.Globalization;
using Incubation.Clinic.People;
using Incubation.Model;
using Incubation.Records;
using Incubation.Records.Log;
using Incubation.Server.Doors;
using Incubation.Service.Benches;
using Incubation.Service.Clinic;
using Incubation.Service.Clock;
using Incubation.Service.Commands;
using Incubation.Service.People;
using Incubation.Service.Record;
using Incubation.Service.Requests;
using Incubation.Service.Screens;
using Incubation.Service.Snapshots;
using Incubation.Service.Text;
using Incubation.Service.Waiting;
using Microsoft.AspNetCore.Http.HttpResults;
using NodaTime;
using static Incubation.Server.Api.ApiProblems;

namespace Incubation.Server.Api;

/// <summary>The server's time.</summary>
/// <param name="ServerTime">Now.</param>
/// <param name="Rate">Seconds of the server's time in one real second; 1 but in a demo.</param>
/// <param name="Zone">IANA name of the clinic's time zone.</param>
public sealed record TimeAnswer(Instant ServerTime, double Rate, string Zone);

/// <summary>What a screen's own clock shows.</summary>
/// <param name="Shows">In milliseconds since 1970.</param>
public sealed record TimeShown(long Shows);

/// <summary>Requests for a bench: all are taken or none.</summary>
/// <param name="Requests">What is wanted; at least one.</param>
/// <param name="Report">Names this intake, so that sending it again is harmless; may be left out.</param>
/// <param name="Device">What the program calls itself; what stands in the log is what the server knows it as. May be
/// left out.</param>
public sealed record RequestsIn(IReadOnlyList<WantedRequest>? Requests, string? Report = null, string? Device = null);

/// <summary>Requests that were taken.</summary>
/// <param name="Ids">Their ids, in the order in which they came.</param>
/// <param name="Revision">The bench's revision after it.</param>
public sealed record RequestsTaken(IReadOnlyList<string> Ids, long Revision);

/// <summary>The HTTP API of the benches.</summary>
public static class BenchApi
{
    /// <summary>Most events in one answer.</summary>
    public const int MaxEvents = 500;

    private const int UsualEvents = 100;

    /// <summary>The year 2200: later clocks are nonsense.</summary>
    private const long MaxMilliseconds = 7_258_118_400_000;

    /// <summary>Adds the API's addresses.</summary>
    public static void MapBenchApi(this IEndpointRouteBuilder app)
    {
        var api = app.MapGroup("/api/v1").WithTags("Benches").RequireRateLimiting(Limits.Usual);
        api.MapGet("/time", Time).WithName("time").WithMetadata(new NeedsAttribute(Right.Look))
            .WithSummary("The server's time").WithDescription("By which screens set their countdowns.");
        api.MapPost("/time", CompareTime).WithName("compare-time")
            .WithMetadata(new NeedsAttribute(Right.Look), new LargestBodyAttribute(LargestBodyAttribute.Small))
            .WithSummary("The server's time, beside a tablet's own")
            .WithDescription("An enrolled tablet's clock is compared with the server's once after each start.");
        api.MapGet("/benches", Benches).WithName("benches").WithMetadata(new NeedsAttribute(Right.Look))
            .WithSummary("All benches").WithDescription("Each with where its batch stands.");
        api.MapGet("/benches/{bench}", Bench).WithName("bench").WithMetadata(new NeedsAttribute(Right.Look))
            .WithSummary("A bench's snapshot")
            .WithDescription(
                "What screens show: absolute instants, the server's time and its rate, words, and the lanes as SVG. "
                + "Without the right to see the bench's specimens, and in the layout \"wall\", it names none.");
        api.MapGet("/day", Day).WithName("day").WithMetadata(new NeedsAttribute(Right.Look))
            .WithSummary("The clinic's day so far").WithDescription(
                "All benches together, from midnight in the clinic's time zone: numbers alone, no specimens and no "
                + "names. Time to result runs from when a patient's "
                + "specimen could be worked on until its cartridge was read and taken out; percentiles by linear "
                + "interpolation (Hyndman and Fan, type 7).");
        api.MapGet("/waiting", Waiting).WithName("waiting").WithMetadata(new NeedsAttribute(Right.SeeNamed))
            .WithSummary("Who still waits for what")
            .WithDescription("Every request without a value of the benches that the caller may see: since when, what "
                + "for, how far it has come and what becomes of it; and those that ended without a value in the last "
                + "30 days.");
        api.MapPost("/benches/{bench}/commands", Send).WithName("send")
            .WithMetadata(new NeedsAttribute(Right.Report), new LargestBodyAttribute(LargestBodyAttribute.Small))
            .WithSummary("Say something to a bench").WithDescription(
                "A report of what has happened, or an instruction; the same as over the hub. The answer says whether "
                + "it stands in the log (kind \"recorded\"), or with which sentence it was refused for good "
                + "(\"refused\"). Whatever passes is \"not-now\", with status 503, 429 or 403 and Retry-After where "
                + "waiting helps: send it again. Sending the same id again is harmless. A probe posts what "
                + "it measures in the incubator as "
                + "kind \"temperature\" with celsius. What was done while nobody reported goes as one kind "
                + "\"several\": all of it is recorded, or nothing and the sentence says why, and one plan is made.")
            .Produces<CommandAnswer>(StatusCodes.Status403Forbidden)
            .Produces<CommandAnswer>(StatusCodes.Status429TooManyRequests)
            .Produces<CommandAnswer>(StatusCodes.Status503ServiceUnavailable);
        api.MapPost("/benches/{bench}/requests", AddRequests).WithName("add-requests")
            .WithMetadata(new NeedsAttribute(Right.AddRequests),
                new LargestBodyAttribute(LargestBodyAttribute.Large))
            .WithSummary("Put requests on a bench")
            .WithDescription("One or many; all are taken or none. Faults come back by member.");
        api.MapGet("/benches/{bench}/events", Events).WithName("events")
            .WithMetadata(new NeedsAttribute(Right.ReadEvents))
            .WithSummary("A bench's events")
            .WithDescription(
                "The verified log in order: headers with their hashes, and payloads exactly as hashed. To go on, ask "
                + "after the last sequence.");
    }

    private static TimeAnswer Time(BenchClock clock, ClinicHost clinic) =>
        new(clock.Now, clock.Rate, clinic.Facts.Zone.Id);

    private static TimeAnswer CompareTime(TimeShown shown, HttpContext context, Actors actors, BenchClock clock,
        ClinicHost clinic, ClockGuard guard)
    {
        // A stranger's clock says nothing about the server's: only an enrolled tablet's is looked at.
        if (actors.Present(context.User) is { IsOnTablet: true } tablet && shown.Shows is > 0 and < MaxMilliseconds)
            guard.CompareWithTablet(tablet.Device.Value, Instant.FromUnixTimeMilliseconds(shown.Shows));
        return Time(clock, clinic);
    }

    private static IReadOnlyList<BenchSummary> Benches(HttpContext context, Actors actors, BenchService desk) =>
        desk.Summaries(actors.Present(context.User));

    private static Results<Ok<BenchSnapshot>, ProblemHttpResult> Bench(
        [Description("Id of the bench.")] string bench,
        HttpContext context, Actors actors, BenchService desk,
        [Description("The lanes' layout: \"wide\" (usual), \"portrait\", \"narrow\" or \"wall\".")] string layout =
            "wide")
    {
        if (!ScreenLayouts.TryRead(layout, out var shape))
            return Problem(StatusCodes.Status400BadRequest, Words.LayoutUnknown);
        return desk.Snapshot(actors.Present(context.User), bench, shape) is { } snapshot
            ? TypedResults.Ok(snapshot) : NoBench(bench);
    }

    private static DaySnapshot Day(DayProjection day) => day.Present();

    private static WaitingList Waiting(HttpContext context, Actors actors, WaitingService desk, AccessLog looks)
    {
        var actor = actors.Present(context.User);
        looks.Seen(actor, null, null);
        return desk.List(actor, desk.Closed(actor));
    }

    private static async Task<Results<Ok<CommandAnswer>, JsonHttpResult<CommandAnswer>, ProblemHttpResult>> Send(
        [Description("Id of the bench.")] string bench, ScreenCommand command, HttpContext context, Actors actors,
            Sessions sessions, BenchService desk)
    {
        if (!desk.Knows(bench))
            return NoBench(bench);
        var actor = actors.Present(context.User);
        if (actor is Actor.Person person)
            sessions.Touched(person.Session.Id);
        var answer = await desk.SendAsync(actor, bench, command);
        if (answer.Kind != AnswerKinds.NotNow)
            return TypedResults.Ok(answer);
        if (answer.RetryAfter is { } seconds)
            context.Response.Headers.RetryAfter = seconds.ToString(CultureInfo.InvariantCulture);
        return TypedResults.Json(answer, statusCode: answer.SignIn ? StatusCodes.Status403Forbidden
            : answer.IsTooMuch ? StatusCodes.Status429TooManyRequests : StatusCodes.Status503ServiceUnavailable);
    }

    private static async Task<Results<Created<RequestsTaken>, ValidationProblem, ProblemHttpResult>> AddRequests(
        [Description("Id of the bench.")] string bench, RequestsIn requests, HttpContext context, Actors actors,
            Intake intake, BenchRegistry benches, WriteBudget budget)
    {
        if (benches.Find(bench) is not { } runner)
            return NoBench(bench);
        if (requests.Report is not null && !Bounds.IsIdentifier(requests.Report))
            return Problem(StatusCodes.Status400BadRequest, CommandsWords.CommandUnnamed);
        if (actors.Present(context.User) is not { } actor)
            return Problem(StatusCodes.Status401Unauthorized, ServiceWords.SignInFirst);
        if (budget.Take(actor) is { } seconds)
            return Later(context, StatusCodes.Status429TooManyRequests, Say.Of(ScreensWords.TooMuch, seconds), seconds);
        var report = requests.Report is { } named ? new ReportId(Bounds.Normal(named)) : (ReportId?)null;
        var outcome = await intake.AddAsync(bench, requests.Requests, report, actor.InLog, actor.Device);
        if (outcome.Taken)
            return TypedResults.Created($"/api/v1/benches/{Uri.EscapeDataString(bench)}",
                new RequestsTaken(outcome.Ids, runner.Present.State.Revision));
        if (outcome.IsNotNow)
            return Later(context, StatusCodes.Status503ServiceUnavailable, outcome.Faults[0].Sentence,
                CommandAnswer.UsualRetrySeconds);
        return NotTaken(outcome.Faults, ApiWords.IntakeNotTaken);
    }

    private static Results<Ok<EventsOut>, ProblemHttpResult> Events(
        [Description("Id of the bench.")] string bench,
        HttpContext context,
        Actors actors,
        AccessLog looks,
        BenchService desk,
        DataFile file,
        [Description("Leave out the events up to this sequence.")] long after = 0,
        [Description("At most so many, up to 500.")] int limit = UsualEvents)
    {
        if (!desk.Knows(bench))
            return NoBench(bench);
        if (after < 0 || limit is < 1 or > MaxEvents)
            return Problem(StatusCodes.Status400BadRequest, Say.Of(ApiWords.EventsRangeFault, MaxEvents));
        looks.Seen(actors.Present(context.User), new BenchId(bench), null);
        var stream = StreamName.OfBench(new BenchId(bench));
        if (after > file.Log.Head(stream).Sequence)
            return TypedResults.Ok(new EventsOut(bench, after, []));
        var rows = file.Log.ReadAll(stream, after).Take(limit).Select(EventOut.Of).ToList();
        return TypedResults.Ok(new EventsOut(bench, rows.Count > 0 ? rows[^1].Sequence : after, rows));
    }
}
