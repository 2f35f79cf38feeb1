using Incubation.Clinic.Instruments;
using Incubation.Exchange.Lis;
using Incubation.Model;
using Incubation.Records.Instruments;
using Incubation.Records.Log;
using Incubation.Service.Clinic;
using Incubation.Service.Clock;
using Incubation.Service.People;

namespace Incubation.Service.Instruments;

/// <summary>
/// Puts on the disk what an instrument sends, before its sender is told that it was taken. May be used from any thread.
/// </summary>
public sealed class WireTaker(ClinicHost clinic, WireStore store, LineBook book, BenchClock clock)
{
    /// <summary>The most bytes of one instrument's messages that are kept; beyond, its frames are not taken.</summary>
    public const long MaxKept = 512L * 1024 * 1024;

    /// <summary>A message was taken; on the thread that took it.</summary>
    public event Action? Taken;

    /// <summary>Keeps a part of a message.</summary>
    /// <exception cref="AppendException">It could not be put on the disk.</exception>
    /// <returns>Whether it is on the disk; false where the instrument's messages take too much of it.</returns>
    public bool Keep(WireArrival arrival, LinkAct.Store part)
    {
        ArgumentNullException.ThrowIfNull(arrival);
        ArgumentNullException.ThrowIfNull(part);
        if (IsFull(arrival.Instrument))
            return false;
        if (part.IsLast)
            Take(arrival, part.Piece, part.Bytes, isWhole: true);
        else
            store.KeepPiece(arrival, part.Piece, part.Bytes, clock.Now);
        return true;
    }

    /// <summary>
    /// A message ended before its end: what was kept of it is taken, since its sender counts on it; the rest it will
    /// send again.
    /// </summary>
    public void Cut(WireArrival arrival, int pieces)
    {
        ArgumentNullException.ThrowIfNull(arrival);
        if (pieces > 0)
            Take(arrival, pieces, ReadOnlyMemory<byte>.Empty, isWhole: false);
    }

    /// <summary>Takes what a program that ended had kept of messages that it never saw the end of.</summary>
    public void TakeLeftOver()
    {
        foreach (var (arrival, pieces) in store.LeftOver())
            Cut(arrival, pieces);
    }

    private bool IsFull(InstrumentId instrument) => clinic.Log.Instruments.Messages.Values
        .Where(one => one.Instrument == instrument).Sum(one => (long)one.Length) >= MaxKept;

    private void Take(WireArrival arrival, int piece, ReadOnlyMemory<byte> last, bool isWhole)
    {
        var by = Provenances.Of(new PersonId(arrival.Instrument.Value), new DeviceId(arrival.Instrument.Value), clock);
        if (store.Take(arrival, piece, last, isWhole, (bytes, same) => IsSame(arrival.Instrument, bytes, same), by)
            is null)
            book.Note(arrival.Instrument, line => line with { Again = line.Again + 1 });
        else
            Taken?.Invoke();
    }

    /// <summary>
    /// Whether a message is the same again: to the byte, and it says when it was sent or what it is called; or all but
    /// its header, and each result says when it was measured. A reader that says none of this may well send the same
    /// bytes for two cartridges.
    /// </summary>
    private bool IsSame(InstrumentId instrument, byte[] bytes, bool withHeader)
    {
        var encoding = clinic.Log.Instruments.Find(instrument)?.Link.Encoding ?? WireEncoding.Ascii;
        return ReaderMessageReader.Read(bytes, encoding.InLis(), clinic.Facts.Zone).Message is { } message
            && ((withHeader && (message.SentAt is not null || message.ControlId.Length > 0))
                || (message.Results.Length > 0 && message.Results.All(result => result.ReadAt is { } at
                    && at.At.Earliest == at.At.Latest)));
    }
}

/// <summary>The clinic's word for an encoding as the exchange has it.</summary>
internal static class WireEncodings
{
    public static LisEncoding InLis(this WireEncoding encoding) => encoding switch
    {
        WireEncoding.Utf8 => LisEncoding.Utf8,
        WireEncoding.Latin1 => LisEncoding.Latin1,
        _ => LisEncoding.Ascii,
    };
}
