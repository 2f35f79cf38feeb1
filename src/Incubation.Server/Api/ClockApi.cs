using Incubation.Clinic.People;
using Incubation.Server.Doors;
using Incubation.Service.Clock;
using Incubation.Service.Hosting;
using Microsoft.AspNetCore.Http.HttpResults;
using NodaTime;

namespace Incubation.Server.Api;

/// <summary>Whether the server's time is agreed.</summary>
/// <param name="Agreed">Whether nothing speaks against it; else verdicts are held.</param>
/// <param name="ServerTime">The server's time.</param>
/// <param name="MachineTime">What the machine's own clock shows.</param>
/// <param name="Faults">A sentence for each thing that it disagrees with.</param>
public sealed record ClockAnswer(bool Agreed, Instant ServerTime, Instant MachineTime, IReadOnlyList<string> Faults);

/// <summary>A person's confirmation of the time.</summary>
/// <param name="Device">What the tablet or program calls itself; in the log stands what the server knows it as.</param>
/// <param name="Machine">Whether the machine's time is right; else the server's is.</param>
public sealed record ClockConfirmation(string? Device = null, bool Machine = false);

/// <summary>The HTTP API of the server's clock.</summary>
public static class ClockApi
{
    /// <summary>Adds the clock's addresses.</summary>
    public static void MapClockApi(this IEndpointRouteBuilder app)
    {
        var api = app.MapGroup("/api/v1/clock").WithTags("Clock").RequireRateLimiting(Limits.Usual);
        api.MapGet("", Get).WithName("clock").WithMetadata(new NeedsAttribute(Right.Look))
            .WithSummary("Whether the time is agreed")
            .WithDescription("The server's time against the log, the tablets and the machine.");
        api.MapPost("/confirm", Confirm).WithName("confirm-clock").WithMetadata(
                new NeedsAttribute(Right.ConfirmTime), new LargestBodyAttribute(LargestBodyAttribute.Small))
            .WithSummary("Confirm the time")
            .WithDescription("A person says that the time is right; verdicts are given again from here.");
    }

    private static ClockAnswer Get(ClockService desk, ClockGuard guard, BenchClock clock) =>
        new(guard.Doubt is null, clock.Now, desk.MachineTime, [.. guard.Faults.Select(fault => fault.Sentence)]);

    private static Results<Ok<ClockAnswer>, ProblemHttpResult> Confirm(ClockConfirmation confirmation,
        HttpContext context, Actors actors, ClockService desk, ClockGuard guard, BenchClock clock)
    {
        if (actors.Present(context.User) is not { } actor)
            return TypedResults.Problem(statusCode: StatusCodes.Status401Unauthorized,
                detail: ServiceWords.SignInFirst);
        if (confirmation.Machine && !Access.May(actor, Right.Supervise))
            return TypedResults.Problem(statusCode: StatusCodes.Status403Forbidden, detail: ServiceWords.NotAllowed);
        return desk.Confirm(actor.InLog, actor.Device, confirmation.Machine) is { } sentence
            ? TypedResults.Problem(statusCode: StatusCodes.Status409Conflict, detail: sentence)
            : TypedResults.Ok(Get(desk, guard, clock));
    }
}
