using Incubation.Clinic.People;
using Incubation.Server.Doors;
using Incubation.Service.People;
using Microsoft.AspNetCore.Http.HttpResults;

namespace Incubation.Server.Api;

/// <summary>A wish to add a passkey.</summary>
/// <param name="Name">The name that the person gives it.</param>
/// <param name="Password">The person's present password.</param>
public sealed record NewPasskeyIn(string? Name, string? Password);

/// <summary>What an authenticator answered.</summary>
/// <param name="Ticket">What it was asked under.</param>
/// <param name="Credential">The answer, as the browser writes it down.</param>
/// <param name="To">The page to go to after a sign-in, or null.</param>
public sealed record PasskeyIn(string? Ticket, string? Credential, string? To = null);

/// <summary>What the page is told.</summary>
/// <param name="Done">Whether it may go on, or is done.</param>
/// <param name="Sentence">Where not: why, and what to do.</param>
/// <param name="Ticket">What the authenticator's answer is handed in with.</param>
/// <param name="Options">What to ask the authenticator: JSON of W3C Web Authentication.</param>
/// <param name="To">The page to go to.</param>
public sealed record PasskeyAnswer(bool Done, string? Sentence = null, string? Ticket = null, string? Options = null,
    string? To = null);

/// <summary>
/// What the pages' own module asks for passkeys. Only this server's pages may: <c>UseOwnPagesOnly</c> sees to that.
/// </summary>
internal static class PasskeyApi
{
    /// <summary>Adds the addresses.</summary>
    public static void MapPasskeyApi(this IEndpointRouteBuilder app)
    {
        var api = app.MapGroup("/api/v1/passkeys").RequireRateLimiting(Limits.SignIn).ExcludeFromDescription();
        api.MapPost("/new/ask", AskForNewAsync).WithMetadata(new NeedsAttribute(Right.OwnAccount));
        api.MapPost("/new", AddAsync).WithMetadata(new NeedsAttribute(Right.OwnAccount));
        api.MapPost("/sign-in/ask", AskAsync).AllowAnonymous();
        api.MapPost("/sign-in", SignInAsync).AllowAnonymous();
    }

    private static async Task<Ok<PasskeyAnswer>> AskForNewAsync(NewPasskeyIn wish, HttpContext context, Actors actors,
        PasskeyService desk, Passkeys passkeys)
    {
        if (actors.Present(context.User) is not Actor.Person own)
            return Refused(ServiceWords.NotAllowed);
        if ((FaultHere(context, desk) ?? (await desk.MayAddAsync(own, wish.Name, wish.Password)).Fault) is { } fault)
            return Refused(fault);
        var (options, ticket) = await passkeys.AskForNewAsync(context, own, wish.Name!);
        return TypedResults.Ok(new PasskeyAnswer(true, Ticket: ticket, Options: options));
    }

    private static async Task<Ok<PasskeyAnswer>> AddAsync(PasskeyIn answer, HttpContext context, Actors actors,
        Passkeys passkeys) =>
        actors.Present(context.User) is Actor.Person own
            && await passkeys.AddAsync(context, own, answer.Ticket, answer.Credential) is var outcome
            ? TypedResults.Ok(new PasskeyAnswer(outcome.IsDone, outcome.Fault)) : Refused(ServiceWords.NotAllowed);

    private static async Task<Ok<PasskeyAnswer>> AskAsync(HttpContext context, PasskeyService desk, Passkeys passkeys)
    {
        if (FaultHere(context, desk) is { } fault)
            return Refused(fault);
        var (options, ticket) = await passkeys.AskForAnyAsync(context);
        return TypedResults.Ok(new PasskeyAnswer(true, Ticket: ticket, Options: options));
    }

    private static async Task<Ok<PasskeyAnswer>> SignInAsync(PasskeyIn answer, HttpContext context, SignInService desk,
        Passkeys passkeys, DeviceService devices, KnownBrowsers browsers, Sessions sessions)
    {
        switch (await desk.PasskeyAsync(answer.Credential,
            credential => passkeys.CheckAsync(context, answer.Ticket, credential),
            SignInCookies.Place(context, devices, browsers)))
        {
            case SignInOutcome.Done done:
                SignInCookies.Give(context, done, sessions, browsers);
                return TypedResults.Ok(new PasskeyAnswer(true, To: OwnPages.Of(answer.To)));
            case SignInOutcome.Refused refused:
                return Refused(refused.Sentence);
            default:
                return Refused(PasskeyWords.Refused);
        }
    }

    private static string? FaultHere(HttpContext context, PasskeyService desk) =>
        desk.FaultAt(context.Request.Scheme, context.Request.Host.Host);

    private static Ok<PasskeyAnswer> Refused(string sentence) => TypedResults.Ok(new PasskeyAnswer(false, sentence));
}
