using System.Security.Cryptography;
using Incubation.Clinic;
using Incubation.Clinic.Connections;
using Incubation.Clinic.People;
using Incubation.Exchange.Webhooks;
using Incubation.Model;
using Incubation.Records.Clinic;
using Incubation.Records.Connections;
using Incubation.Records.People;
using Incubation.Service.Clinic;
using Incubation.Service.Clock;
using Incubation.Service.People;
using Incubation.Service.Text;
using NodaTime;
using NodaTime.Text;

namespace Incubation.Service.Connections;

/// <summary>
/// Destinations, as people keep them: added, changed and ended by supervisors; what waits for one is sent at a press or
/// given up with a reason. Addresses of this machine are named by administrators alone.
/// </summary>
public sealed class ConnectionService(ClinicHost clinic, PeopleStore secrets, OutboxStore store, OutboxSender sender,
    BenchClock clock, [FromKeyedServices(Sessions.RealTime)] TimeProvider real)
{
    /// <summary>Messages bear two signatures for so long after a secret was replaced.</summary>
    public static readonly Duration BothFor = Duration.FromHours(24);

    private const int MaxWords = 200;

    /// <summary>Those in use, in the order in which they were added.</summary>
    public IReadOnlyList<Connection> InUse => [.. clinic.Log.Connections.InUse];

    /// <summary>How one is.</summary>
    public DestinationFigures FiguresOf(DestinationId id) => sender.FiguresOf(id);

    /// <summary>What it took last; null where it took nothing yet.</summary>
    public Delivery? LastOf(DestinationId id) => store.LastOf(id);

    /// <summary>Adds a destination, or changes it. The secret of a new one is shown this once.</summary>
    /// <param name="actor">Who.</param>
    /// <param name="id">Which; null for a new one.</param>
    /// <param name="form">What was filled in.</param>
    /// <returns>What is wrong, by member, empty where it is done; and the secret of a new one.</returns>
    public (IReadOnlyList<FormFault> Faults, string? Secret) Set(Actor? actor, DestinationId? id, ConnectionForm form)
    {
        ArgumentNullException.ThrowIfNull(form);
        if (!Access.May(actor, Right.Supervise))
            return ([new FormFault("", Words.NotAllowed)], null);
        var (destination, faults) = form.Read();
        if (destination is null)
            return (faults, null);
        var before = id is { } known ? clinic.Log.Connections.Find(known)?.Destination : null;
        // Whoever may lead messages to this machine, or in the clear, may reach what listens here alone.
        if (!Access.May(actor, Right.Administer) && !destination.Named.ToHashSet().SetEquals(before?.Named ?? []))
            return ([new FormFault(nameof(ConnectionForm.Named), ConnectionsWords.NamedByAdministrator)], null);
        var secret = id is null ? NewSecret() : null;
        var outcome = Outcome.Of(() => id is { } one
            ? clinic.Log.Record(new ClinicEvent.DestinationChanged(one, destination), Provenances.Of(actor!, clock))
            : Add(actor!, destination, secret!));
        return outcome.IsDone ? ([], secret?.Write()) : ([new FormFault("", outcome.Fault!)], null);
    }

    /// <summary>Gives a destination another secret, which is shown this once.</summary>
    public Outcome ReplaceSecret(Actor? actor, DestinationId id)
    {
        if (!Access.May(actor, Right.Supervise))
            return new Outcome(Words.NotAllowed);
        var until = Instant.FromDateTimeOffset(real.GetUtcNow()) + BothFor;
        var next = NewSecret();
        var kept = WebhookSecrets.Read(secrets.Find(id.Value, SecretKind.Signing)?.Hash)
            ?.Replaced(next, until.ToUnixTimeSeconds()) ?? new WebhookSecrets(next);
        return Outcome.Of(() => secrets.Record([new ClinicEvent.DestinationSecretReplaced(id, until)],
            Provenances.Of(actor!, clock), [new Secret(id.Value, SecretKind.Signing, kept.Write())]), next.Write());
    }

    /// <summary>Switches a destination on or off; what is for it waits meanwhile.</summary>
    public Outcome Switch(Actor? actor, DestinationId id, bool on, string? why) => Said(actor, why, words =>
        clinic.Log.Record(new ClinicEvent.DestinationSwitched(id, on, words), Provenances.Of(actor!, clock)));

    /// <summary>Ends a destination: what waits for it is given up, its secret goes.</summary>
    public Outcome End(Actor? actor, DestinationId id, string? why) => Said(actor, why, words =>
        secrets.Record([new ClinicEvent.DestinationEnded(id, words)], Provenances.Of(actor!, clock),
            remove: [(id.Value, SecretKind.Signing)]));

    /// <summary>Sends a message that says nothing, now; the sentence says what came of it.</summary>
    public async Task<(bool IsTaken, string Sentence)> TestAsync(Actor? actor, DestinationId id,
        CancellationToken cancellation)
    {
        if (!Access.May(actor, Right.Supervise))
            return (false, Words.NotAllowed);
        if (clinic.Log.Connections.Find(id) is not { HasEnded: false } connection)
            return (false, Say.Of(ConnectionsWords.RefusedUnknown, id));
        var outcome = await sender.TestAsync(connection, cancellation);
        return (outcome is DeliveryOutcome.Taken, Say.Of(outcome is DeliveryOutcome.Taken
            ? ConnectionsWords.TestTaken : ConnectionsWords.TestNotTaken, connection.Destination.Name,
            ConnectionText.AnswerOf(outcome)));
    }

    /// <summary>Tries a destination now, whatever it waits for.</summary>
    public async Task<Outcome> TryNowAsync(Actor? actor, DestinationId id)
    {
        if (!Access.May(actor, Right.Supervise))
            return new Outcome(Words.NotAllowed);
        return await sender.DoAsync(id, (queue, now) =>
        {
            queue.TryNow(now);
            return Outcome.Done();
        }) ?? new Outcome(Say.Of(ConnectionsWords.RefusedUnknown, id));
    }

    /// <summary>Sends a message again, now, that was refused for good or waits.</summary>
    public Task<Outcome> ResendAsync(Actor? actor, DestinationId id, NoticeId notice) =>
        !Access.May(actor, Right.Supervise) ? Task.FromResult(new Outcome(Words.NotAllowed))
        : DoAsync(id, notice, (queue, now) => queue.Resend(notice, now),
            new ClinicEvent.DeliveryResent(id, notice), actor!);

    /// <summary>Gives a message up: it is not sent any more, and those behind it go on.</summary>
    public Task<Outcome> GiveUpAsync(Actor? actor, DestinationId id, NoticeId notice, string? why) =>
        !Access.May(actor, Right.Supervise) ? Task.FromResult(new Outcome(Words.NotAllowed))
        : why?.Trim() is not { Length: > 0 and <= MaxWords } words || !Bounds.IsWords(words)
            ? Task.FromResult(new Outcome(ConnectionsWords.WhyFault))
        : DoAsync(id, notice, (queue, _) => queue.GiveUp(notice), new ClinicEvent.DeliveryGivenUp(id, notice, words),
            actor!);

    /// <summary>
    /// How many messages it will be if a day's results are sent to a destination, again or for the first time.
    /// </summary>
    /// <param name="actor">Who.</param>
    /// <param name="id">Which destination.</param>
    /// <param name="day">The clinic's day, as it was filled in: "2026-03-02".</param>
    /// <returns>The number, or what is wrong.</returns>
    public async Task<(int Count, string? Fault)> CountOfDayAsync(Actor? actor, DestinationId id, string? day)
    {
        var (said, connection, fault) = DayOf(actor, id, day);
        if (said is null)
            return (0, fault);
        // What it took a moment ago is marked before it is counted.
        await sender.DoAsync(id, (_, _) => Outcome.Done());
        var count = store.CountAgain(connection!, new Interval(said.From, said.Until));
        return (count, count > 0 ? null : Say.Of(ConnectionsWords.DayEmpty, Say.Day(said.Day)));
    }

    /// <summary>
    /// Sends a day's results to a destination, also those from before it was added and those that it took: each under
    /// its id.
    /// </summary>
    public async Task<Outcome> ResendDayAsync(Actor? actor, DestinationId id, string? day)
    {
        var (said, _, fault) = DayOf(actor, id, day);
        if (said is null)
            return new Outcome(fault!);
        // What it took a moment ago is marked before its marks are forgotten.
        return await sender.DoAsync(id, (_, _) => Record())
            // It was added just now, and is not sent to yet.
            ?? Record();

        Outcome Record() => Outcome.Of(() => store.Record(said, Provenances.Of(actor!, clock)));
    }

    private (ClinicEvent.DayResent? Said, Connection? Connection, string? Fault) DayOf(Actor? actor, DestinationId id,
        string? text)
    {
        if (!Access.May(actor, Right.Supervise))
            return (null, null, Words.NotAllowed);
        if (clinic.Log.Connections.Find(id) is not { HasEnded: false } connection)
            return (null, null, Say.Of(ConnectionsWords.RefusedUnknown, id));
        if (!connection.Destination.Topics.Contains(NoticeTopic.Results))
            return (null, null, ConnectionsWords.DayNoResults);
        var zone = clinic.Facts.Zone;
        if (LocalDatePattern.Iso.Parse(text?.Trim() ?? "") is not { Success: true, Value: var day }
            || day > clock.Now.InZone(zone).Date)
            return (null, null, ConnectionsWords.DayFault);
        return (new ClinicEvent.DayResent(id, day, day.AtStartOfDayInZone(zone).ToInstant(),
            day.PlusDays(1).AtStartOfDayInZone(zone).ToInstant()), connection, null);
    }

    private async Task<Outcome> DoAsync(DestinationId id, NoticeId notice,
        Func<DeliveryQueue, Instant, Delivery?> change, ClinicEvent said, Actor actor) =>
        await sender.DoAsync(id, (queue, now) =>
        {
            var before = queue.All.FirstOrDefault(one => one.Id == notice);
            if (before is null || change(queue, now) is not { } delivery)
                return new Outcome(ConnectionsWords.MessageGone);
            var outcome = Outcome.Of(() => store.Record(said, Provenances.Of(actor, clock), id, delivery));
            if (!outcome.IsDone && queue.All.All(one => one.Id != notice))
                queue.Add(before);
            return outcome;
        }) ?? new Outcome(Say.Of(ConnectionsWords.RefusedUnknown, id));

    private ClinicOutcome Add(Actor actor, Destination destination, WebhookSecret secret)
    {
        var id = Connection.IdOf(clinic.Log.Connections.All.Count + 1);
        return secrets.Record([new ClinicEvent.DestinationAdded(id, destination, store.Ends())],
            Provenances.Of(actor, clock),
            [new Secret(id.Value, SecretKind.Signing, new WebhookSecrets(secret).Write())]);
    }

    private static Outcome Said(Actor? actor, string? why, Func<string, ClinicOutcome> record) =>
        !Access.May(actor, Right.Supervise) ? new Outcome(Words.NotAllowed)
        : why?.Trim() is not { Length: > 0 and <= MaxWords } words || !Bounds.IsWords(words)
            ? new Outcome(ConnectionsWords.WhyFault)
        : Outcome.Of(() => record(words));

    private static WebhookSecret NewSecret() => WebhookSecret.Of(RandomNumberGenerator.GetBytes(WebhookSecret.Length));
}
