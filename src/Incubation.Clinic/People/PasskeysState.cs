using System.Collections.Immutable;
using Incubation.Model;
using NodaTime;

namespace Incubation.Clinic.People;

/// <summary>A passkey as the clinic's stream tells.</summary>
/// <param name="Added">How it was made.</param>
/// <param name="AddedAt">When.</param>
/// <param name="Count">How many signatures it has counted; 0 where it counts none.</param>
/// <param name="UsedAt">When it last signed, or null.</param>
/// <param name="IsRemoved">Whether it opens nothing any more.</param>
public sealed record ClinicPasskey(ClinicEvent.PasskeyAdded Added, Instant AddedAt, long Count, Instant? UsedAt,
    bool IsRemoved)
{
    /// <summary>Names it in the log.</summary>
    public DeviceId Id => Added.Passkey;

    /// <summary>Whose it is.</summary>
    public PersonId Person => Added.Person;

    /// <summary>The name that the person gave it.</summary>
    public string Name => Added.Name;

    /// <summary>
    /// Whether a count that comes with a signature fits: it grows, or the authenticator counts none (W3C Web
    /// Authentication level 3, 7.2, step 22, and 6.1.1).
    /// </summary>
    public bool Fits(long count) => count > Count || (count == 0 && Count == 0);
}

/// <summary>
/// Everybody's passkeys, as the clinic's stream tells: also what changes with each use, so that nothing of them stands
/// anywhere else. Immutable; made from events alone.
/// </summary>
public sealed record PasskeysState
{
    /// <summary>A person has at most so many: enough for each machine and a key in the drawer.</summary>
    public const int MostOfAPerson = 10;

    /// <summary>The longest credential id, 1,023 bytes (W3C Web Authentication level 3, 4), as base64url.</summary>
    public const int LongestCredential = 1364;

    /// <summary>The longest public key: an RSA key of 4,096 bits has a fifth of it.</summary>
    public const int LongestPublicKey = 4096;

    /// <summary>The longest handle, 64 bytes (W3C Web Authentication level 3, 5.4.3).</summary>
    public const int LongestHandle = 64;

    /// <summary>The longest name of a domain (RFC 1035).</summary>
    public const int LongestDomain = 253;

    private const int MostTransports = 8;

    /// <summary>No passkey yet.</summary>
    public static PasskeysState Empty { get; } = new();

    /// <summary>Every passkey that was ever added.</summary>
    public ImmutableDictionary<DeviceId, ClinicPasskey> All { get; private init; } =
        ImmutableDictionary<DeviceId, ClinicPasskey>.Empty;

    /// <summary>
    /// The domain that the passkeys were made for: the first one fixes it, until none is left. Null while there is
    /// none.
    /// </summary>
    public string? Domain => Good.FirstOrDefault()?.Added.Domain;

    /// <summary>A passkey that is not removed, or null.</summary>
    public ClinicPasskey? Find(DeviceId id) => All.GetValueOrDefault(id) is { IsRemoved: false } good ? good : null;

    /// <summary>A passkey that is not removed, by the id that its authenticator gave it, or null.</summary>
    public ClinicPasskey? Find(string credential) => Good.FirstOrDefault(one => one.Added.Credential == credential);

    /// <summary>A passkey by that id, also one that is removed: whose it was; or null.</summary>
    public ClinicPasskey? Ever(string? credential) => Find(credential ?? "")
        ?? All.Values.FirstOrDefault(one => one.Added.Credential == credential);

    /// <summary>A person's passkeys that are not removed, the oldest first.</summary>
    public IReadOnlyList<ClinicPasskey> Of(PersonId person) =>
        [.. Good.Where(one => one.Person == person).OrderBy(one => one.AddedAt)
            .ThenBy(one => one.Id.Value, StringComparer.Ordinal)];

    /// <summary>Whom authenticators know by a handle, or null.</summary>
    public PersonId? PersonOf(string handle) => Good.FirstOrDefault(one => one.Added.Handle == handle)?.Person;

    private IEnumerable<ClinicPasskey> Good => All.Values.Where(one => !one.IsRemoved);

    internal PasskeysState Apply(ClinicEntry entry) => entry.Event switch
    {
        ClinicEvent.PasskeyAdded added =>
            With(new ClinicPasskey(added, entry.Provenance.At, added.Count, null, false)),
        ClinicEvent.PasskeyUsed used when All.TryGetValue(used.Passkey, out var passkey) =>
            With(passkey with { Count = used.Count, UsedAt = entry.Provenance.At }),
        ClinicEvent.PasskeyRemoved removed when All.TryGetValue(removed.Passkey, out var passkey) =>
            With(passkey with { IsRemoved = true }),
        _ => this,
    };

    /// <summary>The passkeys without those of a person whose access has ended.</summary>
    internal PasskeysState Without(PersonId person) =>
        Of(person).Aggregate(this, (state, one) => state.With(one with { IsRemoved = true }));

    internal ClinicObjection? Against(ClinicEvent @event) => @event switch
    {
        ClinicEvent.PasskeyAdded added => AgainstNew(added),
        ClinicEvent.PasskeyUsed used => Find(used.Passkey) is not { } passkey
            ? new(ClinicRefusal.UnknownPasskey, used.Passkey.Value)
            : passkey.Fits(used.Count) ? null : new(ClinicRefusal.PasskeyCountWentBack, passkey.Name),
        ClinicEvent.PasskeyRemoved removed when Find(removed.Passkey) is null =>
            new(ClinicRefusal.UnknownPasskey, removed.Passkey.Value),
        _ => null,
    };

    private ClinicObjection? AgainstNew(ClinicEvent.PasskeyAdded added) =>
        string.IsNullOrWhiteSpace(added.Name) ? new(ClinicRefusal.NameMissing, added.Passkey.Value)
        : All.ContainsKey(added.Passkey) || Find(added.Credential) is not null
            ? new(ClinicRefusal.PasskeyAlreadyThere, added.Name)
        : Domain is { } domain && domain != added.Domain ? new(ClinicRefusal.PasskeyDomainDiffers, domain)
        : !IsPossible(added) ? new(ClinicRefusal.PasskeyImpossible, added.Name)
        : Of(added.Person).Count >= MostOfAPerson ? new(ClinicRefusal.TooManyPasskeys, "")
        : null;

    private bool IsPossible(ClinicEvent.PasskeyAdded added) =>
        IsWithin(added.Domain, LongestDomain) && IsWithin(added.Credential, LongestCredential)
        && IsWithin(added.PublicKey, LongestPublicKey) && IsWithin(added.Handle, LongestHandle)
        && added.Count is >= 0 and <= uint.MaxValue && !added.Transports.IsDefault
        && added.Transports.Length <= MostTransports
        && added.Transports.All(one => IsWithin(one, TextId.MaximumLength))
        && (PersonOf(added.Handle) is not { } owner || owner == added.Person)
        && (Of(added.Person) is not [var first, ..] || first.Added.Handle == added.Handle);

    private static bool IsWithin(string? text, int most) => text is not null && text.Length > 0 && text.Length <= most;

    private PasskeysState With(ClinicPasskey passkey) => this with { All = All.SetItem(passkey.Id, passkey) };
}
