using Incubation.Clinic.People;
using Incubation.Model;
using NodaTime;

namespace Incubation.Service.Tests.Support;

/// <summary>An aide who has signed in.</summary>
internal static class AnAide
{
    public static Actor.Person Lena { get; } = new(
        new ClinicPerson(new PersonId("lena"), "Lena", Role.Aide, true, true, true),
        new Session("s", new PersonId("lena"), SignInWay.Password, null, new DeviceId("browser-1"), Instant.MinValue,
            Instant.MinValue), null);

    /// <summary>A supervisor who has.</summary>
    public static Actor.Person Ines { get; } = Lena with
    {
        Who = Lena.Who with { Id = new PersonId("ines"), Name = "Ines", Role = Role.Supervisor },
        Session = Lena.Session with { Person = new PersonId("ines") },
    };
}
