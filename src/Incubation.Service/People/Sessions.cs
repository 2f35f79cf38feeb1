using System.Collections.Immutable;
using System.Data.Common;
using System.Globalization;
using Incubation.Bench;
using Incubation.Clinic;
using Incubation.Clinic.People;
using Incubation.Model;
using Incubation.Records.Clinic;
using Incubation.Records.Log;
using Incubation.Records.People;
using Incubation.Service.Clinic;
using Incubation.Service.Clock;
using Incubation.Service.Settings;
using Incubation.Service.Text;
using NodaTime;
using NodaTime.Extensions;

namespace Incubation.Service.People;

/// <summary>How long sign-ins last, in real time.</summary>
/// <param name="TabletIdle">An enrolled tablet locks after so long without a touch.</param>
/// <param name="BrowserIdle">Any other sign-in ends after so long without one.</param>
/// <param name="Longest">No sign-in lasts longer.</param>
public sealed record SessionLengths(Duration TabletIdle, Duration BrowserIdle, Duration Longest)
{
    /// <summary>
    /// The usual lengths: common practice, judged for a bench where hands are gloved and people pass by.
    /// </summary>
    public static SessionLengths Usual { get; } = new(Duration.FromMinutes(10), Duration.FromMinutes(60),
        Duration.FromHours(12));

    /// <summary>Reads the settings, in whole minutes; every fault is a sentence in <paramref name="faults"/>.</summary>
    public static SessionLengths Read(IConfiguration configuration, ICollection<string> faults)
    {
        Duration Minutes(string name, Duration usual)
        {
            var text = configuration[$"{ServerSettings.Section}:{name}"];
            if (string.IsNullOrWhiteSpace(text))
                return usual;
            if (int.TryParse(text, NumberStyles.None, CultureInfo.InvariantCulture, out var minutes) && minutes >= 1
                && Duration.FromMinutes(minutes) <= Usual.Longest)
                return Duration.FromMinutes(minutes);
            faults.Add(Say.Of(PeopleWords.IdleFault, name, text, Usual.Longest.TotalMinutes));
            return usual;
        }

        return Usual with
        {
            TabletIdle = Minutes(nameof(TabletIdle), Usual.TabletIdle),
            BrowserIdle = Minutes(nameof(BrowserIdle), Usual.BrowserIdle)
        };
    }
}

/// <summary>
/// The sign-ins that have not ended: each is looked up here at every request, call and tap, so that what is ended here
/// is ended everywhere at once. On an enrolled tablet there is one at a time, held by the tablet's key; elsewhere a
/// random token of its own stands for it.
/// </summary>
public sealed class Sessions
{
    private static readonly Duration KeptToThe = Duration.FromMinutes(1);
    private readonly Lock one = new();
    private readonly ClinicHost clinic;
    private readonly PeopleStore store;
    private readonly BenchClock clock;
    private readonly TimeProvider real;
    private ImmutableDictionary<string, Session> all;
    private readonly Dictionary<string, Instant> kept = [];
    // Ended here and nowhere else yet, because the file could not be written: each sweep tries again.
    private readonly List<(Session Session, SignOutCause Why, Provenance? By)> unwritten = [];

    /// <summary>Takes up the sign-ins that had not ended when the server stopped.</summary>
    public Sessions(ClinicHost clinic, PeopleStore store, BenchClock clock, SessionLengths lengths,
        [FromKeyedServices(RealTime)] TimeProvider real)
    {
        this.clinic = clinic;
        this.store = store;
        this.clock = clock;
        this.real = real;
        Lengths = lengths;
        all = store.Sessions().ToImmutableDictionary(session => session.Id);
    }

    /// <summary>Names the machine's own time: sign-ins do not run faster in a demo.</summary>
    public const string RealTime = "real";

    /// <summary>How long sign-ins last.</summary>
    public SessionLengths Lengths { get; }

    /// <summary>Called after a sign-in has begun or ended, or rights have changed.</summary>
    public event Action? Changed;

    private Instant Now => real.GetUtcNow().ToInstant();

    /// <summary>A sign-in that holds now, or null.</summary>
    public Session? Find(string id) => all.GetValueOrDefault(id) is { } session && Fault(session) is null
        ? session : null;

    /// <summary>The sign-in that an enrolled device holds, or null.</summary>
    public Session? On(DeviceId device) => Find(IdOn(device));

    /// <summary>
    /// Begins a sign-in on an enrolled device, in the place of the one before, or elsewhere under a token.
    /// </summary>
    /// <param name="person">Who.</param>
    /// <param name="way">How they showed who they are.</param>
    /// <param name="device">The enrolled device, or null.</param>
    /// <param name="address">Where it came from.</param>
    /// <param name="browser">What the log calls the browser; null for a new name.</param>
    /// <returns>The token that stands for it; null where the device's key does.</returns>
    public string? Begin(PersonId person, SignInWay way, DeviceId? device, string address, DeviceId? browser = null) =>
        TryBegin(person, way, device, address, browser, null, null, out var token) is { } refused
            ? throw new InvalidOperationException(ClinicText.Say(refused)) : token;

    /// <summary>As above, but what the clinic's log refuses is told.</summary>
    /// <param name="person">Who.</param>
    /// <param name="way">How they showed who they are.</param>
    /// <param name="device">The enrolled device, or null.</param>
    /// <param name="address">Where it came from.</param>
    /// <param name="browser">What the log calls the browser; null for a new name.</param>
    /// <param name="called">Which browser on which system it is, or null.</param>
    /// <param name="used">By which passkey, or null; recorded with the sign-in or not at all.</param>
    /// <param name="token">The token that stands for it; null where the device's key does.</param>
    internal ClinicOutcome.Refused? TryBegin(PersonId person, SignInWay way, DeviceId? device, string address,
        DeviceId? browser, string? called, ClinicEvent.PasskeyUsed? used, out string? token)
    {
        token = device is null ? Tokens.New() : null;
        var id = token is null ? IdOn(device!.Value) : Tokens.Hash(token);
        if (device is not null)
            End(id, SignOutCause.Switched);
        var session = new Session(id, person, way, device, device ?? browser
            ?? new DeviceId(PeopleState.KnownBrowser + Tokens.NewName()), Now, Now, called);
        var signedIn = new ClinicEvent.SignedIn(person, way, address);
        lock (one)
        {
            var outcome = clinic.Log.Record(used is null ? [signedIn] : [used, signedIn], Provenance(session));
            if (outcome is ClinicOutcome.Refused refused)
                return refused;
            if (outcome is ClinicOutcome.Recorded recorded)
                session = session with { Begun = recorded.Head.Sequence };
            store.Keep(session);
            all = all.SetItem(id, session);
            kept[id] = session.LastSeen;
        }

        Changed?.Invoke();
        return null;
    }

    /// <summary>A person's sign-ins that hold now.</summary>
    public IEnumerable<Session> Of(PersonId person) =>
        all.Values.Where(session => session.Person == person && Fault(session) is null);

    /// <summary>Notes that something was touched.</summary>
    public void Touched(string id)
    {
        lock (one)
        {
            if (Find(id) is not { } session)
                return;
            session = session with { LastSeen = Now };
            all = all.SetItem(id, session);
            if (session.LastSeen - kept.GetValueOrDefault(id) < KeptToThe)
                return;
            kept[id] = session.LastSeen;
            try
            {
                store.Keep(session);
            }
            catch (Exception fault) when (fault is AppendException or DbException)
            {
                // Bookkeeping: what was touched goes on, and says for itself whether it could be written.
            }
        }
    }

    /// <summary>Ends a sign-in: at once for everybody, and in the file as soon as that can be written.</summary>
    /// <param name="id">Which.</param>
    /// <param name="why">Why.</param>
    /// <param name="by">Who ends it, where that is another sign-in; null where it is this one.</param>
    public void End(string id, SignOutCause why, Provenance? by = null)
    {
        lock (one)
        {
            if (!all.TryGetValue(id, out var session))
                return;
            all = all.Remove(id);
            kept.Remove(id);
            unwritten.Add((session, why, by));
            try
            {
                WriteEnds();
            }
            catch (Exception fault) when (fault is AppendException or DbException)
            {
                // It has ended all the same.
            }
        }

        Changed?.Invoke();
    }

    private void WriteEnds()
    {
        while (unwritten is [var (session, why, by), ..])
        {
            store.End(session.Id);
            clinic.Log.Record(new ClinicEvent.SignedOut(session.Person, why),
                (by ?? Provenance(session)) with { Id = store.EndOf(session) });
            unwritten.RemoveAt(0);
        }
    }

    /// <summary>Ends every sign-in of a person but one.</summary>
    public void EndAllOf(PersonId person, string? but = null)
    {
        foreach (var session in all.Values.Where(session => session.Person == person && session.Id != but))
            End(session.Id, SignOutCause.Withdrawn);
    }

    /// <summary>Ends the sign-in on an enrolled device, which was revoked.</summary>
    public void EndOn(DeviceId device) => End(IdOn(device), SignOutCause.Withdrawn);

    /// <summary>
    /// Ends what has lasted too long or may not go on: called now and then, so that screens learn of it.
    /// </summary>
    /// <exception cref="AppendException">What has ended cannot be written yet.</exception>
    public void Sweep()
    {
        foreach (var session in all.Values)
            if (Fault(session) is { } why)
                End(session.Id, why);
        lock (one)
            WriteEnds();
    }

    /// <summary>Tells screens that rights have changed.</summary>
    public void TellChanged() => Changed?.Invoke();

    private static string IdOn(DeviceId device) => "on/" + device.Value;

    private SignOutCause? Fault(Session session)
    {
        var people = clinic.Log.People;
        var idle = session.Device is null ? Lengths.BrowserIdle : Lengths.TabletIdle;
        return people.Person(session.Person) is not { IsActive: true } ? SignOutCause.Withdrawn
            : session.Device is { } device && people.Devices.GetValueOrDefault(device) is not { IsRevoked: false }
            ? SignOutCause.Withdrawn
            : people.Person(session.Person)!.HasEnded(clinic.Today(clock.Now)) ? SignOutCause.Expired
            : Now - session.Started > Lengths.Longest ? SignOutCause.Expired
            : Now - session.LastSeen > idle ? SignOutCause.Idle
            : null;
    }

    private Provenance Provenance(Session session) => Provenances.Of(session.Person, session.Name, clock);
}
