using Incubation.Bench;
using Incubation.Clinic;
using Incubation.Clinic.Connections;
using Incubation.Model;
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
    /// number, so that nothing is told twice or in another order; one that was missing comes last. The streams are read
    /// before, so that reports wait only while what came since is.
    /// </summary>
    public static void MakeAnew(DataFile file)
    {
        var replay = new NoticeReplay(file);
        replay.GoOn();
        file.Write(StreamName.Clinic, context =>
        {
            replay.GoOn();
            Put(context, file.Seal, replay.Told);
            context.MoveProjection(Name, 0, CodeVersion);
            return 0;
        });
    }

    /// <summary>Takes out what is not so and puts in what is missing; what is right is not touched.</summary>
    private static void Put(RecordsContext context, RecordSeal seal, IEnumerable<NoticeRow> told)
    {
        var missing = told.ToDictionary(KeyOf);
        foreach (var row in context.Notices.AsNoTracking().ToList())
        {
            var so = RecordSeal.Holds(row.Seal, seal.Of(row)) && missing.Remove(KeyOf(row), out var said)
                ? said with { Number = row.Number, Revision = row.Revision, Seal = row.Seal } : null;
            if (so == row)
                continue;
            context.Notices.Where(one => one.Stream == row.Stream && one.Sequence == row.Sequence
                && one.Request == row.Request).ExecuteDelete();
            if (so is not null)
                context.Notices.Add(so with { Seal = seal.Of(so) });
        }

        context.SaveChanges();
        Add(context, seal, [.. missing.Values.OrderBy(row => row.At)]);
    }

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
