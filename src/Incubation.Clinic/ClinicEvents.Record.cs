using System.Collections.Immutable;
using Incubation.Model;
using NodaTime;

namespace Incubation.Clinic;

/// <summary>Rows of a stream from one to another, both of them too.</summary>
public sealed record RowRange(long First, long Last)
{
    /// <summary>The ranges that these rows make, in order.</summary>
    public static ImmutableArray<RowRange> Of(IEnumerable<long> rows)
    {
        ArgumentNullException.ThrowIfNull(rows);
        var ranges = new List<RowRange>();
        foreach (var row in rows.Order().Distinct())
            if (ranges is [.., var end] && end.Last + 1 == row)
                ranges[^1] = end with { Last = row };
            else
                ranges.Add(new RowRange(row, row));
        return [.. ranges];
    }
}

public abstract partial record ClinicEvent
{
    /// <summary>Whether what the row said was erased by rule: nothing else is known of it.</summary>
    public bool IsErased => this is PayloadErased;

    /// <summary>What a row said was erased by rule. Never written: it stands for a payload that is gone.</summary>
    public static ClinicEvent Erased { get; } = new PayloadErased();

    private sealed record PayloadErased : ClinicEvent;

    /// <summary>A part of the record was taken out as a file, or read by a program.</summary>
    /// <param name="What">Which: the file's name without its day.</param>
    public sealed record RecordExported(string What) : ClinicEvent;

    /// <summary>Somebody looked at named records; stands once a day for each person and record.</summary>
    /// <param name="Bench">Which bench; null where cartridges of all benches were listed.</param>
    /// <param name="Batch">Which batch; null where it was the list of cartridges, or the bench's log.</param>
    public sealed record RecordSeen(BenchId? Bench, int? Batch) : ClinicEvent;

    /// <summary>
    /// A supervisor has looked at the results that went out under names that nobody had checked: new ones are
    /// held.
    /// </summary>
    public sealed record UncheckedResultsSeen : ClinicEvent;

    /// <summary>The record's key was lost, and everything up to here was signed with a new one as it stood.</summary>
    /// <param name="Lost">Name of the key that was lost.</param>
    /// <param name="Now">Name of the new key.</param>
    public sealed record RecordKeyRenewed(string Lost, string Now) : ClinicEvent;

    /// <summary>
    /// What lies beside the log (secrets, sign-ins, snapshots) was sealed as it stood with the record's key, and is
    /// sealed from here on; before, a program had kept it that sealed nothing.
    /// </summary>
    public sealed record RecordSealed : ClinicEvent;

    /// <summary>
    /// What the oldest batches of a bench said was erased after their time was over: every payload of the bench's
    /// stream up to a row, and the payloads of the clinic's stream by which their requests came in. The headers stay.
    /// </summary>
    /// <param name="Bench">Which bench.</param>
    /// <param name="FirstBatch">Number of the first batch that was erased.</param>
    /// <param name="LastBatch">Number of the last.</param>
    /// <param name="UpTo">The last row of the bench's stream that was erased; what the bench knew after it stands in a
    /// row of its own.</param>
    /// <param name="Cartridges">How many cartridges were in them.</param>
    /// <param name="ClosedBefore">The batches had been closed before this.</param>
    /// <param name="Months">The retention that was in force, in months.</param>
    /// <param name="Requests">The rows of the clinic's stream that were erased with them.</param>
    public sealed record RecordErased(
        BenchId Bench, int FirstBatch, int LastBatch, long UpTo, int Cartridges, Instant ClosedBefore, int Months,
            ImmutableArray<RowRange> Requests) : ClinicEvent
    {
        /// <summary>Whether a row of the clinic's stream was erased with the batches.</summary>
        public bool Covers(long sequence) =>
            Requests.Any(range => range.First <= sequence && sequence <= range.Last);
    }

    /// <summary>
    /// Tables that are made from the log said something else than the log, and were made anew from it.
    /// </summary>
    /// <param name="Tables">The tables that differed.</param>
    /// <param name="Differences">How many rows and columns differed.</param>
    public sealed record TablesRebuilt(ImmutableArray<string> Tables, long Differences) : ClinicEvent;

    /// <summary>Copies of the data file that upgrades and restores had left beside it were erased.</summary>
    /// <param name="Files">Their names, without a folder.</param>
    /// <param name="Days">They were older than so many days.</param>
    public sealed record CopiesErased(ImmutableArray<string> Files, int Days) : ClinicEvent;
}
