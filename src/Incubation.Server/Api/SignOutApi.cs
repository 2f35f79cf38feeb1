using Incubation.Clinic.People;
using Incubation.Server.Doors;
using Incubation.Service.People;
using Microsoft.AspNetCore.Antiforgery;

namespace Incubation.Server.Api;

/// <summary>The way out.</summary>
internal static class SignOutApi
{
    /// <summary>Adds the address that the sign-out buttons post to.</summary>
    public static void MapSignOut(this IEndpointRouteBuilder app) =>
        app.MapPost("/sign-out", SignOutAsync).WithMetadata(new NeedsAttribute(Right.Look)).ExcludeFromDescription();

    /// <summary>
    /// The pages that a browser keeps to go back to.
    /// </summary>
    private const string PagesSeen = "\"cache\"";

    /// <summary>
    /// And what its pages have stored. Never its cookies: they hold a tablet's key, and the name by which strangers'
    /// guesses are counted apart.
    /// </summary>
    private const string PagesSeenAndStorage = "\"cache\", \"storage\"";

    private static async Task<IResult> SignOutAsync(HttpContext context, IAntiforgery antiforgery, Actors actors,
        Sessions sessions)
    {
        if (!await antiforgery.IsRequestValidAsync(context))
            return Results.Problem(statusCode: StatusCodes.Status400BadRequest, detail: Words.BadRequestText);
        var actor = actors.Present(context.User);
        if (actor is Actor.Person person)
            sessions.End(person.Session.Id, SignOutCause.ByPerson);
        Cookies.TakeSession(context);
        var isOwnBrowser = actor is Actor.Person { On: null };
        // Reports that wait to be sent lie in the storage: the page says whether there are any (js/keep.js). A tablet's
        // storage is its bench's, whoever signs out there.
        context.Response.Headers["Clear-Site-Data"] =
            isOwnBrowser && (await context.Request.ReadFormAsync(context.RequestAborted))["wipe"] == "storage"
            ? PagesSeenAndStorage : PagesSeen;
        // A locked tablet goes on showing its bench.
        return Results.LocalRedirect(actor is Actor.Person { On: not null } ? "/" : "/sign-in");
    }
}
