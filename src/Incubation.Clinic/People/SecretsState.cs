using System.Collections.Immutable;

namespace Incubation.Clinic.People;

/// <summary>
/// Which row of the clinic's stream last set each secret, and whether what lies beside the log is sealed. The secrets
/// themselves stand in no log; by this an older one that was put back is known. Immutable; made from events alone.
/// </summary>
public sealed record SecretsState
{
    private static readonly SecretKind[] OfPersons = [SecretKind.Password, SecretKind.Pin, SecretKind.WelcomeCode];

    /// <summary>The events that tell of secrets: whoever reads a long stream for them needs no other.</summary>
    public static IReadOnlyList<Type> Told { get; } =
    [
        typeof(ClinicEvent.ClinicOpened), typeof(ClinicEvent.RecordSealed), typeof(ClinicEvent.SecretSet),
        typeof(ClinicEvent.PersonEnded), typeof(ClinicEvent.DeviceEnrolled), typeof(ClinicEvent.DeviceRevoked),
        typeof(ClinicEvent.KeyMade), typeof(ClinicEvent.KeyRevoked), typeof(ClinicEvent.DestinationAdded),
        typeof(ClinicEvent.DestinationSecretReplaced), typeof(ClinicEvent.DestinationEnded),
    ];

    /// <summary>No secret yet, and nothing sealed.</summary>
    public static SecretsState Empty { get; } = new();

    /// <summary>
    /// Whether every secret, sign-in and snapshot that was kept since is sealed: in a clinic of a program that sealed
    /// nothing, from the event on that says so.
    /// </summary>
    public bool IsSealed { get; private init; }

    /// <summary>The row that last set each secret in force, by owner and kind.</summary>
    public ImmutableDictionary<(string Owner, SecretKind Kind), long> SetBy { get; private init; } =
        ImmutableDictionary<(string Owner, SecretKind Kind), long>.Empty;

    /// <summary>The secret that an event sets, or null.</summary>
    public static (string Owner, SecretKind Kind)? SetIn(ClinicEvent @event) => @event switch
    {
        ClinicEvent.SecretSet set => (set.Person.Value, set.Secret),
        ClinicEvent.DeviceEnrolled device => (device.Device.Value, SecretKind.Key),
        ClinicEvent.KeyMade key => (key.Key.Value, SecretKind.Key),
        ClinicEvent.DestinationAdded added => (added.Destination.Value, SecretKind.Signing),
        ClinicEvent.DestinationSecretReplaced replaced => (replaced.Destination.Value, SecretKind.Signing),
        _ => null,
    };

    /// <summary>The state after one more event. Accepts every event that was ever recorded.</summary>
    /// <param name="event">The event.</param>
    /// <param name="sequence">Its row.</param>
    public SecretsState Apply(ClinicEvent @event, long sequence) => @event switch
    {
        ClinicEvent.ClinicOpened { Sealed: true } or ClinicEvent.RecordSealed => this with { IsSealed = true },
        // A password is set by a welcome code, which is used up.
        ClinicEvent.SecretSet { Secret: SecretKind.Password } set => this with
        {
            SetBy = SetBy.Remove((set.Person.Value, SecretKind.WelcomeCode))
                .SetItem((set.Person.Value, SecretKind.Password), sequence)
        },
        _ when SetIn(@event) is { } secret => this with { SetBy = SetBy.SetItem(secret, sequence) },
        ClinicEvent.PersonEnded ended =>
            this with { SetBy = SetBy.RemoveRange(OfPersons.Select(kind => (ended.Person.Value, kind))) },
        ClinicEvent.DeviceRevoked revoked => Without(revoked.Device.Value),
        ClinicEvent.KeyRevoked revoked => Without(revoked.Key.Value),
        ClinicEvent.DestinationEnded ended =>
            this with { SetBy = SetBy.Remove((ended.Destination.Value, SecretKind.Signing)) },
        _ => this,
    };

    private SecretsState Without(string owner) => this with { SetBy = SetBy.Remove((owner, SecretKind.Key)) };
}
