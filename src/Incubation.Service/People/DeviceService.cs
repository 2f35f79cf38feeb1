using System.Collections.Concurrent;
using Incubation.Clinic;
using Incubation.Clinic.People;
using Incubation.Model;
using Incubation.Records.People;
using Incubation.Service.Clinic;
using Incubation.Service.Clock;
using Incubation.Service.Text;
using NodaTime;
using NodaTime.Extensions;
using NodaTime.Text;

namespace Incubation.Service.People;

/// <summary>
/// Enrols tablets and wall screens, and makes keys for programs. A supervisor takes a code here and types it on the
/// device; the device then has a key of its own, which can be revoked.
/// </summary>
public sealed class DeviceService(
    ClinicHost clinic, PeopleStore store, Sessions sessions, BackOff backOff, BenchClock clock,
        [FromKeyedServices(Sessions.RealTime)] TimeProvider real)
{
    /// <summary>A code opens nothing any more after so long.</summary>
    public static readonly Duration CodeLasts = Duration.FromMinutes(15);

    private const string Guessed = "enrol";
    private const int MaxCodes = 50;

    // Longer than any that was ever handed out.
    private const int LongestKey = 200;
    private readonly ConcurrentDictionary<string, Pending> pending = new(StringComparer.Ordinal);

    private sealed record Pending(string Name, DeviceKind Kind, BenchId? Bench, PersonId By, DeviceId Through,
        Instant Until);

    /// <summary>Devices, those in use first, then by name.</summary>
    public IReadOnlyList<ClinicDevice> All =>
        [.. clinic.Log.People.Devices.Values.OrderBy(device => device.IsRevoked)
            .ThenBy(device => device.Name, StringComparer.CurrentCultureIgnoreCase)];

    /// <summary>Keys of programs, those in use first, then by name.</summary>
    public IReadOnlyList<ClinicKey> Keys =>
        [.. clinic.Log.People.Keys.Values.OrderBy(key => key.IsRevoked)
            .ThenBy(key => key.Name, StringComparer.CurrentCultureIgnoreCase)];

    /// <summary>Shows a code that enrols one device.</summary>
    public Outcome NewCode(Actor actor, string? name, DeviceKind kind, string? bench)
    {
        if (!Access.May(actor, Right.Supervise))
            return new Outcome(Words.NotAllowed);
        if (Fault(name, bench) is { } fault)
            return new Outcome(fault);
        var now = real.GetUtcNow().ToInstant();
        foreach (var (old, one) in pending)
            if (one.Until < now)
                pending.TryRemove(old, out _);
        if (pending.Count >= MaxCodes)
            return new Outcome(PeopleWords.TooManyCodes);
        var code = Tokens.NewCode();
        pending[Tokens.Hash(code)] = new Pending(name!.Trim(), kind, BenchOf(bench), actor.InLog, actor.Device,
            now + CodeLasts);
        return Outcome.Done(code);
    }

    /// <summary>Enrols the device on which a code was typed; shows its key.</summary>
    public Outcome Enrol(string? code, string address)
    {
        var guess = new BackOff.Guess(Guessed, "address " + address);
        if (backOff.MustWait(guess) is { } sentence)
            return new Outcome(sentence);
        if (!pending.TryRemove(Tokens.Hash(Tokens.Normal(code)), out var device) || device.Until < real.GetUtcNow()
            .ToInstant()
            // Whoever showed the code must still be one who may.
            || clinic.Log.People.Person(device.By) is not { IsActive: true, Role: >= Role.Supervisor })
            return new Outcome(PeopleWords.EnrolWrong);
        backOff.Right(guess);
        return Enrol(device.Name, device.Kind, device.Bench, device.By, device.Through);
    }

    /// <summary>Revokes a device: its key opens nothing from now on, and nobody is signed in on it any more.</summary>
    public Outcome Revoke(Actor actor, DeviceId device)
    {
        if (!Access.May(actor, Right.Supervise))
            return new Outcome(Words.NotAllowed);
        var outcome =
            Outcome.Of(() => store.Record([new ClinicEvent.DeviceRevoked(device)], Provenances.Of(actor, clock),
                remove: [(device.Value, SecretKind.Key)]));
        if (outcome.IsDone)
            sessions.EndOn(device);
        sessions.TellChanged();
        return outcome;
    }

    /// <summary>Makes a key for a program, and shows it.</summary>
    /// <param name="actor">Who asks.</param>
    /// <param name="name">The program.</param>
    /// <param name="scopes">What it may do.</param>
    /// <param name="bench">The one bench that it may do it with; nothing for all.</param>
    /// <param name="lastDay">The last day on which it opens anything, as a date field writes it.</param>
    public Outcome MakeKey(Actor actor, string? name, IReadOnlyList<KeyScope> scopes, string? bench,
        string? lastDay) =>
        !Access.May(actor, Right.Administer) ? new Outcome(Words.NotAllowed)
        : scopes.Count == 0 ? new Outcome(PeopleWords.KeyNeedsScope)
        : Fault(name, bench) is { } fault ? new Outcome(fault)
        : LocalDatePattern.Iso.Parse(lastDay ?? "") is not { Success: true, Value: var day }
            ? new Outcome(ClinicRefusalWords.KeyEndOutOfRange)
        : MakeKey(name!.Trim(), scopes, BenchOf(bench), actor.InLog, actor.Device, day);

    /// <summary>Revokes a program's key.</summary>
    public Outcome RevokeKey(Actor actor, DeviceId key)
    {
        if (!Access.May(actor, Right.Administer))
            return new Outcome(Words.NotAllowed);
        var outcome =
            Outcome.Of(() =>
                store.Record([new ClinicEvent.KeyRevoked(key)], Provenances.Of(actor, clock),
                    remove: [(key.Value, SecretKind.Key)]));
        sessions.TellChanged();
        return outcome;
    }

    /// <summary>The enrolled device whose key this is, or null.</summary>
    public ClinicDevice? DeviceOf(string? presented) =>
        OwnerOf(presented) is { } owner
            && clinic.Log.People.Devices.GetValueOrDefault(owner) is { IsRevoked: false } device ? device : null;

    /// <summary>Today in the clinic: the day by which keys end.</summary>
    public LocalDate Today => clinic.Today(clock.Now);

    /// <summary>The keys that end soon, the next first.</summary>
    public IReadOnlyList<ClinicKey> EndingSoon =>
        [.. Keys.Where(key => key.EndsSoon(Today)).OrderBy(key => key.LastDay)];

    /// <summary>The program whose key this is, or null; also where its last day has passed.</summary>
    public ClinicKey? KeyOf(string? presented) =>
        OwnerOf(presented) is { } owner && clinic.Log.People.Keys.GetValueOrDefault(owner) is { IsRevoked: false } key
            ? key : null;

    /// <summary>Enrols a device; shows its key.</summary>
    public Outcome Enrol(string name, DeviceKind kind, BenchId? bench, PersonId by, DeviceId through)
    {
        var id = new DeviceId((kind == DeviceKind.Wall ? "wall-" : "tablet-") + Tokens.NewName());
        return WithKey(id, new ClinicEvent.DeviceEnrolled(id, name, kind, bench), by, through);
    }

    /// <summary>Makes a key for a program, and shows it.</summary>
    public Outcome MakeKey(string name, IReadOnlyList<KeyScope> scopes, BenchId? bench, PersonId by, DeviceId through,
        LocalDate? lastDay = null)
    {
        var id = new DeviceId("key-" + Tokens.NewName());
        return WithKey(id, new ClinicEvent.KeyMade(id, name, [.. scopes.Distinct()], bench,
            lastDay ?? Today.Plus(ClinicKey.UsualLife)), by, through);
    }

    private Outcome WithKey(DeviceId id, ClinicEvent made, PersonId by, DeviceId through)
    {
        var token = Tokens.New();
        return Outcome.Of(
            () =>
                store.Record([made], Provenances.Of(by, through, clock),
                    [new Secret(id.Value, SecretKind.Key, Tokens.Hash(token))]),
            $"{id.Value}.{token}");
    }

    private string? Fault(string? name, string? bench) =>
        !Bounds.IsName(name?.Trim()) ? PeopleWords.DeviceNameFault
        : !string.IsNullOrEmpty(bench) && clinic.Catalogue.Benches().All(known => known.Bench.Value != bench)
        ? Say.Of(Words.BenchUnknown, bench)
        : null;

    private static BenchId? BenchOf(string? bench) => string.IsNullOrEmpty(bench) ? null : new BenchId(bench);

    private DeviceId? OwnerOf(string? presented)
    {
        if (presented is not { Length: <= LongestKey } || presented.Split('.') is not [var owner, var token]
            || !TextId.IsValid(owner))
            return null;
        return store.Find(owner, SecretKind.Key) is { } secret && Tokens.Fits(token, secret.Hash)
            ? new DeviceId(owner) : null;
    }
}
