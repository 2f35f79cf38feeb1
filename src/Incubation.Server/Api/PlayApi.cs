using System.ComponentModel;
using Incubation.Clinic.People;
using Incubation.Model;
using Incubation.Server.Doors;
using Incubation.Service.Playback;
using Incubation.Service.Record;
using Incubation.Service.Snapshots;
using Incubation.Service.Text;
using Microsoft.AspNetCore.Http.HttpResults;

namespace Incubation.Server.Api;

/// <summary>Batches moment by moment, to be played again.</summary>
public static class PlayApi
{
    /// <summary>Adds the addresses.</summary>
    public static void MapPlayApi(this IEndpointRouteBuilder app)
    {
        var api = app.MapGroup("/api/v1/benches/{bench}/batches/{batch:int}/moments").WithTags("Record")
            .RequireRateLimiting(Limits.Usual).WithMetadata(new NeedsAttribute(Right.SeeRecord));
        api.MapGet("", Moments).WithName("moments").WithSummary("What was recorded of a batch")
            .WithDescription("Every row in order, with its instant and in words.");
        api.MapGet("/{index:int}", Show).WithName("moment").WithSummary("A bench after a moment")
            .WithDescription("What its screens showed when this row had been recorded.");
    }

    private static Results<Ok<BatchMoments>, ProblemHttpResult> Moments(
        [Description("Id of the bench.")] string bench, [Description("Number of the batch.")] int batch,
            HttpContext context, Actors actors, AccessLog looks, PlaybackService book)
    {
        if (!TextId.IsValid(bench) || book.Moments(new BenchId(bench), batch) is not { } moments)
            return NoBatch(bench, batch);
        looks.Seen(actors.Present(context.User), new BenchId(bench), batch);
        return TypedResults.Ok(moments);
    }

    private static Results<Ok<BenchSnapshot>, ProblemHttpResult> Show(
        [Description("Id of the bench.")] string bench, [Description("Number of the batch.")] int batch,
            [Description("The moment's place in the batch, from 0.")] int index, HttpContext context,
            Actors actors, AccessLog looks, PlaybackService book)
    {
        if (!TextId.IsValid(bench) || book.Show(new BenchId(bench), batch, index) is not { } snapshot)
            return NoBatch(bench, batch);
        looks.Seen(actors.Present(context.User), new BenchId(bench), batch);
        return TypedResults.Ok(snapshot);
    }

    private static ProblemHttpResult NoBatch(string bench, int batch) =>
        TypedResults.Problem(Say.Of(ApiWords.NoSuchMoment, bench, batch), statusCode: StatusCodes.Status404NotFound);
}
