using Incubation.Clinic.People;
using Incubation.Model;
using Incubation.Server.Doors;
using NodaTime;

namespace Incubation.Server.Tests.Components;

/// <summary>An aide in front of every page.</summary>
internal sealed class AnAide : ICurrentActor
{
    public static Actor.Person Lena { get; } = new(
        new ClinicPerson(new PersonId("lena"), "Lena", Role.Aide, true, true, true),
        new Session("s", new PersonId("lena"), SignInWay.Password, null, new DeviceId("browser-1"), Instant.MinValue, Instant.MinValue), null);

    public ValueTask<Actor?> GetAsync() => new(Lena);
}
