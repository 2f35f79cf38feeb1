using System.Text.Json;
using Incubation.Server.Live;
using Microsoft.AspNetCore.Diagnostics;

namespace Incubation.Server.Api;

/// <summary>What programs are told when something cannot be read or done.</summary>
internal static class ApiFaults
{
    /// <summary>Answers a fault: the caller's own by its sentence, the server's without a trace.</summary>
    public static Task AnswerAsync(HttpContext context)
    {
        var fault = context.Features.Get<IExceptionHandlerFeature>()?.Error;
        var (status, sentence) = fault switch
        {
            BadHttpRequestException { StatusCode: StatusCodes.Status413PayloadTooLarge } => (StatusCodes.Status413PayloadTooLarge, Words.BodyTooLarge),
            BadHttpRequestException { InnerException: JsonException { Path: { } path } } bad => (bad.StatusCode, Say.Of(Words.BodyUnreadableAt, path)),
            BadHttpRequestException bad => (bad.StatusCode, Words.BodyUnreadable),
            _ => (StatusCodes.Status500InternalServerError, Words.ApiFailed),
        };
        return Results.Problem(statusCode: status, detail: sentence).ExecuteAsync(context);
    }

    /// <summary>Answers an address of the API that does not exist.</summary>
    public static IResult NothingHere() => Results.Problem(statusCode: StatusCodes.Status404NotFound, detail: Words.ApiNotFound);
}
