using Incubation.Bench;
using Incubation.Clinic;
using Incubation.Clinic.Connections;
using Incubation.Model;
using Incubation.Records.Benches;
using Incubation.Records.Clinic;
using Incubation.Records.Integrity;
using Incubation.Records.Log;
using Incubation.Records.Seals;
using Incubation.Records.Storage;
using Microsoft.EntityFrameworkCore;

namespace Incubation.Records.Connections;

/// <summary>
/// The outbox: of what destinations are told, one row for each notice, written in the transaction of the event from
/// which it follows. What it says follows from the streams; in which order it was written, they do not tell, so that is
/// sealed, and kept where the table is made anew.
/// </summary>
internal static class NoticeProjection
{
    /// <summary>Name under which the table's version is kept.</summary>
    public const string Name = "notices";

    /// <summary>
    /// Grows with every change of what is written into the table; an older one is made anew at the next start.
    /// </summary>
    public const int CodeVersion = 1;

    /// <summary>Makes the table anew where it was written by another version of the code, or never.</summary>
    public static void Bring(DataFile file)
    {
        using (var context = file.Read())
            if (Positions.Of(context.Database, Name) is (_, CodeVersion))
                return;
        MakeAnew(file);
    }

    /// <summary>
    /// Makes the table say what the streams say, in one transaction. A notice that is in it keeps its place and its
    /// number, so that nothing is told twice or in another order; one that was missing comes last.
    /// </summary>
    public static void MakeAnew(DataFile file) => file.Write(StreamName.Clinic, context =>
    {
        var there = context.Notices.AsNoTracking().AsEnumerable()
            .Where(row => RecordSeal.Holds(row.Seal, file.Seal.Of(row))).ToDictionary(KeyOf);
        context.Notices.ExecuteDelete();
        var (old, added) = (new List<NoticeRow>(), new List<NoticeRow>());
        foreach (var row in Replayed(file))
            if (there.TryGetValue(KeyOf(row), out var kept))
                old.Add(row with { Number = kept.Number, Revision = kept.Revision });
            else
                added.Add(row);
        context.Notices.AddRange(old.Select(row => row with { Seal = file.Seal.Of(row) }));
        context.SaveChanges();
        Add(context, file.Seal, [.. added.OrderBy(row => row.At)]);
        context.MoveProjection(Name, 0, CodeVersion);
        return 0;
    });

    /// <summary>Writes notices at the end, in this order.</summary>
    public static void Add(RecordsContext context, RecordSeal seal, IReadOnlyList<NoticeRow> rows)
    {
        if (rows.Count == 0)
            return;
        var number = context.Notices.Max(row => (long?)row.Number) ?? 0;
        var revisions = new Dictionary<string, int>(StringComparer.Ordinal);
        foreach (var row in rows)
        {
            if (!revisions.TryGetValue(row.Request, out var revision) && row.Request.Length > 0)
                revision = context.Notices.Where(one => one.Request == row.Request)
                    .Max(one => (int?)one.Revision) ?? 0;
            if (row.Request.Length > 0)
                revisions[row.Request] = revision + 1;
            var numbered = row with { Number = ++number, Revision = row.Request.Length > 0 ? revision + 1 : 1 };
            context.Notices.Add(numbered with { Seal = seal.Of(numbered) });
        }
    }

    /// <summary>The row of an entry of the clinic's stream, or null.</summary>
    public static NoticeRow? RowOf(ClinicEntry entry, long sequence) => entry.Event switch
    {
        ClinicEvent.ResultNoticed noticed => RowOf(StreamName.Clinic, sequence, noticed.Request.Value, noticed.Kind,
            noticed.Bench, noticed.Batch, entry.Provenance),
        ClinicEvent.AlarmNoticed noticed => RowOf(StreamName.Clinic, sequence, "", NoticeKind.Alarm, noticed.Bench, 0,
            entry.Provenance),
        _ => null,
    };

    /// <summary>The rows that a command leads to at a bench.</summary>
    /// <param name="before">The bench before it; null before its first row.</param>
    /// <param name="after">The bench after it.</param>
    /// <param name="sequence">The command's last row.</param>
    /// <param name="provenance">Who said so, when.</param>
    public static IEnumerable<NoticeRow> RowsOf(BenchState? before, BenchState after, long sequence,
        Provenance provenance) => BenchNews.Of(before, after).Select(news => RowOf(StreamName.OfBench(after.Id),
            sequence, news.Request.Value, news.Kind, after.Id, news.Batch, provenance));

    /// <summary>Names a notice.</summary>
    public static NoticeId IdOf(string stream, long sequence, string request) =>
        new(StreamName.TryParse(stream, out var name) ? name.Bench : null, sequence,
            TextId.IsValid(request) ? new RequestId(request) : null);

    /// <summary>The stream of a notice.</summary>
    public static string StreamOf(NoticeId id) =>
        (id.Bench is { } bench ? StreamName.OfBench(bench) : StreamName.Clinic).ToString();

    private static (string, long, string) KeyOf(NoticeRow row) => (row.Stream, row.Sequence, row.Request);

    private static NoticeRow RowOf(StreamName stream, long sequence, string request, NoticeKind kind, BenchId bench,
        int batch, Provenance provenance) => new()
        {
            Stream = stream.ToString(),
            Sequence = sequence,
            Request = request,
            Kind = kind,
            Bench = bench.Value,
            Batch = batch,
            At = provenance.Arrived,
        };

    /// <summary>What the streams say: each notice without its place.</summary>
    private static IEnumerable<NoticeRow> Replayed(DataFile file)
    {
        foreach (var notice in new BenchStreams(file).All().SelectMany(bench => Replayed(file, bench)))
            yield return notice;
        foreach (var row in file.Log.ReadAll(StreamName.Clinic).Where(row => row.Payload is not null))
            if (RowOf(ClinicLog.EntryOf(row), row.Header.Sequence) is { } notice)
                yield return notice;
    }

    /// <summary>
    /// What a bench's stream says, up to a row that its own state does not take: what follows tells nobody anything,
    /// and a start goes on.
    /// </summary>
    private static List<NoticeRow> Replayed(DataFile file, BenchId bench)
    {
        var beginning = new BenchStreams(file).Beginning(bench)?.Event as BenchEvent.CheckpointKept;
        var state = beginning is null ? null : BenchState.From(beginning.Checkpoint, beginning.UpTo);
        var reader = new NoticeReader();
        var told = new List<NoticeRow>();
        try
        {
            foreach (var row in file.Log.ReadAll(StreamName.OfBench(bench), beginning?.UpTo ?? 0))
            {
                var (before, entry) = (state, BenchStreams.EntryOf(row));
                state = LiveBench.Apply(state, entry);
                told.AddRange(reader.Take(before, entry, state));
            }
        }
        catch (InvalidOperationException)
        {
            return told;
        }

        told.AddRange(reader.End());
        return told;
    }
}

/// <summary>Tells a bench's notices from its entries: a command's rows count together.</summary>
internal sealed class NoticeReader
{
    private BenchState? before;
    private (BenchState After, Provenance Provenance)? last;

    /// <summary>Takes an entry in; the notices of the command before, where this begins another.</summary>
    /// <param name="was">The bench before it; null before its first row.</param>
    /// <param name="entry">The entry.</param>
    /// <param name="after">The bench after it.</param>
    public IReadOnlyList<NoticeRow> Take(BenchState? was, BenchEntry entry, BenchState after)
    {
        IReadOnlyList<NoticeRow> told = [];
        if (last is not { } one || one.Provenance.Id != entry.Provenance.Id)
        {
            told = End();
            before = was;
        }

        last = (after, entry.Provenance);
        return told;
    }

    /// <summary>The notices of the last command.</summary>
    public IReadOnlyList<NoticeRow> End()
    {
        IReadOnlyList<NoticeRow> told = last is var (after, provenance)
            ? [.. NoticeProjection.RowsOf(before, after, after.Revision, provenance)] : [];
        last = null;
        return told;
    }
}
