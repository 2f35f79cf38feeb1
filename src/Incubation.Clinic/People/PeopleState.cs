using System.Collections.Immutable;
using Incubation.Clinic.Record;
using Incubation.Model;
using NodaTime;

namespace Incubation.Clinic.People;

/// <summary>A person as the clinic's stream tells.</summary>
/// <param name="Id">The name to sign in with.</param>
/// <param name="Name">The name that people read.</param>
/// <param name="Role">What the person may do.</param>
/// <param name="IsActive">Whether the person may sign in.</param>
/// <param name="HasPassword">Whether a password was ever set.</param>
/// <param name="HasPin">Whether a PIN was ever set.</param>
/// <param name="LastDay">The last day on which the person may sign in, in the clinic's zone: of an inspector alone, and
/// of each of them; null for everybody else.</param>
public sealed record ClinicPerson(PersonId Id, string Name, Role Role, bool IsActive, bool HasPassword, bool HasPin,
    LocalDate? LastDay = null)
{
    /// <summary>No sign-in to read lasts longer from the day on which it is made: an inspection's weeks, judged.
    /// </summary>
    public const int MostInspectorDays = 30;

    /// <summary>Whether the last day has passed.</summary>
    public bool HasEnded(LocalDate today) => LastDay < today;

    internal static bool MayEnd(LocalDate day, LocalDate today) =>
        day >= today && day <= today.PlusDays(MostInspectorDays);
}

/// <summary>An enrolled tablet or wall screen.</summary>
/// <param name="Id">Names it in the log.</param>
/// <param name="Name">The name that people read.</param>
/// <param name="Kind">What it is for.</param>
/// <param name="Bench">The one bench that it belongs to; null for all.</param>
/// <param name="EnrolledAt">When it was enrolled.</param>
/// <param name="EnrolledBy">By whom.</param>
/// <param name="IsRevoked">Whether its key opens nothing any more.</param>
public sealed record ClinicDevice(
    DeviceId Id, string Name, DeviceKind Kind, BenchId? Bench, Instant EnrolledAt, PersonId EnrolledBy, bool IsRevoked);

/// <summary>A program's key.</summary>
/// <param name="Id">Names it in the log.</param>
/// <param name="Name">The name that people read.</param>
/// <param name="Scopes">What it may do.</param>
/// <param name="Bench">The one bench that it may do it with; null for all.</param>
/// <param name="MadeAt">When it was made.</param>
/// <param name="IsRevoked">Whether it opens nothing any more.</param>
/// <param name="LastDay">The last day on which it opens anything, in the clinic's zone; null for one without an
/// end.</param>
public sealed record ClinicKey(DeviceId Id, string Name, ImmutableArray<KeyScope> Scopes, BenchId? Bench,
    Instant MadeAt, bool IsRevoked, LocalDate? LastDay = null)
{
    /// <summary>How long a key lasts where nothing else is wanted.</summary>
    public static Period UsualLife { get; } = Period.FromYears(1);

    /// <summary>
    /// No key lasts longer: whoever authenticates by a symmetric key uses it for at most two years (NIST SP 800-57
    /// part 1 revision 5, 5.3.6).
    /// </summary>
    public static Period LongestLife { get; } = Period.FromYears(2);

    /// <summary>So many days before its end a key is shown as ending soon.</summary>
    public const int SoonDays = 30;

    /// <summary>Whether its last day has passed.</summary>
    public bool HasEnded(LocalDate today) => LastDay < today;

    /// <summary>Whether it opens something today.</summary>
    public bool IsGood(LocalDate today) => !IsRevoked && !HasEnded(today);

    /// <summary>Whether it opens something today, and soon nothing any more.</summary>
    public bool EndsSoon(LocalDate today) => IsGood(today) && LastDay <= today.PlusDays(SoonDays);

    internal static bool MayEnd(LocalDate? day, LocalDate today) =>
        day is { } last && last >= today && last <= today.Plus(LongestLife);
}

/// <summary>Who may do what, as the clinic's stream tells. Immutable; made from events alone.</summary>
public sealed record PeopleState
{
    /// <summary>Nobody yet.</summary>
    public static PeopleState Empty { get; } = new();

    /// <summary>Everybody who was ever added.</summary>
    public ImmutableDictionary<PersonId, ClinicPerson> Persons { get; private init; } =
        ImmutableDictionary<PersonId, ClinicPerson>.Empty;

    /// <summary>Every device that was ever enrolled.</summary>
    public ImmutableDictionary<DeviceId, ClinicDevice> Devices { get; private init; } =
        ImmutableDictionary<DeviceId, ClinicDevice>.Empty;

    /// <summary>Every key that was ever made.</summary>
    public ImmutableDictionary<DeviceId, ClinicKey> Keys { get; private init; } =
        ImmutableDictionary<DeviceId, ClinicKey>.Empty;

    /// <summary>Everybody's passkeys.</summary>
    public PasskeysState Passkeys { get; private init; } = PasskeysState.Empty;

    /// <summary>How long closed batches are kept, in months; null where nobody has said.</summary>
    public int? RetentionMonths { get; private init; }

    /// <summary>Who was last signed in on each enrolled device.</summary>
    public ImmutableDictionary<DeviceId, PersonId> LastOn { get; private init; } =
        ImmutableDictionary<DeviceId, PersonId>.Empty;

    /// <summary>Who has ever signed in on which enrolled device.</summary>
    public ImmutableHashSet<(PersonId Person, DeviceId Device)> SignedInOn { get; private init; } = [];

    /// <summary>
    /// How many sign-ins were refused one after the other because the secret was wrong, by person, way and device (""
    /// for all that are not enrolled); a success of the same way on the same side begins anew. Ways are counted apart,
    /// so that whoever guesses at a colleague's PIN on a tablet leaves the password open to that colleague.
    /// </summary>
    public ImmutableDictionary<(PersonId Person, SignInWay Way, string Device), int> Failures { get; private init; } =
        ImmutableDictionary<(PersonId Person, SignInWay Way, string Device), int>.Empty;

    /// <summary>Whether somebody may look after people.</summary>
    public bool HasAdministrator => Persons.Values.Any(IsActiveAdministrator);

    /// <summary>A person, or null.</summary>
    public ClinicPerson? Person(PersonId id) => Persons.GetValueOrDefault(id);

    internal PeopleState Apply(ClinicEntry entry) => entry.Event switch
    {
        ClinicEvent.RetentionSet set => this with { RetentionMonths = set.Months },
        ClinicEvent.PersonAdded added =>
            this with
            {
                Persons = Persons.SetItem(added.Person,
                new ClinicPerson(added.Person, added.Name, added.Role, true, false, false))
            },
        ClinicEvent.InspectorAdmitted admitted =>
            this with
            {
                Persons = Persons.SetItem(admitted.Person, new ClinicPerson(
                    admitted.Person, admitted.Name, Role.Inspector, true, false, false, admitted.LastDay))
            },
        ClinicEvent.RoleChanged changed => With(changed.Person, person => person with { Role = changed.Role }),
        ClinicEvent.PersonEnded ended =>
            With(ended.Person, person => person with { IsActive = false, HasPassword = false, HasPin = false })
            with
            { Passkeys = Passkeys.Without(ended.Person) },
        ClinicEvent.PersonResumed resumed => With(resumed.Person, person => person with { IsActive = true }),
        ClinicEvent.SecretSet set => With(set.Person, person => set.Secret switch
        {
            SecretKind.Password => person with { HasPassword = true },
            SecretKind.Pin => person with { HasPin = true },
            _ => person,
        }) with
        { Failures = Failures.RemoveRange(Failures.Keys.Where(key => key.Person == set.Person)) },
        ClinicEvent.SignedIn signed => this with
        {
            Failures = Failures.Remove((signed.Person, signed.Way, SideOf(entry.Provenance.Device)))
                .Remove((signed.Person, signed.Way, "")),
            LastOn = Devices.ContainsKey(entry.Provenance.Device)
                ? LastOn.SetItem(entry.Provenance.Device, signed.Person) : LastOn,
            SignedInOn = Devices.ContainsKey(entry.Provenance.Device)
                ? SignedInOn.Add((signed.Person, entry.Provenance.Device)) : SignedInOn,
        },
        ClinicEvent.SignInRefused { Person: { } person, Why: SignInFault.Wrong } refused =>
            Failed((person, refused.Way, SideOf(entry.Provenance.Device))),
        ClinicEvent.DeviceEnrolled device => this with
        {
            Devices = Devices.SetItem(device.Device, new ClinicDevice(
                device.Device, device.Name, device.Kind, device.Bench, entry.Provenance.At, entry.Provenance.Person,
                    false)),
        },
        ClinicEvent.DeviceRevoked revoked when Devices.TryGetValue(revoked.Device, out var device) =>
            this with { Devices = Devices.SetItem(device.Id, device with { IsRevoked = true }) },
        ClinicEvent.KeyMade made => this with
        {
            Keys = Keys.SetItem(made.Key,
                new ClinicKey(made.Key, made.Name, made.Scopes, made.Bench, entry.Provenance.At, false,
                    made.LastDay)),
        },
        ClinicEvent.KeyRevoked revoked when Keys.TryGetValue(revoked.Key, out var key) =>
            this with { Keys = Keys.SetItem(key.Id, key with { IsRevoked = true }) },
        ClinicEvent.PasskeyAdded or ClinicEvent.PasskeyUsed or ClinicEvent.PasskeyRemoved =>
            this with { Passkeys = Passkeys.Apply(entry) },
        _ => this,
    };

    /// <param name="event">What is to happen.</param>
    /// <param name="benches">The benches that there are.</param>
    /// <param name="today">The day on which it was said, in the clinic's zone.</param>
    internal ClinicObjection? Against(ClinicEvent @event, ImmutableHashSet<BenchId> benches,
        LocalDate today) => @event switch
        {
            ClinicEvent.RetentionSet { Months: < RetentionRules.LeastMonths or > MaxMonths } =>
                new(ClinicRefusal.RetentionOutOfRange, ""),
            ClinicEvent.PersonAdded added when string.IsNullOrWhiteSpace(added.Name) =>
                new(ClinicRefusal.NameMissing, added.Person.Value),
            ClinicEvent.PersonAdded added when Persons.ContainsKey(added.Person) =>
                new(ClinicRefusal.PersonAlreadyThere, added.Person.Value),
            ClinicEvent.PersonAdded { Role: Role.Inspector } added =>
                new(ClinicRefusal.InspectorEndOutOfRange, added.Name),
            ClinicEvent.InspectorAdmitted admitted when string.IsNullOrWhiteSpace(admitted.Name) =>
                new(ClinicRefusal.NameMissing, admitted.Person.Value),
            ClinicEvent.InspectorAdmitted admitted when Persons.ContainsKey(admitted.Person) =>
                new(ClinicRefusal.PersonAlreadyThere, admitted.Person.Value),
            ClinicEvent.InspectorAdmitted admitted when !ClinicPerson.MayEnd(admitted.LastDay, today) =>
                new(ClinicRefusal.InspectorEndOutOfRange, admitted.Name),
            ClinicEvent.RoleChanged changed when changed.Role == Role.Inspector || IsInspector(changed.Person) =>
                new(ClinicRefusal.InspectorReads, changed.Person.Value),
            ClinicEvent.PersonResumed resumed when Person(resumed.Person)?.HasEnded(today) == true =>
                new(ClinicRefusal.InspectorEndOutOfRange, resumed.Person.Value),
            ClinicEvent.SecretSet { Secret: SecretKind.Pin } set when IsInspector(set.Person) =>
                new(ClinicRefusal.InspectorReads, set.Person.Value),
            ClinicEvent.SignedIn signed when Person(signed.Person)?.HasEnded(today) == true =>
                new(ClinicRefusal.InspectorEndOutOfRange, signed.Person.Value),
            ClinicEvent.PasskeyAdded added when IsInspector(added.Person) =>
                new(ClinicRefusal.InspectorReads, added.Person.Value),
            ClinicEvent.RoleChanged changed => AgainstLoss(changed.Person, changed.Role == Role.Administrator),
            ClinicEvent.PersonEnded ended => AgainstLoss(ended.Person, false),
            ClinicEvent.PersonResumed resumed => AgainstUnknown(resumed.Person),
            ClinicEvent.SecretSet set => AgainstUnknown(set.Person),
            ClinicEvent.SignedIn signed => AgainstUnknown(signed.Person),
            ClinicEvent.DeviceEnrolled device => AgainstNew(device.Device, device.Name, device.Bench, benches),
            ClinicEvent.DeviceRevoked revoked
                when Devices.GetValueOrDefault(revoked.Device) is not { IsRevoked: false } =>
                new(ClinicRefusal.UnknownDevice, revoked.Device.Value),
            ClinicEvent.KeyMade { Scopes.IsEmpty: true } made => new(ClinicRefusal.NameMissing, made.Name),
            ClinicEvent.KeyMade made when !ClinicKey.MayEnd(made.LastDay, today) =>
                new(ClinicRefusal.KeyEndOutOfRange, made.Name),
            ClinicEvent.KeyMade made => AgainstNew(made.Key, made.Name, made.Bench, benches),
            ClinicEvent.KeyRevoked revoked when Keys.GetValueOrDefault(revoked.Key) is not { IsRevoked: false } =>
                new(ClinicRefusal.UnknownKey, revoked.Key.Value),
            ClinicEvent.PasskeyAdded added when Person(added.Person) is not { IsActive: true } =>
                new(ClinicRefusal.UnknownPerson, added.Person.Value),
            _ => Passkeys.Against(@event),
        };

    /// <summary>The longest retention that can be set: a century.</summary>
    public const int MaxMonths = 1200;

    /// <summary>The side on which a failure counts: each enrolled device by itself, everything else together.</summary>
    public string SideOf(DeviceId device) =>
        Devices.GetValueOrDefault(device) is { IsRevoked: false }
            || device.Value.StartsWith(KnownBrowser, StringComparison.Ordinal) ? device.Value : "";

    /// <summary>How the names begin that the log gives to browsers in which somebody has signed in.</summary>
    public const string KnownBrowser = "browser-";

    private bool IsInspector(PersonId id) => Person(id)?.Role == Role.Inspector;

    private static bool IsActiveAdministrator(ClinicPerson person) =>
        person is { IsActive: true, Role: Role.Administrator };

    private PeopleState With(PersonId id, Func<ClinicPerson, ClinicPerson> change) =>
        Persons.TryGetValue(id, out var person) ? this with { Persons = Persons.SetItem(id, change(person)) } : this;

    private PeopleState Failed((PersonId Person, SignInWay Way, string Side) key) =>
        this with { Failures = Failures.SetItem(key, Failures.GetValueOrDefault(key) + 1) };

    private ClinicObjection? AgainstUnknown(PersonId id) =>
        Persons.ContainsKey(id) ? null : new(ClinicRefusal.UnknownPerson, id.Value);

    private ClinicObjection? AgainstLoss(PersonId id, bool staysAdministrator) =>
        AgainstUnknown(id)
        ?? (!staysAdministrator && Persons.Values.Where(person => IsActiveAdministrator(person) && person.HasPassword)
            .Select(person => person.Id).SequenceEqual([id])
            ? new(ClinicRefusal.LastAdministrator, id.Value)
            : null);

    private ClinicObjection? AgainstNew(DeviceId id, string name, BenchId? bench, ImmutableHashSet<BenchId> benches) =>
        string.IsNullOrWhiteSpace(name) ? new(ClinicRefusal.NameMissing, id.Value)
        : Devices.ContainsKey(id) || Keys.ContainsKey(id) ? new(ClinicRefusal.DeviceAlreadyThere, id.Value)
        : bench is { } named && !benches.Contains(named) ? new(ClinicRefusal.UnknownBench, named.Value)
        : null;
}
