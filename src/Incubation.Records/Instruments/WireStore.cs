using System.Collections.Immutable;
using System.Security.Cryptography;
using Incubation.Bench;
using Incubation.Clinic;
using Incubation.Clinic.Instruments;
using Incubation.Model;
using Incubation.Records.Clinic;
using Incubation.Records.Log;
using Incubation.Records.Storage;
using Microsoft.EntityFrameworkCore;
using NodaTime;

namespace Incubation.Records.Instruments;

/// <summary>What arrives over one line: names the connection and which of its messages it is.</summary>
/// <param name="Instrument">Whose.</param>
/// <param name="Name">Never given twice.</param>
public sealed record WireArrival(InstrumentId Instrument, string Name);

/// <summary>
/// The raw messages of instruments: their bytes lie beside the log, their fingerprints in it, written in one
/// transaction. What is returned from is on the disk; what could not be put there throws <see cref="AppendException"/>.
/// May be used from any thread; one per data file.
/// </summary>
public sealed class WireStore(DataFile file, ClinicLog log)
{
    private const int MostErased = 500;
    private const byte Cr = 0x0D;
    private readonly Lock oneMessage = new();

    /// <summary>Keeps a part of a message that has not come whole; the same part again takes its place.</summary>
    public void KeepPiece(WireArrival arrival, int piece, ReadOnlyMemory<byte> bytes, Instant at)
    {
        ArgumentNullException.ThrowIfNull(arrival);
        file.Write(StreamName.Clinic, context =>
        {
            context.WirePieces.Where(row => row.Arrival == arrival.Name && row.Piece == piece).ExecuteDelete();
            context.WirePieces.Add(new WirePieceRow
            {
                Instrument = arrival.Instrument.Value,
                Arrival = arrival.Name,
                Piece = piece,
                At = at,
                Bytes = bytes.ToArray(),
            });
            return piece;
        });
    }

    /// <summary>Takes a message: what was kept of it before, with its last part.</summary>
    /// <param name="arrival">Which.</param>
    /// <param name="piece">The number of the last part: those kept before it belong to it.</param>
    /// <param name="last">The last part; empty where the message was cut after what was kept.</param>
    /// <param name="isWhole">Whether it came to its end.</param>
    /// <param name="isSame">Asked where one was taken before that had the same bytes after its first record: whether
    /// this is that one again, not another that looks like it. Told the bytes, and whether all of them are the
    /// same.</param>
    /// <param name="provenance">When it came.</param>
    /// <returns>Its number; null where it was the same again, or had no bytes, and nothing was recorded.</returns>
    public long? Take(WireArrival arrival, int piece, ReadOnlyMemory<byte> last, bool isWhole,
        Func<byte[], bool, bool> isSame, Provenance provenance)
    {
        ArgumentNullException.ThrowIfNull(arrival);
        ArgumentNullException.ThrowIfNull(isSame);
        lock (oneMessage)
        {
            byte[] bytes = [.. Kept(arrival.Name).Where(row => row.Piece < piece).SelectMany(row => row.Bytes),
                .. last.Span];
            var (fingerprint, body) = (Hash(bytes), Hash(bytes.AsSpan(Array.IndexOf(bytes, Cr) + 1)));
            var alike = log.Instruments.Alike(arrival.Instrument, body).ToList();
            if (bytes.Length == 0 || (alike.Count > 0
                && isSame(bytes, alike.Exists(one => one.Fingerprint == fingerprint))))
            {
                Forget(arrival);
                return null;
            }

            var number = log.Instruments.LastMessage + 1;
            var taken = new ClinicEvent.WireMessageTaken(arrival.Instrument, number, fingerprint, body, bytes.Length,
                isWhole);
            var outcome = log.Record([taken], provenance, context =>
            {
                context.WireMessages.Where(row => row.Number == number).ExecuteDelete();
                context.WireMessages.Add(new WireMessageRow { Number = number, Bytes = bytes });
                context.WirePieces.Where(row => row.Arrival == arrival.Name).ExecuteDelete();
            });
            // What was not recorded must not be acknowledged.
            return outcome is ClinicOutcome.Recorded ? number
                : throw new InvalidOperationException($"A message could not be recorded: {outcome}");
        }
    }

    /// <summary>Messages of which parts were kept, and whose connections ended with the program.</summary>
    /// <returns>Each with how many parts it has.</returns>
    public IReadOnlyList<(WireArrival Arrival, int Pieces)> LeftOver()
    {
        using var context = file.Read();
        return [.. context.WirePieces.OrderBy(row => row.At)
            .Select(row => new { row.Instrument, row.Arrival, row.Piece }).AsEnumerable()
            .GroupBy(row => (row.Instrument, row.Arrival))
            .Select(of => (new WireArrival(new InstrumentId(of.Key.Instrument), of.Key.Arrival),
                of.Max(row => row.Piece) + 1))];
    }

    /// <summary>The bytes of a message; null where they are gone, or are others than the log says.</summary>
    public byte[]? Find(long number)
    {
        if (log.Instruments.Messages.GetValueOrDefault(number) is not { } message)
            return null;
        using var context = file.Read();
        var bytes = context.WireMessages.Where(row => row.Number == number).Select(row => row.Bytes)
            .SingleOrDefault();
        return bytes is not null && Hash(bytes) == message.Fingerprint ? bytes : null;
    }

    /// <summary>Erases what may go by then; says how many messages.</summary>
    /// <param name="now">The present.</param>
    /// <param name="isInUse">Whether the batch that a message's results went to is not closed: then it stays.</param>
    /// <param name="provenance">Who erases.</param>
    public int EraseOver(Instant now, Func<WireMessage, bool> isInUse, Func<Provenance> provenance)
    {
        ArgumentNullException.ThrowIfNull(isInUse);
        ArgumentNullException.ThrowIfNull(provenance);
        ImmutableArray<long> over = [.. log.Instruments.Over(now).Where(one => !isInUse(one)).Take(MostErased)
            .Select(one => one.Number)];
        if (over.IsEmpty)
            return 0;
        var outcome = log.Record([new ClinicEvent.WireMessagesErased(over, log.Instruments.KeptDays)], provenance(),
            context => context.WireMessages.Where(row => over.Contains(row.Number)).ExecuteDelete());
        return outcome is ClinicOutcome.Recorded ? over.Length : 0;
    }

    /// <summary>Forgets what was kept of a message that was taken before.</summary>
    private void Forget(WireArrival arrival)
    {
        if (Kept(arrival.Name).Count > 0)
            file.Write(StreamName.Clinic, context =>
                context.WirePieces.Where(row => row.Arrival == arrival.Name).ExecuteDelete());
    }

    private static string Hash(ReadOnlySpan<byte> bytes) => Convert.ToHexStringLower(SHA256.HashData(bytes));

    private List<WirePieceRow> Kept(string arrival)
    {
        using var context = file.Read();
        return [.. context.WirePieces.AsNoTracking().Where(row => row.Arrival == arrival).OrderBy(row => row.Piece)];
    }
}
