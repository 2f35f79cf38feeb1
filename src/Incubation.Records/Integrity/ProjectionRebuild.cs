using Incubation.Bench;
using Incubation.Clinic;
using Incubation.Model;
using Incubation.Records.Batches;
using Incubation.Records.Clinic;
using Incubation.Records.Connections;
using Incubation.Records.Log;
using Incubation.Records.Storage;
using Microsoft.EntityFrameworkCore;

namespace Incubation.Records.Integrity;

/// <summary>
/// Makes the tables of a file that is open say what the log says. Every write is short: reports go on meanwhile.
/// </summary>
public static class ProjectionRebuild
{
    /// <summary>Reports that were taken back while this looked make it look again, so often at most.</summary>
    private const int MostLooks = 3;

    /// <summary>
    /// Compares, records in the clinic's stream who had what made anew, and makes it anew; nothing is recorded where
    /// nothing differs. Throws <see cref="LogBrokenException"/>, <see cref="UnreadableEventException"/> or
    /// <see cref="AppendException"/>.
    /// </summary>
    /// <returns>What differed, and what still does.</returns>
    public static (ProjectionVerdict Before, ProjectionVerdict After) Run(DataFile file, ClinicLog clinic,
        CartridgeProjection book, Provenance provenance)
    {
        ArgumentNullException.ThrowIfNull(file);
        ArgumentNullException.ThrowIfNull(clinic);
        ArgumentNullException.ThrowIfNull(book);
        book.CatchUp();
        var found = Look(file, book);
        var (before, after) = (ProjectionCheck.Strict(found.Verdict), found.Verdict);
        if (before.Count == 0)
            return (before, before);
        clinic.Record(new ClinicEvent.TablesRebuilt([.. before.Tables], before.Count), provenance);
        for (var look = 0; look < MostLooks; look++)
        {
            Mend(file, clinic, book, found);
            found = Look(file, book);
            after = ProjectionCheck.Strict(found.Verdict);
            if (after.Count == 0)
                break;
        }

        book.ForgetNoticed();
        return (before, after);
    }

    private static Findings Look(DataFile file, CartridgeProjection book)
    {
        var comparison = ProjectionCheck.Live(file, book);
        foreach (var _ in comparison.Pieces())
        {
            // Each piece adds what it finds.
        }

        return comparison.Found;
    }

    private static void Mend(DataFile file, ClinicLog clinic, CartridgeProjection book, Findings found)
    {
        if (found.Verdict.Behind.Count > 0 || found.Verdict.Tables.Contains(Positions.Table))
        {
            clinic.RebuildProjections();
            Stock.UseProjection.MakeAnew(file);
            NoticeProjection.MakeAnew(file);
            file.Write(StreamName.Clinic, context => DeleteUnknown(context, file.Log.Streams()));
        }

        if (found.Verdict.Tables.Contains(TableForm.Notices.Table))
            NoticeProjection.MakeAnew(file);
        file.Write(StreamName.Clinic, context => found.Mends.Count(mend => Mend(context, mend)));
        var benches = found.Benches.Concat(found.Verdict.Differences.Where(one => one.Table == Positions.Table)
            .Select(one => Positions.BenchOf(one.Row)).OfType<string>())
            .Concat(found.Verdict.Behind.Select(Positions.BenchOf).OfType<string>()).ToHashSet(StringComparer.Ordinal);
        foreach (var bench in benches.Where(TextId.IsValid).Select(BenchId.Of))
            book.MakeAnew(bench);
    }

    private static bool Mend(RecordsContext context, Mend mend)
    {
        var connection = context.Database.GetDbConnection();
        if (mend.AsOf is { } end && Positions.HeadOf(connection, end.Stream) != end.Sequence)
            return false;
        if (mend.IsRow)
            mend.Form.Put(connection, mend.Values);
        else
            mend.Form.Remove(connection, mend.Values);
        return true;
    }

    private static int DeleteUnknown(RecordsContext context, IReadOnlyList<StreamName> streams)
    {
        var unknown = Positions.Unknown(context.Database.GetDbConnection(), streams).Select(one => one.Row).ToList();
        return context.Projections.Where(row => unknown.Contains(row.Name)).ExecuteDelete();
    }
}
