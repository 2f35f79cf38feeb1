using Incubation.Clinic.People;
using Incubation.Server.Doors;
using Incubation.Server.Hubs;
using Incubation.Service.Clinic;
using Incubation.Service.People;
using Microsoft.AspNetCore.Http.HttpResults;

namespace Incubation.Server.Api;

/// <summary>Somebody who can sign in on a tablet.</summary>
/// <param name="Id">The name to sign in with.</param>
/// <param name="Name">The name that people read.</param>
public sealed record TabletPerson(string Id, string Name);

/// <summary>A PIN as it was typed.</summary>
/// <param name="Person">Who.</param>
/// <param name="Pin">Six digits.</param>
public sealed record PinIn(string? Person, string? Pin);

/// <summary>What became of it.</summary>
/// <param name="Done">Whether the person is signed in.</param>
/// <param name="Sentence">Where not: why, and what to do.</param>
/// <param name="Who">Who is signed in now.</param>
public sealed record PinAnswer(bool Done, string? Sentence, WhoSnapshot? Who);

/// <summary>What a screen asks about who is in front of it, and how persons switch on an enrolled tablet.</summary>
internal static class TabletApi
{
    /// <summary>Adds the addresses.</summary>
    public static void MapTabletApi(this IEndpointRouteBuilder app)
    {
        var api = app.MapGroup("/api/v1").WithTags("Tablets").RequireRateLimiting(Limits.Usual);
        api.MapGet("/who", Who).WithName("who").WithMetadata(new NeedsAttribute(Right.Look))
            .WithSummary("Who is signed in").WithDescription("As the server knows this screen, person or program.");
        api.MapGet("/tablet/people", People).WithName("tablet-people").WithMetadata(new NeedsAttribute(Right.Switch))
            .WithSummary("Who can sign in here by PIN").WithDescription("On an enrolled tablet only.");
        api.MapPost("/tablet/pin", Pin).WithName("tablet-pin")
            .WithMetadata(new NeedsAttribute(Right.Switch), new LargestBodyAttribute(LargestBodyAttribute.Small))
            .RequireRateLimiting(Limits.SignIn)
            .WithSummary("Sign in by PIN")
            .WithDescription("On an enrolled tablet only; it takes the place of whoever was signed in.");
        api.MapPost("/tablet/lock", Lock).WithName("tablet-lock").WithMetadata(new NeedsAttribute(Right.Switch))
            .WithSummary("Lock the tablet")
            .WithDescription("Ends the sign-in on it. Countdowns and alarms go on; reports are taken and marked.");
    }

    private static WhoSnapshot Who(HttpContext context, Actors actors, WhoWriter writer) =>
        writer.Write(actors.Present(context.User)!);

    private static IReadOnlyList<TabletPerson> People(ClinicHost clinic) =>
        [.. clinic.Log.People.Persons.Values.Where(person => person.IsActive && person.HasPin)
            .OrderBy(person => person.Name, StringComparer.CurrentCultureIgnoreCase)
            .Select(person => new TabletPerson(person.Id.Value, person.Name))];

    private static async Task<Ok<PinAnswer>> Pin(PinIn said, HttpContext context, Actors actors, SignInService desk,
        WhoWriter writer)
    {
        if (TabletOf(actors.Present(context.User)) is not { } tablet)
            return TypedResults.Ok(new PinAnswer(false, ServiceWords.NotAllowed, null));
        var outcome = await desk.PinAsync(said.Person, said.Pin, tablet, Addresses.Of(context));
        return outcome is SignInOutcome.Refused refused
            ? TypedResults.Ok(new PinAnswer(false, refused.Sentence, null))
            : TypedResults.Ok(new PinAnswer(true, null, writer.Write(actors.Present(context.User)!)));
    }

    private static Ok<WhoSnapshot> Lock(HttpContext context, Actors actors, Sessions sessions, WhoWriter writer)
    {
        if (actors.Present(context.User) is Actor.Person person)
            sessions.End(person.Session.Id, SignOutCause.ByPerson);
        return TypedResults.Ok(writer.Write(actors.Present(context.User)!));
    }

    private static ClinicDevice? TabletOf(Actor? actor) => actor switch
    {
        Actor.Person person => person.On,
        Actor.Tablet tablet => tablet.Enrolled,
        _ => null,
    };
}
