using Incubation.Model;
using Incubation.Model.Controls;
using Incubation.Records.Log;
using Incubation.Records.Storage;
using NodaTime;

namespace Incubation.Records.Controls;

/// <summary>A patient's result that was released.</summary>
/// <param name="Result">Which.</param>
/// <param name="Specimen">On which specimen.</param>
/// <param name="At">When it was released: as it was entered, or later by a person.</param>
public sealed record ReleasedLine(ReleasedResult Result, SpecimenId Specimen, Instant At);

/// <summary>
/// Finds the results of patients that were entered and not held, or released by a person, in the streams of the
/// benches.
/// </summary>
public static class ReleasedResults
{
    /// <summary>
    /// Those of a kit lot on a bench from one instant to another, the first first. What became of a result later is not
    /// looked at.
    /// </summary>
    public static IReadOnlyList<ReleasedLine> Of(DataFile file, LotCode lot, BenchId bench, Instant since,
        Instant until)
    {
        ArgumentNullException.ThrowIfNull(file);
        using var connection = file.OpenReader();
        using var command = connection.CreateCommand();
        var engine = StorageEngine.Present;
        command.CommandText =
            $"""
            SELECT r."Id", r."Specimen", MIN(h."Arrived")
            FROM "EventHeaders" h
            JOIN "EventPayloads" p ON p."Stream" = h."Stream" AND p."Sequence" = h."Sequence"
            JOIN "Requests" r ON r."Id" = {engine.JsonText(Payload, "request")}
            WHERE h."Stream" = @stream AND h."Arrived" BETWEEN @since AND @until
              AND (h."EventType" = 'result-released' OR (h."EventType" = 'result-entered' AND {engine.JsonIsFalse(Payload, "held")}))
              AND r."Lot" = @lot AND r."Kind" = @kind
            GROUP BY r."Id", r."Specimen"
            ORDER BY MIN(h."Sequence")
            """;
        command.Add("@stream", StreamName.OfBench(bench).ToString());
        command.Add("@since", since <= Earliest ? long.MinValue : Nanoseconds.Of(since));
        command.Add("@until", Nanoseconds.Of(until));
        command.Add("@lot", lot.Value);
        command.Add("@kind", nameof(RequestKind.Patient));
        using var reader = command.ExecuteReader();
        var lines = new List<ReleasedLine>();
        while (reader.Read())
            lines.Add(new ReleasedLine(
                new ReleasedResult(bench, new RequestId(reader.GetString(0))), new SpecimenId(reader.GetString(1)),
                    Nanoseconds.ToInstant(reader.GetInt64(2))));
        return lines;
    }

    /// <summary>The column of an event's JSON.</summary>
    private const string Payload = "p.\"Json\"";

    /// <summary>Before this no result can have been entered.</summary>
    private static readonly Instant Earliest = Instant.FromUtc(1970, 1, 1, 0, 0);
}
