using System.ComponentModel;
using Incubation.Clinic.People;
using Incubation.Model;
using Incubation.Server.Doors;
using Incubation.Service.Benches;
using Incubation.Service.Commands;
using Incubation.Service.Record;
using Incubation.Service.Text;
using Incubation.Service.Worklist;
using Microsoft.AspNetCore.Http.HttpResults;
using static Incubation.Server.Api.ApiProblems;

namespace Incubation.Server.Api;

/// <summary>Orders for the worklist: all are taken or none.</summary>
/// <param name="Orders">What is wanted; at least one, at most 500.</param>
/// <param name="Source">Where they come from; left out, the name of the key.</param>
public sealed record OrdersIn(IReadOnlyList<OrderIn>? Orders, string? Source = null);

/// <summary>Orders that stand in the worklist.</summary>
/// <param name="Orders">Each, for each of its assays.</param>
public sealed record OrdersTaken(IReadOnlyList<OrderTaken> Orders);

/// <summary>Orders, in the order in which they came.</summary>
/// <param name="Orders">These.</param>
/// <param name="Last">To go on, ask after this one; where it is null there are no more.</param>
public sealed record OrdersOut(IReadOnlyList<OrderLine> Orders, long? Last);

/// <summary>The worklist for other programs, and for its page.</summary>
public static class WorklistApi
{
    /// <summary>Adds its addresses.</summary>
    public static void MapWorklistApi(this IEndpointRouteBuilder app)
    {
        var worklist = app.MapGroup("/api/v1/worklist").WithTags("Worklist").RequireRateLimiting(Limits.Usual);
        worklist.MapPost("", Add).WithName("add-orders")
            .WithMetadata(new NeedsAttribute(Right.AddRequests), new LargestBodyAttribute(LargestBodyAttribute.Large))
            .WithSummary("Put orders into the worklist")
            .WithDescription(
                "They wait until a person puts them on a bench; each knows its source and its number there. All are "
                + "taken or none, never refused for stock. The same number of a source with the same content again "
                + "is harmless; with another content it is refused.");
        worklist.MapPost("/read", Read).WithName("read-orders")
            .WithMetadata(new NeedsAttribute(Right.AddRequests), new LargestBodyAttribute(LargestBodyAttribute.Large))
            .WithSummary("Read a pasted list or a file as orders")
            .WithDescription("Comma-separated values (RFC 4180) whose first line names the columns; those of a bench's "
                + "list, and \"order\" and \"comment\". Changes nothing; names each fault by line and column.");
        worklist.MapGet("", List).WithName("orders").WithMetadata(new NeedsAttribute(Right.AddRequests))
            .WithSummary("Orders and what became of them")
            .WithDescription("A key that may add requests and see no specimens gets the orders that it sent itself. "
                + "The value itself is not in it: it is found by bench, batch and request.");
        worklist.MapDelete("/{order:long}", Cancel).WithName("cancel-order")
            .WithMetadata(new NeedsAttribute(Right.AddRequests))
            .WithSummary("Cancel an order that waits")
            .WithDescription("With a reason, which is recorded. A key cancels what it sent itself. Cancelling again is "
                + "harmless; what is on a bench is not cancelled here.");
    }

    private static Results<Created<OrdersTaken>, ValidationProblem, ProblemHttpResult> Add(
        OrdersIn orders, HttpContext context, Actors actors, OrderIntake intake, WriteBudget budget)
    {
        if (actors.Present(context.User) is not { } actor)
            return Problem(StatusCodes.Status401Unauthorized, ServiceWords.SignInFirst);
        if (budget.Take(actor) is { } seconds)
            return Later(context, StatusCodes.Status429TooManyRequests, Say.Of(ScreensWords.TooMuch, seconds), seconds);
        var outcome = intake.Receive(actor, orders.Source, orders.Orders);
        if (outcome.Taken)
            return TypedResults.Created("/api/v1/worklist", new OrdersTaken(outcome.Orders));
        if (outcome.IsNotNow)
            return Later(context, StatusCodes.Status503ServiceUnavailable, outcome.Faults[0].Sentence,
                CommandAnswer.UsualRetrySeconds);
        return NotTaken(outcome.Faults, ApiWords.OrdersNotTaken);
    }

    private static OrderFileReading Read(RackText list, OrderFile reader) => reader.Read(list.Text ?? "");

    private static Results<Ok<OrdersOut>, ProblemHttpResult> List(
        HttpContext context, Actors actors, WorklistService desk, AccessLog looks,
        [Description("Only those that have come so far: \"waiting\", \"on-bench\", \"resulted\", \"given-up\" or "
            + "\"cancelled\".")] string? state = null,
        [Description("Only those from this source.")] string? source = null,
        [Description("Only those of this number.")] string? number = null,
        [Description("Only those of this specimen.")] string? specimen = null,
        [Description("Leave out the orders up to this one.")] long after = 0,
        [Description("At most so many, up to 500.")] int limit = 100)
    {
        OrderState? wanted = state is null ? null : Enum.GetValues<OrderState>()
            .Cast<OrderState?>().FirstOrDefault(one => WorklistService.NameOf(one!.Value) == state);
        if ((state is not null && wanted is null) || after < 0 || limit is < 1 or > OrderQuery.MostAtOnce
            || new[] { source, number, specimen }.Any(one => one is not null && !Bounds.IsIdentifier(one)))
            return Problem(StatusCodes.Status400BadRequest, Say.Of(ApiWords.OrdersRangeFault, OrderQuery.MostAtOnce));
        var actor = actors.Present(context.User);
        if (Access.May(actor, Right.SeeNamed))
            looks.Seen(actor, null, null);
        var found = desk.List(actor, new OrderQuery(wanted, Normal(source), Normal(number), Normal(specimen), after,
            limit));
        return TypedResults.Ok(new OrdersOut(found, found.Count == limit ? found[^1].Order : null));
    }

    private static string? Normal(string? text) => text is null ? null : Bounds.Normal(text);

    private static Results<NoContent, ProblemHttpResult> Cancel(
        [Description("The order's name in the clinic.")] long order, HttpContext context, Actors actors,
        WorklistService desk, WriteBudget budget, [Description("Why.")] string? why = null)
    {
        if (actors.Present(context.User) is not { } actor)
            return Problem(StatusCodes.Status401Unauthorized, ServiceWords.SignInFirst);
        // What somebody may not see is not there for them.
        if (!desk.Knows(actor, order))
            return Problem(StatusCodes.Status404NotFound, Say.Of(ApiWords.OrderUnknown, order));
        if (budget.Take(actor) is { } seconds)
            return Later(context, StatusCodes.Status429TooManyRequests, Say.Of(ScreensWords.TooMuch, seconds), seconds);
        return desk.Cancel(actor, order, why) is { Fault: { } fault }
            ? Problem(StatusCodes.Status400BadRequest, fault) : TypedResults.NoContent();
    }
}
