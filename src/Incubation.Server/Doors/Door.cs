using System.Text.Encodings.Web;
using Incubation.Clinic.People;
using Incubation.Service.People;
using Incubation.Service.Text;
using Microsoft.AspNetCore.Authentication;
using Microsoft.AspNetCore.Authorization;
using Microsoft.AspNetCore.Authorization.Policy;
using Microsoft.Extensions.Options;
using NodaTime;

namespace Incubation.Server.Doors;

/// <summary>
/// Says who a request is from: a program by its key in the header "Authorization: Bearer …", an enrolled device and
/// whoever is signed in on it by the device's cookie, anybody else by the token of their sign-in.
/// </summary>
public sealed class DoorHandler(
    IOptionsMonitor<AuthenticationSchemeOptions> options, ILoggerFactory logger, UrlEncoder encoder,
        DeviceService devices, Sessions sessions, RefusalLog refusals)
    : AuthenticationHandler<AuthenticationSchemeOptions>(options, logger, encoder)
{
    private const string Bearer = "Bearer ";

    /// <summary>The key that a program presents, or null where none is.</summary>
    internal static string? BearerOf(HttpRequest request) =>
        request.Headers.Authorization.ToString() is var header
            && header.StartsWith(Bearer, StringComparison.OrdinalIgnoreCase) ? header[Bearer.Length..].Trim() : null;

    /// <inheritdoc/>
    protected override Task<AuthenticateResult> HandleAuthenticateAsync()
    {
        if (BearerOf(Request) is { } bearer)
        {
            // A wrong key is a fault to be told, not a reason to look for a cookie.
            if (devices.KeyOf(bearer) is not { } key)
            {
                refusals.KeyUnknown("program", Addresses.Of(Context));
                return Task.FromResult(AuthenticateResult.Fail(DoorWords.KeyUnknown));
            }

            return Task.FromResult(key.LastDay is { } last && key.HasEnded(devices.Today)
                ? Ended(key, last) : Success(Actors.OfKey(key)));
        }

        var presented = Cookies.DeviceOf(Request);
        if (devices.DeviceOf(presented) is { } device)
            return Task.FromResult(Success(Actors.OfDevice(device)));
        if (!string.IsNullOrEmpty(presented))
            refusals.KeyUnknown("device", Addresses.Of(Context));
        return Task.FromResult(Cookies.SessionOf(Request) is { Length: > 0 } token
            && sessions.Find(Tokens.Hash(token)) is { } session
            ? Success(Actors.OfSession(session))
            : AuthenticateResult.NoResult());
    }

    private AuthenticateResult Ended(ClinicKey key, LocalDate last)
    {
        refusals.KeyHasEnded(key.Id.Value, Addresses.Of(Context));
        return AuthenticateResult.Fail(new KeyEndedException(Say.Of(DoorWords.KeyEnded, Say.Day(last))));
    }

    private static AuthenticateResult Success(System.Security.Claims.ClaimsPrincipal principal) =>
        AuthenticateResult.Success(new AuthenticationTicket(principal, Actors.Scheme));
}

/// <summary>That the last day of a program's key has passed: said to whoever has the key.</summary>
public sealed class KeyEndedException(string sentence) : Exception(sentence);

/// <summary>Something that a page or address needs a right for.</summary>
/// <param name="right">The right.</param>
[AttributeUsage(AttributeTargets.Class | AttributeTargets.Method)]
public sealed class NeedsAttribute(Right right) : AuthorizeAttribute(PolicyOf(right))
{
    /// <summary>The right.</summary>
    public Right Right { get; } = right;

    /// <summary>Name of the policy that asks for a right.</summary>
    public static string PolicyOf(Right right) => "needs " + right;
}

/// <summary>That the actor has a right, to the bench that the address names.</summary>
public sealed record NeedsRight(Right Right) : IAuthorizationRequirement;

/// <summary>Judges every request by the one table, also by which bench it names.</summary>
public sealed class NeedsRightHandler(Actors actors) : AuthorizationHandler<NeedsRight>
{
    /// <inheritdoc/>
    protected override Task HandleRequirementAsync(AuthorizationHandlerContext context, NeedsRight requirement)
    {
        var bench = (context.Resource as HttpContext)?.GetRouteValue("bench") as string;
        if (Access.May(actors.Present(context.User), requirement.Right, bench))
            context.Succeed(requirement);
        return Task.CompletedTask;
    }
}

/// <summary>
/// What is told to those who may not come in: programs a problem with a sentence, people a page that helps on.
/// </summary>
public sealed class Refusals(SetUpService setUp, Actors actors, RefusalLog log) : IAuthorizationMiddlewareResultHandler
{
    private readonly AuthorizationMiddlewareResultHandler usual = new();

    /// <inheritdoc/>
    public async Task HandleAsync(RequestDelegate next, HttpContext context, AuthorizationPolicy policy,
        PolicyAuthorizationResult authorizeResult)
    {
        ArgumentNullException.ThrowIfNull(context);
        ArgumentNullException.ThrowIfNull(authorizeResult);
        if (authorizeResult.Succeeded)
        {
            await usual.HandleAsync(next, context, policy, authorizeResult);
            return;
        }

        var isKnown = !authorizeResult.Challenged;
        if (isKnown)
            log.NotAllowed(actors.Present(context.User),
                $"{context.Request.Method} {ApiFaults.PatternOf(context)}", Addresses.Of(context));
        if (ApiFaults.IsForPrograms(context.Request.Path))
        {
            var (status, sentence) = !setUp.IsDone ? (StatusCodes.Status503ServiceUnavailable, DoorWords.SetUpFirst)
                : isKnown ? (StatusCodes.Status403Forbidden, ServiceWords.NotAllowed)
                : (StatusCodes.Status401Unauthorized, await EndedAsync(context) ?? ServiceWords.SignInFirst);
            await Results.Problem(statusCode: status, detail: sentence).ExecuteAsync(context);
            return;
        }

        // A page cannot answer in the place of what was posted.
        if (!HttpMethods.IsGet(context.Request.Method))
            await Results.Problem(statusCode: isKnown
                ? StatusCodes.Status403Forbidden : StatusCodes.Status401Unauthorized, detail: isKnown
                ? ServiceWords.NotAllowed : ServiceWords.SignInFirst).ExecuteAsync(context);
        else if (isKnown && !IsForWhoSignsIn(context))
            context.Response.StatusCode = StatusCodes.Status403Forbidden;
        else if (!setUp.IsDone)
            context.Response.Redirect("/set-up");
        else
            context.Response.Redirect("/sign-in?to="
                + Uri.EscapeDataString(context.Request.Path + context.Request.QueryString));
    }

    /// <summary>Whether a locked tablet may be signed in on, and sees the page then.</summary>
    private bool IsForWhoSignsIn(HttpContext context) =>
        actors.Present(context.User) is Actor.Tablet { Enrolled.Kind: DeviceKind.Tablet };

    private static async Task<string?> EndedAsync(HttpContext context) =>
        ((await context.AuthenticateAsync(Actors.Scheme)).Failure as KeyEndedException)?.Message;
}
