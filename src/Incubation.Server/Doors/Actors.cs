using System.Security.Claims;
using Incubation.Clinic.People;
using Incubation.Model;
using Incubation.Service.Clinic;
using Incubation.Service.Clock;
using Incubation.Service.People;
using Microsoft.AspNetCore.Components.Authorization;

namespace Incubation.Server.Doors;

/// <summary>
/// Turns what a request or line was opened with into who that is now. A principal carries nothing but a name of the
/// sign-in, device or key: rights are looked up each time, so that none outlives its end.
/// </summary>
public sealed class Actors(ClinicHost clinic, Sessions sessions, BenchClock clock)
{
    /// <summary>Name of the authentication scheme.</summary>
    public const string Scheme = "incubation";

    private const string SessionClaim = "session";
    private const string DeviceClaim = "device";
    private const string KeyClaim = "key";

    /// <summary>A principal for a sign-in by token.</summary>
    public static ClaimsPrincipal OfSession(Session session) => Of(SessionClaim, session.Id);

    /// <summary>A principal for an enrolled device and whoever is signed in on it.</summary>
    public static ClaimsPrincipal OfDevice(ClinicDevice device) => Of(DeviceClaim, device.Id.Value);

    /// <summary>A principal for a program.</summary>
    public static ClaimsPrincipal OfKey(ClinicKey key) => Of(KeyClaim, key.Id.Value);

    /// <summary>Who is behind a principal now; null where nobody is any more.</summary>
    public Actor? Present(ClaimsPrincipal? principal)
    {
        if (principal?.FindFirst(claim => claim.Type is SessionClaim or DeviceClaim or KeyClaim) is not { } claim)
            return null;
        var people = clinic.Log.People;
        switch (claim.Type)
        {
            case SessionClaim:
                return sessions.Find(claim.Value) is { } session && people.Person(session.Person) is { } person
                    ? new Actor.Person(person, session, null) : null;
            case DeviceClaim:
                return people.Devices.GetValueOrDefault(new DeviceId(claim.Value)) is { IsRevoked: false } device
                    ? On(people, device) : null;
            default:
                return people.Keys.GetValueOrDefault(new DeviceId(claim.Value)) is { } key
                    && key.IsGood(clinic.Today(clock.Now)) ? new Actor.Program(key) : null;
        }
    }

    private Actor On(PeopleState people, ClinicDevice device) =>
        sessions.On(device.Id) is { } session && people.Person(session.Person) is { } person
            ? new Actor.Person(person, session, device)
            : new Actor.Tablet(device, people.LastOn.TryGetValue(device.Id, out var last) ? last : null);

    private static ClaimsPrincipal Of(string type, string value) =>
        new(new ClaimsIdentity([new Claim(type, value)], Scheme));
}

/// <summary>Who is in front of a page, now.</summary>
public interface ICurrentActor
{
    /// <summary>Who, or null where nobody is signed in any more.</summary>
    ValueTask<Actor?> GetAsync();
}

/// <inheritdoc/>
public sealed class CurrentActor(AuthenticationStateProvider authentication, Actors actors) : ICurrentActor
{
    /// <inheritdoc/>
    public async ValueTask<Actor?> GetAsync() =>
        actors.Present((await authentication.GetAuthenticationStateAsync()).User);
}
