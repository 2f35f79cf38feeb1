using System.Text.Json;
using Incubation.Service.Text;
using Microsoft.AspNetCore.Diagnostics;

namespace Incubation.Server.Doors;

/// <summary>What programs are told when something cannot be read or done.</summary>
internal sealed class ApiFaults : IExceptionHandler
{
    /// <inheritdoc/>
    public async ValueTask<bool> TryHandleAsync(HttpContext httpContext, Exception exception,
        CancellationToken cancellationToken)
    {
        // The request's own path: by now it has been led to the page for people.
        if (!IsForPrograms(httpContext.Features.Get<IExceptionHandlerPathFeature>()?.Path))
            return false;
        var (status, sentence) = exception switch
        {
            BadHttpRequestException { StatusCode: StatusCodes.Status413PayloadTooLarge } =>
                (StatusCodes.Status413PayloadTooLarge, DoorWords.BodyTooLarge),
            BadHttpRequestException { InnerException: JsonException { Path: { } path } } bad =>
                (bad.StatusCode, Say.Of(DoorWords.BodyUnreadableAt, path)),
            BadHttpRequestException bad => (bad.StatusCode, DoorWords.BodyUnreadable),
            _ => (StatusCodes.Status500InternalServerError, DoorWords.ApiFailed),
        };
        await Results.Problem(statusCode: status, detail: sentence).ExecuteAsync(httpContext);
        return true;
    }

    /// <summary>Answers an address of the API that does not exist.</summary>
    public static IResult NothingHere() =>
        Results.Problem(statusCode: StatusCodes.Status404NotFound, detail: DoorWords.ApiNotFound);

    /// <summary>Whether an address is asked by programs, not by people.</summary>
    public static bool IsForPrograms(PathString path) =>
        path.StartsWithSegments("/api", StringComparison.OrdinalIgnoreCase)
        || path.StartsWithSegments("/hub", StringComparison.OrdinalIgnoreCase)
        || path.StartsWithSegments("/openapi", StringComparison.OrdinalIgnoreCase)
        || path.StartsWithSegments("/_blazor", StringComparison.OrdinalIgnoreCase);
}
