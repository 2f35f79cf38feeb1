using Incubation.Clinic.People;
using Incubation.Model;
using NodaTime;

namespace Incubation.Clinic.TestKit;

/// <summary>
/// Invented people of an invented clinic, with everything that can happen to people, devices and keys.
/// </summary>
public static class PeopleStory
{
    public static PersonId Chief { get; } = PersonId.Of("mara");

    public static PersonId Aide { get; } = PersonId.Of("lena");

    public static PersonId Inspector { get; } = PersonId.Of("ada");

    public static DeviceId Tablet { get; } = DeviceId.Of("tablet-0001");

    private static readonly DeviceId Key = DeviceId.Of("key-0001");

    /// <summary>A passkey of the chief's, which counts.</summary>
    public static ClinicEvent.PasskeyAdded Passkey { get; } = new(DeviceId.Of("passkey-1"), Chief, "Laptop",
        "clinic.example", "Y3JlZGVudGlhbC0x", "cHVibGljLWtleQ", "aGFuZGxlLW9mLW1hcmE", ["internal", "hybrid"], 3,
        false);

    /// <summary>Another one, which counts nothing.</summary>
    public static ClinicEvent.PasskeyAdded Phone { get; } = Passkey with
    {
        Passkey = DeviceId.Of("passkey-2"),
        Name = "Phone",
        Credential = "Y3JlZGVudGlhbC0y",
        Transports = [],
        Count = 0,
        MayBeCopied = true,
    };

    public static IReadOnlyList<StoryCommand> Commands { get; } = StoryCommand.Numbered(
    [
        [ClinicStory.Opened, new ClinicEvent.RetentionSet(24),
            new ClinicEvent.PersonAdded(Chief, "Mara", Role.Administrator),
            new ClinicEvent.SecretSet(Chief, SecretKind.Password)],
        [new ClinicEvent.BenchRegistered(ClinicStory.Bench, "Bench 1")],
        [new ClinicEvent.PersonAdded(Aide, "Lena", Role.Aide), new ClinicEvent.SecretSet(Aide, SecretKind.WelcomeCode)],
        [new ClinicEvent.SecretSet(Aide, SecretKind.Pin)],
        [new ClinicEvent.DeviceEnrolled(Tablet, "Tablet", DeviceKind.Tablet, ClinicStory.Bench),
            new ClinicEvent.DeviceEnrolled(DeviceId.Of("wall-0001"), "Wall", DeviceKind.Wall, null)],
        [new ClinicEvent.SignInRefused(Aide, SignInWay.Pin, SignInFault.Wrong, "192.0.2.7"),
            new ClinicEvent.SignInRefused(null, SignInWay.Password, SignInFault.MustWait, "192.0.2.9")],
        [new ClinicEvent.SignedIn(Aide, SignInWay.Pin, "192.0.2.7")],
        [new ClinicEvent.SignedOut(Aide, SignOutCause.Idle)],
        [new ClinicEvent.RoleChanged(Aide, Role.Supervisor), new ClinicEvent.PersonEnded(Aide)],
        [new ClinicEvent.PersonResumed(Aide)],
        [new ClinicEvent.KeyMade(Key, "Worklist", [KeyScope.Look, KeyScope.Requests], ClinicStory.Bench,
            new LocalDate(2027, 2, 28))],
        [new ClinicEvent.KeyRevoked(Key), new ClinicEvent.DeviceRevoked(Tablet)],
        [Passkey, Phone],
        [new ClinicEvent.PasskeyUsed(Passkey.Passkey, 4),
            new ClinicEvent.SignedIn(Chief, SignInWay.Passkey, "192.0.2.7")],
        [new ClinicEvent.SignInRefused(Chief, SignInWay.Passkey, SignInFault.CountWentBack, "192.0.2.9")],
        [new ClinicEvent.InspectorAdmitted(Inspector, "Ada", new LocalDate(2026, 3, 9)),
            new ClinicEvent.SecretSet(Inspector, SecretKind.WelcomeCode)],
        [new ClinicEvent.SignedOut(Chief, SignOutCause.FromElsewhere), new ClinicEvent.PasskeyRemoved(Phone.Passkey)],
    ]);
}
