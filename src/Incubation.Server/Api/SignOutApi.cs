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

    private static async Task<IResult> SignOutAsync(HttpContext context, IAntiforgery antiforgery, Actors actors,
        Sessions sessions)
    {
        if (!await antiforgery.IsRequestValidAsync(context))
            return Results.Problem(statusCode: StatusCodes.Status400BadRequest, detail: Words.BadRequestText);
        var actor = actors.Present(context.User);
        if (actor is Actor.Person person)
            sessions.End(person.Session.Id, SignOutCause.ByPerson);
        Cookies.TakeSession(context);
        // A locked tablet goes on showing its bench.
        return Results.LocalRedirect(actor is Actor.Person { On: not null } ? "/" : "/sign-in");
    }
}
