using System.ComponentModel;
using Incubation.Clinic.People;
using Incubation.Model;
using Incubation.Server.Doors;
using Incubation.Service.Benches;
using Incubation.Service.Commands;
using Incubation.Service.Rack;
using Incubation.Service.Screens;
using Incubation.Service.Text;
using Microsoft.AspNetCore.Http.HttpResults;
using static Incubation.Server.Api.ApiProblems;

namespace Incubation.Server.Api;

/// <summary>A list of tubes.</summary>
/// <param name="Lines">The tubes, the one scanned first first.</param>
/// <param name="Report">Names the list where it is to be added, so that sending it again is harmless.</param>
public sealed record RackIn(IReadOnlyList<RackLine>? Lines, string? Report = null);

/// <summary>A pasted list, or the text of a file.</summary>
/// <param name="Text">The text.</param>
public sealed record RackText(string? Text);

/// <summary>What is asked about a list, or that it stands on the bench.</summary>
/// <param name="Added">Whether all of it is on the bench.</param>
/// <param name="Sentence">What is wrong with the whole; or null.</param>
/// <param name="Doubts">What is asked about its lines.</param>
/// <param name="Orders">What waits in the worklist for its specimens; null where that was not asked.</param>
/// <param name="Requests">The requests that were added; null where none were, or all were there before.</param>
public sealed record RackAnswer(bool Added, string? Sentence, IReadOnlyList<RackDoubt> Doubts,
    IReadOnlyList<RackOrder>? Orders = null, IReadOnlyList<string>? Requests = null);

/// <summary>The rack intake of a bench, for its page.</summary>
public static class RackApi
{
    private const string Address = "/benches/{bench}/rack";

    /// <summary>Adds its addresses.</summary>
    public static void MapRackApi(this IEndpointRouteBuilder app)
    {
        var rack = app.MapGroup("/api/v1").WithTags("Benches").RequireRateLimiting(Limits.Usual);
        rack.MapGet(Address, Sheet).WithName("rack").WithMetadata(new NeedsAttribute(Right.AddRequests))
            .WithSummary("What a rack intake is made with")
            .WithDescription("Assays with the lots that can be used, the one that expires first first.");
        rack.MapPost(Address + "/check", Check).WithName("check-rack")
            .WithMetadata(new NeedsAttribute(Right.AddRequests), new LargestBodyAttribute(LargestBodyAttribute.Large))
            .WithSummary("What is doubtful about a list of tubes")
            .WithDescription("Changes nothing. Names each doubt by its line; what was settled is not asked again. "
                + "Says what waits in the worklist for each line's specimen.");
        rack.MapPost(Address + "/read", Read).WithName("read-rack")
            .WithMetadata(new NeedsAttribute(Right.AddRequests), new LargestBodyAttribute(LargestBodyAttribute.Large))
            .WithSummary("Read a pasted list or a file")
            .WithDescription("Numbers, one a line, or comma-separated values (RFC 4180) whose first line names the "
                + "columns. Changes nothing; names each fault by line and column.");
        rack.MapPost(Address, Add).WithName("add-rack")
            .WithMetadata(new NeedsAttribute(Right.AddRequests), new LargestBodyAttribute(LargestBodyAttribute.Large))
            .WithSummary("Put a list of tubes on a bench")
            .WithDescription("All of them or none. Where something is doubtful nothing is added and it is asked; "
                + "sending the same report again is harmless.");
    }

    private static Results<Ok<RackSheet>, ProblemHttpResult> Sheet(
        [Description("Id of the bench.")] string bench, RackService desk, BenchService benches) =>
        benches.Knows(bench) ? TypedResults.Ok(desk.Sheet()) : NoBench(bench);

    private static Results<Ok<RackAnswer>, ProblemHttpResult> Check(
        [Description("Id of the bench.")] string bench, RackIn list, HttpContext context, Actors actors,
        RackService desk, BenchService benches) =>
        !benches.Knows(bench) ? NoBench(bench)
        // What is doubtful names specimens of others.
        : !Access.May(actors.Present(context.User), Right.SeeNamed, bench)
            ? Problem(StatusCodes.Status403Forbidden, ServiceWords.NotAllowed)
        : list.Lines is { Count: > BenchDay.MaximumRequests } ? TooMany()
        : TypedResults.Ok(new RackAnswer(false, null, desk.Check(list.Lines ?? []), desk.Orders(list.Lines ?? [])));

    private static Results<Ok<RackReading>, ProblemHttpResult> Read(
        [Description("Id of the bench.")] string bench, RackText list, RackReader reader, BenchRegistry benches) =>
        benches.Find(bench) is { } runner
            ? TypedResults.Ok(reader.Read(list.Text ?? "", bench, runner.Present.State.Batch)) : NoBench(bench);

    private static async Task<Results<Ok<RackAnswer>, ProblemHttpResult>> Add(
        [Description("Id of the bench.")] string bench, RackIn list, HttpContext context, Actors actors,
        RackService desk, BenchService benches, WriteBudget budget)
    {
        if (!benches.Knows(bench))
            return NoBench(bench);
        if (list.Lines is { Count: > BenchDay.MaximumRequests })
            return TooMany();
        if (actors.Present(context.User) is not { } actor)
            return Problem(StatusCodes.Status401Unauthorized, ServiceWords.SignInFirst);
        if (!Access.May(actor, Right.SeeNamed, bench))
            return Problem(StatusCodes.Status403Forbidden, ServiceWords.NotAllowed);
        if (!Bounds.IsIdentifier(list.Report))
            return Problem(StatusCodes.Status400BadRequest, CommandsWords.CommandUnnamed);
        if (budget.Take(actor) is { } seconds)
            return Later(context, StatusCodes.Status429TooManyRequests, Say.Of(ScreensWords.TooMuch, seconds), seconds);
        var report = new ReportId(Bounds.Normal(list.Report!));
        var (outcome, doubts) = await desk.AddAsync(bench, list.Lines, report, actor);
        return outcome.IsNotNow
            ? Later(context, StatusCodes.Status503ServiceUnavailable, outcome.Faults[0].Sentence,
                CommandAnswer.UsualRetrySeconds)
            : TypedResults.Ok(new RackAnswer(outcome.Taken,
                outcome.Taken || doubts.Count > 0 ? null : outcome.Faults[0].Sentence, doubts,
                Requests: outcome.Ids is { Count: > 0 } ids ? ids : null));
    }

    private static ProblemHttpResult TooMany() => Problem(StatusCodes.Status400BadRequest,
        Say.Of(ServiceWords.RefusedTooManyRequests, BenchDay.MaximumRequests));
}
