using System.Text;
using Incubation.Bench;
using Incubation.Clinic;
using Incubation.Clinic.People;
using Incubation.Model;
using Incubation.Records.Clinic;
using Incubation.Records.Log;
using Incubation.Records.Seals;
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
/// with an event is written in the event's transaction. Each is sealed with the record's key, and a secret's hash is
/// wrapped with it; one whose seal does not hold, or that the log knows to be replaced or ended, is as good as none,
/// and <see cref="DataFile.Distrust"/> is told. May be used from any thread.
/// </summary>
public sealed class PeopleStore(DataFile file, ClinicLog log)
{
    /// <summary>Records events, sets secrets, and takes away what is named, in one transaction; all or none.</summary>
    /// <param name="events">The events, at least one; each secret that is set is set by one of them.</param>
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
                context.Secrets.Add(RowOf(secret, SetBy(context, events, secret)));
        });

    /// <summary>A secret, or null.</summary>
    public Secret? Find(string owner, SecretKind kind)
    {
        using var connection = file.OpenReader();
        var revision = log.Revision;
        var secrets = log.Secrets;
        if (new SealCheck(connection, file.Seal, secrets).Secrets(owner, kind) is not [var (row, fault)])
            return null;
        var hash = row is null ? null
            : file.Seal.Unwrap(owner, kind, row.Hash) ?? (secrets.IsSealed ? null : row.Hash);
        if (fault is null && hash is not null)
            return new Secret(owner, kind, hash, row!.Expires);
        // One that is being set beside this reading is no fault: its row is in the file, and not yet in this state.
        if (row is null || row.SetBy <= revision)
            file.Distrust(fault ?? new LogBrokenException($"Secrets: {owner}, {kind}", 0, LogDifference.SealDiffers));
        return null;
    }

    /// <summary>Replaces a hash by another of the same secret: made with more rounds.</summary>
    public void Rehash(Secret secret) => file.Write(StreamName.Clinic, context =>
    {
        if (context.Secrets.AsNoTracking()
            .SingleOrDefault(row => row.Owner == secret.Owner && row.Kind == secret.Kind) is not { } old
            || HashAt(context, old.SetBy) is not { } setBy || !RecordSeal.Holds(old.Seal, file.Seal.Of(old, setBy)))
            return false;
        context.Secrets.Where(row => row.Owner == secret.Owner && row.Kind == secret.Kind).ExecuteDelete();
        context.Secrets.Add(RowOf(secret with { Expires = old.Expires }, (old.SetBy, setBy)));
        return true;
    });

    /// <summary>Takes away every secret whose seal does not hold: it opens nothing as it is.</summary>
    internal void LeaveOutUnsealed()
    {
        IReadOnlyList<Judged<SecretRow>> judged;
        using (var connection = file.OpenReader())
            judged = new SealCheck(connection, file.Seal, log.Secrets).Secrets();
        if (judged.All(one => one.Fault is null))
            return;
        // A row that cannot even be read has no key to delete it by.
        file.Write(StreamName.Clinic, context =>
        {
            context.Secrets.ExecuteDelete();
            context.Secrets.AddRange(judged.Where(one => one.Fault is null).Select(one => one.Row!));
            return judged;
        });
    }

    /// <summary>The sign-ins that have not ended.</summary>
    public IReadOnlyList<Session> Sessions()
    {
        using var connection = file.OpenReader();
        var judged = new SealCheck(connection, file.Seal, log.Secrets).Sessions();
        foreach (var fault in judged.Select(one => one.Fault).OfType<LogBrokenException>())
            file.Distrust(fault);
        return [.. judged.Where(one => one.Fault is null).Select(one => one.Row!).Select(row =>
            new Session(row.Id, new PersonId(row.Person), row.Way, row.Device is { } device
                ? new DeviceId(device) : null, new DeviceId(row.Name), row.Started, row.LastSeen, row.Browser)
            { Begun = row.Begun })];
    }

    /// <summary>Keeps a sign-in, or what has changed in it.</summary>
    public void Keep(Session session) => file.Write(StreamName.Clinic, context =>
    {
        context.Sessions.Where(row => row.Id == session.Id).ExecuteDelete();
        var row = new SessionRow
        {
            Id = session.Id,
            Person = session.Person.Value,
            Way = session.Way,
            Device = session.Device?.Value,
            Name = session.Name.Value,
            Started = session.Started,
            LastSeen = session.LastSeen,
            Begun = session.Begun,
            Browser = session.Browser,
        };
        if (HashAt(context, row.Begun) is { } begun)
            context.Sessions.Add(row with { Seal = file.Seal.Of(row, begun) });
        return session;
    });

    /// <summary>Forgets a sign-in: its token opens nothing any more.</summary>
    public void End(string session) =>
        file.Write(StreamName.Clinic, context => context.Sessions.Where(row => row.Id == session).ExecuteDelete());

    /// <summary>
    /// The id under which the end of a sign-in is recorded, so that one which was put back into the file is known to
    /// have ended.
    /// </summary>
    public ReportId EndOf(Session session)
    {
        ArgumentNullException.ThrowIfNull(session);
        using var connection = file.OpenReader();
        return file.Seal.EndOf(SealCheck.HashAt(connection, session.Begun)
            ?? Digest.Of(Encoding.UTF8.GetBytes(session.Id)));
    }

    private SecretRow RowOf(Secret secret, (long Sequence, Digest Hash) setBy)
    {
        var row = new SecretRow
        {
            Owner = secret.Owner,
            Kind = secret.Kind,
            Hash = file.Seal.Wrap(secret.Owner, secret.Kind, secret.Hash),
            Expires = secret.Expires,
            SetBy = setBy.Sequence,
        };
        return row with { Seal = file.Seal.Of(row, setBy.Hash) };
    }

    /// <summary>The row by which a secret is set: the events' own, which stand at the end of the stream.</summary>
    private static (long Sequence, Digest Hash) SetBy(RecordsContext context, IReadOnlyList<ClinicEvent> events,
        Secret secret)
    {
        List<EventHeaderRow> rows = [.. context.ChangeTracker.Entries<EventHeaderRow>().Select(entry => entry.Entity)
            .OrderBy(row => row.Sequence)];
        for (var index = events.Count - 1; index >= 0; index--)
            if (SecretsState.SetIn(events[index]) == (secret.Owner, secret.Kind) && rows.Count == events.Count)
                return (rows[index].Sequence, Digest.FromBytes(rows[index].Hash));
        throw new InvalidOperationException(Sentence.Of(Words.SealNoEvent, $"{secret.Owner}, {secret.Kind}"));
    }

    private static Digest? HashAt(RecordsContext context, long sequence)
    {
        var stream = StreamName.Clinic.ToString();
        return context.EventHeaders.AsNoTracking().Where(row => row.Stream == stream && row.Sequence == sequence)
            .Select(row => row.Hash).FirstOrDefault() is { Length: Digest.Length } hash
            ? Digest.FromBytes(hash) : null;
    }
}
