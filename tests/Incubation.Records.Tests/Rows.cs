using Incubation.Bench;
using Incubation.Clinic.TestKit;
using Incubation.Model;
using Incubation.Records.Events;
using Incubation.Records.Log;
using Incubation.TestKit;
using NodaTime;

namespace Incubation.Records.Tests;

/// <summary>Rows and touches for tests.</summary>
internal static class Rows
{
    public static Instant Morning => StoryProvenance.Morning;

    /// <summary>A provenance of its own for each number, a second after the one before.</summary>
    public static Provenance Provenance(int number) => StoryProvenance.Of(number);

    public static BenchId Bench { get; } = BenchId.Of("bench-1");

    /// <summary>
    /// Entries of a bench, each of a command of its own; every kind of event but the first comes by in turn.
    /// </summary>
    public static IReadOnlyList<BenchEntry> BenchEntries(int from, int count)
    {
        // Without its first row a stream is nobody's bench: appending does not play what is drawn by chance.
        var types = Any.Cases(typeof(BenchEvent)).Where(type => type != typeof(BenchEvent.BenchOpened)).ToList();
        return [.. Enumerable.Range(from, count).Select(number => new BenchEntry(
            (BenchEvent)Any.Value(types[number % types.Count], new Random(number)), Provenance(number)))];
    }

    /// <summary>A row that carries an encoded event; its hashes are right but for the link.</summary>
    internal static LogRow Of(EncodedEvent encoded)
    {
        var provenance = Provenance(1);
        return new LogRow(
            new LogHeader(
                StreamName.Clinic, 7, provenance.Arrived, provenance.At, provenance.Person, provenance.Device,
                    provenance.Id, 0,
                encoded.Type, encoded.Version, Chain.OfPayload(encoded.Json), default, default),
            encoded.Json);
    }
}
