using System.Collections.Immutable;
using Incubation.Clinic.People;
using Incubation.Model;
using NodaTime;

namespace Incubation.Clinic;

public abstract partial record ClinicEvent
{
    /// <summary>How long closed batches are kept.</summary>
    /// <param name="Months">In months.</param>
    public sealed record RetentionSet(int Months) : ClinicEvent;

    /// <summary>A person may sign in.</summary>
    /// <param name="Person">The name to sign in with; never given to anybody else.</param>
    /// <param name="Name">The name that people read.</param>
    /// <param name="Role">What the person may do.</param>
    public sealed record PersonAdded(PersonId Person, string Name, Role Role) : ClinicEvent;

    /// <summary>Somebody who inspects the clinic may read what is kept until a day, and send nothing.</summary>
    /// <param name="Person">The name to sign in with; never given to anybody else.</param>
    /// <param name="Name">The name that people read.</param>
    /// <param name="LastDay">The last day on which it opens anything, in the clinic's zone.</param>
    public sealed record InspectorAdmitted(PersonId Person, string Name, LocalDate LastDay) : ClinicEvent;

    /// <summary>A person may do more, or less.</summary>
    public sealed record RoleChanged(PersonId Person, Role Role) : ClinicEvent;

    /// <summary>A person may not sign in any more.</summary>
    public sealed record PersonEnded(PersonId Person) : ClinicEvent;

    /// <summary>A person may sign in again.</summary>
    public sealed record PersonResumed(PersonId Person) : ClinicEvent;

    /// <summary>A person has a new password, PIN or welcome code.</summary>
    public sealed record SecretSet(PersonId Person, SecretKind Secret) : ClinicEvent;

    /// <summary>A person has signed in.</summary>
    /// <param name="Person">Who.</param>
    /// <param name="Way">How they showed who they are.</param>
    /// <param name="Address">The network address that it came from.</param>
    public sealed record SignedIn(PersonId Person, SignInWay Way, string Address) : ClinicEvent;

    /// <summary>A sign-in was refused.</summary>
    /// <param name="Person">Whose name was given; null where nobody has it, for it may be a password typed in the wrong
    /// place.</param>
    /// <param name="Way">How it was tried.</param>
    /// <param name="Why">Why it was refused.</param>
    /// <param name="Address">The network address that it came from.</param>
    public sealed record SignInRefused(PersonId? Person, SignInWay Way, SignInFault Why, string Address) : ClinicEvent;

    /// <summary>A sign-in has ended.</summary>
    public sealed record SignedOut(PersonId Person, SignOutCause Why) : ClinicEvent;

    /// <summary>A tablet or wall screen has a key of its own.</summary>
    /// <param name="Device">Names it in the log.</param>
    /// <param name="Name">The name that people read.</param>
    /// <param name="Kind">What it is for.</param>
    /// <param name="Bench">The one bench that it belongs to; null for all.</param>
    public sealed record DeviceEnrolled(DeviceId Device, string Name, DeviceKind Kind, BenchId? Bench) : ClinicEvent;

    /// <summary>A device's key opens nothing any more.</summary>
    public sealed record DeviceRevoked(DeviceId Device) : ClinicEvent;

    /// <summary>A program has a key.</summary>
    /// <param name="Key">Names it in the log.</param>
    /// <param name="Name">The name that people read.</param>
    /// <param name="Scopes">What it may do.</param>
    /// <param name="Bench">The one bench that it may do it with; null for all.</param>
    /// <param name="LastDay">The last day on which it opens anything, in the clinic's zone; null for a key that was
    /// made when keys had no end.</param>
    public sealed record KeyMade(DeviceId Key, string Name, ImmutableArray<KeyScope> Scopes, BenchId? Bench,
        LocalDate? LastDay) : ClinicEvent;

    /// <summary>A program's key opens nothing any more.</summary>
    public sealed record KeyRevoked(DeviceId Key) : ClinicEvent;

    /// <summary>A person may sign in by a passkey (W3C Web Authentication).</summary>
    /// <param name="Passkey">Names it in the log.</param>
    /// <param name="Person">Whose it is.</param>
    /// <param name="Name">The name that the person gave it.</param>
    /// <param name="Domain">The domain that it was made for, and works under alone.</param>
    /// <param name="Credential">The id that the authenticator gave it, base64url.</param>
    /// <param name="PublicKey">What its signatures are checked with: a COSE key, base64url.</param>
    /// <param name="Handle">What the authenticator knows the person by: random, and one for all of a person's
    /// passkeys.</param>
    /// <param name="Transports">How the authenticator is reached, in the browser's words.</param>
    /// <param name="Count">How many signatures it had counted; 0 where it counts none.</param>
    /// <param name="MayBeCopied">Whether the authenticator may copy it to others.</param>
    public sealed record PasskeyAdded(DeviceId Passkey, PersonId Person, string Name, string Domain, string Credential,
        string PublicKey, string Handle, ImmutableArray<string> Transports, long Count, bool MayBeCopied) : ClinicEvent;

    /// <summary>A passkey has signed.</summary>
    /// <param name="Passkey">Which.</param>
    /// <param name="Count">How many signatures it has counted by now; 0 where it counts none.</param>
    public sealed record PasskeyUsed(DeviceId Passkey, long Count) : ClinicEvent;

    /// <summary>A passkey opens nothing any more.</summary>
    public sealed record PasskeyRemoved(DeviceId Passkey) : ClinicEvent;
}
