using Incubation.Bench;
using Incubation.Model;
using Incubation.Records.Benches;
using Incubation.Records.Clinic;
using Incubation.Records.Log;
using Incubation.Records.Storage;

namespace Incubation.Records.Connections;

/// <summary>
/// What the streams say that destinations are told: each notice without its place. Goes on where it stopped, so that
/// most of it can be read while others write. Not for several threads at once.
/// </summary>
internal sealed class NoticeReplay(DataFile file)
{
    private readonly List<NoticeRow> clinic = [];
    private Dictionary<BenchId, BenchReplay> benches = [];
    private long clinicTo;

    /// <summary>Each notice of what has been read.</summary>
    public IEnumerable<NoticeRow> Told => clinic.Concat(benches.Values.SelectMany(bench => bench.Told));

    /// <summary>Reads what came since; everything, where something was erased since.</summary>
    public void GoOn()
    {
        var streams = new BenchStreams(file);
        var all = streams.All();
        // What is erased in the clinic's stream is erased together with a bench's.
        if (all.Any(bench => benches.TryGetValue(bench, out var begun)
            && begun.From != (BeginningOf(streams, bench)?.UpTo ?? 0)))
        {
            (benches, clinicTo) = ([], 0);
            clinic.Clear();
        }

        foreach (var bench in all)
        {
            if (!benches.TryGetValue(bench, out var begun))
                benches[bench] = begun = new BenchReplay(bench, BeginningOf(streams, bench));
            begun.GoOn(file);
        }

        foreach (var row in file.Log.ReadAll(StreamName.Clinic, clinicTo))
        {
            clinicTo = row.Header.Sequence;
            if (row.Payload is not null && NoticeProjection.RowOf(ClinicLog.EntryOf(row), clinicTo) is { } notice)
                clinic.Add(notice);
        }
    }

    private static BenchEvent.CheckpointKept? BeginningOf(BenchStreams streams, BenchId bench) =>
        streams.Beginning(bench)?.Event as BenchEvent.CheckpointKept;

    /// <summary>
    /// What a bench's stream says, up to a row that its own state does not take: what follows tells nobody anything,
    /// and a start goes on.
    /// </summary>
    private sealed class BenchReplay(BenchId bench, BenchEvent.CheckpointKept? beginning)
    {
        private readonly NoticeReader reader = new();
        private readonly List<NoticeRow> told = [];
        private BenchState? state = beginning is null ? null
            : BenchState.From(beginning.Checkpoint, beginning.UpTo);
        private long readTo = beginning?.UpTo ?? 0;
        private bool isOver;

        /// <summary>The last row that was erased when this began; 0 for none.</summary>
        public long From { get; } = beginning?.UpTo ?? 0;

        public IReadOnlyList<NoticeRow> Told => told;

        public void GoOn(DataFile file)
        {
            if (isOver)
                return;
            try
            {
                foreach (var row in file.Log.ReadAll(StreamName.OfBench(bench), readTo))
                {
                    var (before, entry) = (state, BenchStreams.EntryOf(row));
                    state = LiveBench.Apply(state, entry);
                    readTo = row.Header.Sequence;
                    told.AddRange(reader.Take(before, entry, state));
                }

                // A command's rows are written together: none of the last one's is still to come.
                told.AddRange(reader.End());
            }
            catch (InvalidOperationException)
            {
                isOver = true;
            }
        }
    }
}
