using Incubation.Bench;
using Incubation.Clinic;
using Incubation.Clinic.People;
using Incubation.Model;
using Incubation.Records.Clinic;
using Incubation.Records.Log;
using Incubation.Records.Storage;
using Microsoft.EntityFrameworkCore;
using NodaTime;

namespace Incubation.Records.People;

/// <summary>
/// The hash of a secret, which lies beside the log: a log cannot forget, and a secret must be replaceable.
/// </summary>
/// <param name="Owner">The person, device or key.</param>
/// <param name="Kind">What kind of secret.</param>
/// <param name="Hash">Its hash, in the form of whoever made it.</param>
/// <param name="Expires">When it opens nothing any more, or null.</param>
public sealed record Secret(string Owner, SecretKind Kind, string Hash, Instant? Expires = null);

/// <summary>
/// Secrets and sign-ins: what stands beside the clinic's stream and is no projection of it. What is changed together
/// with an event is written in the event's transaction. May be used from any thread.
/// </summary>
public sealed class PeopleStore(DataFile file, ClinicLog log)
{
    /// <summary>Records events, sets secrets, and takes away what is named, in one transaction; all or none.</summary>
    /// <param name="events">The events, at least one.</param>
    /// <param name="provenance">Who says so, when, through what.</param>
    /// <param name="set">Secrets that take the place of those of their owner and kind.</param>
    /// <param name="remove">Secrets that are taken away.</param>
    public ClinicOutcome Record(
        IReadOnlyList<ClinicEvent> events, Provenance provenance, IReadOnlyList<Secret>? set = null,
            IReadOnlyList<(string Owner, SecretKind Kind)>? remove = null) =>
        log.Record(events, provenance, context =>
        {
            foreach (var (owner, kind) in (remove ?? [])
                .Concat((set ?? []).Select(secret => (secret.Owner, secret.Kind))))
                context.Secrets.Where(row => row.Owner == owner && row.Kind == kind).ExecuteDelete();
            foreach (var secret in set ?? [])
                context.Secrets.Add(new SecretRow
                {
                    Owner = secret.Owner,
                    Kind = secret.Kind,
                    Hash = secret.Hash,
                    Expires = secret.Expires
                });
        });

    /// <summary>A secret, or null.</summary>
    public Secret? Find(string owner, SecretKind kind)
    {
        using var context = file.Read();
        return context.Secrets.SingleOrDefault(row => row.Owner == owner && row.Kind == kind) is { } row
            ? new Secret(row.Owner, row.Kind, row.Hash, row.Expires)
            : null;
    }

    /// <summary>Replaces a hash by another of the same secret: made with more rounds.</summary>
    public void Rehash(Secret secret) => file.Write(StreamName.Clinic, context =>
        context.Secrets.Where(row => row.Owner == secret.Owner && row.Kind == secret.Kind)
            .ExecuteUpdate(change => change.SetProperty(row => row.Hash, secret.Hash)));

    /// <summary>The sign-ins that have not ended.</summary>
    public IReadOnlyList<Session> Sessions()
    {
        using var context = file.Read();
        return [.. context.Sessions.AsEnumerable().Select(row =>
            new Session(row.Id, new PersonId(row.Person), row.Way, row.Device is { } device
                ? new DeviceId(device) : null, new DeviceId(row.Name), row.Started, row.LastSeen))];
    }

    /// <summary>Keeps a sign-in, or what has changed in it.</summary>
    public void Keep(Session session) => file.Write(StreamName.Clinic, context =>
    {
        context.Sessions.Where(row => row.Id == session.Id).ExecuteDelete();
        context.Sessions.Add(new SessionRow
        {
            Id = session.Id,
            Person = session.Person.Value,
            Way = session.Way,
            Device = session.Device?.Value,
            Name = session.Name.Value,
            Started = session.Started,
            LastSeen = session.LastSeen,
        });
        return session;
    });

    /// <summary>Forgets a sign-in: its token opens nothing any more.</summary>
    public void End(string session) =>
        file.Write(StreamName.Clinic, context => context.Sessions.Where(row => row.Id == session).ExecuteDelete());
}
