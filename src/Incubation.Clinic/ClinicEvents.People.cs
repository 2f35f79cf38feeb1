using System.Collections.Immutable;
using Incubation.Clinic.People;
using Incubation.Model;

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
    public sealed record KeyMade(DeviceId Key, string Name, ImmutableArray<KeyScope> Scopes, BenchId? Bench)
        : ClinicEvent;

    /// <summary>A program's key opens nothing any more.</summary>
    public sealed record KeyRevoked(DeviceId Key) : ClinicEvent;
}
