using System.Diagnostics;
using System.Text.Json;
using Incubation.Service.Text;
using Microsoft.AspNetCore.Diagnostics;

namespace Incubation.Server.Doors;

/// <summary>What programs are told when something cannot be read or done.</summary>
internal sealed partial class ApiFaults(ILogger<ApiFaults> logger) : IExceptionHandler
{
    /// <summary>A place in a body is told so far: its members' names are the sender's.</summary>
    private const int LongestPath = 100;

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
                (bad.StatusCode, Say.Of(DoorWords.BodyUnreadableAt, path.Length <= LongestPath
                    ? path : path[..LongestPath] + "…")),
            BadHttpRequestException bad => (bad.StatusCode, DoorWords.BodyUnreadable),
            _ => (StatusCodes.Status500InternalServerError, DoorWords.ApiFailed),
        };
        var trace = Activity.Current?.TraceId.ToHexString() ?? httpContext.TraceIdentifier;
        if (status == StatusCodes.Status500InternalServerError)
            Failed(exception, httpContext.Request.Method, PatternOf(httpContext), trace);
        await Results.Problem(statusCode: status, detail: sentence,
            extensions: new Dictionary<string, object?> { ["traceId"] = trace }).ExecuteAsync(httpContext);
        return true;
    }

    /// <summary>The address as the server knows it, without what was asked for.</summary>
    public static string PatternOf(HttpContext context)
    {
        ArgumentNullException.ThrowIfNull(context);
        // A request that was led to the page for faults keeps where it came from beside it.
        var endpoint = context.Features.Get<IExceptionHandlerPathFeature>()?.Endpoint ?? context.GetEndpoint();
        return (endpoint as RouteEndpoint)?.RoutePattern.RawText ?? "an address that there is not";
    }

    [LoggerMessage(LogLevel.Error, "{Method} {Address} failed; trace {Trace}.")]
    private partial void Failed(Exception fault, string method, string address, string trace);

    /// <summary>Answers an address of the API that does not exist.</summary>
    public static IResult NothingHere() =>
        Results.Problem(statusCode: StatusCodes.Status404NotFound, detail: DoorWords.ApiNotFound);

    /// <summary>
    /// Answers with a problem where something was refused without a word, and no page can be shown: to programs, and to
    /// whatever was posted.
    /// </summary>
    public static void UseProblems(IApplicationBuilder app) => app.Use(async (context, next) =>
    {
        await next(context);
        var (request, response) = (context.Request, context.Response);
        var isWordless = !response.HasStarted && response.ContentLength is null
            && string.IsNullOrEmpty(response.ContentType);
        if (response.StatusCode >= StatusCodes.Status400BadRequest && isWordless
            && (IsForPrograms(request.Path) || !HttpMethods.IsGet(request.Method)))
            await Results.Problem(statusCode: response.StatusCode,
                detail: response.StatusCode == StatusCodes.Status413PayloadTooLarge ? DoorWords.BodyTooLarge : null)
                .ExecuteAsync(context);
    });

    /// <summary>Whether an address is a line that stays open.</summary>
    public static bool IsLine(PathString path) =>
        path.StartsWithSegments("/hub", StringComparison.OrdinalIgnoreCase)
        || path.StartsWithSegments("/_blazor", StringComparison.OrdinalIgnoreCase);

    /// <summary>Whether an address is asked by programs, not by people.</summary>
    public static bool IsForPrograms(PathString path) =>
        path.StartsWithSegments("/api", StringComparison.OrdinalIgnoreCase)
        || path.StartsWithSegments("/openapi", StringComparison.OrdinalIgnoreCase)
        || IsLine(path);
}
