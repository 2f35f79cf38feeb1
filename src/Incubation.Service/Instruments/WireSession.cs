using Incubation.Exchange.Lis;
using Incubation.Model;
using Incubation.Records.Instruments;
using Incubation.Records.Log;
using NodaTime;

namespace Incubation.Service.Instruments;

/// <summary>
/// One connection of an instrument: carries bytes between it and a <see cref="Link"/>, and puts on the disk what the
/// link says. It reads no further while something is being stored, so that nothing piles up.
/// </summary>
/// <param name="instrument">Whose.</param>
/// <param name="stream">The connection.</param>
/// <param name="taker">Puts on the disk.</param>
/// <param name="book">The figures of the line.</param>
/// <param name="time">Real time, whatever the clinic's clock does: the other end counts in it.</param>
/// <param name="logger">Where it is told what could not be stored.</param>
internal sealed class WireSession(InstrumentId instrument, Stream stream, WireTaker taker, LineBook book,
    TimeProvider time, ILogger logger)
{
    /// <summary>So many messages come at once; after them one each second, at most.</summary>
    private const int Burst = 120;

    private static readonly Duration Each = Duration.FromSeconds(1);
    private readonly Link link = new(new LinkSettings());
    private readonly string name = Guid.CreateVersion7().ToString("N");
    private readonly byte[] buffer = new byte[4096];
    private Instant paidUntil = Instant.MinValue;

    private Instant Now => Instant.FromDateTimeOffset(time.GetUtcNow());

    /// <summary>Until the connection ends or is stopped. Throws nothing of the connection's.</summary>
    public async Task RunAsync(CancellationToken stop)
    {
        Task<int>? reading = null;
        try
        {
            await DoAsync(link.Connected(Now), stop);
            while (true)
            {
                reading ??= stream.ReadAsync(buffer, stop).AsTask();
                if (!await HasComeAsync(reading, link.NextTick, time, stop))
                {
                    await DoAsync(link.Tick(Now), stop);
                    continue;
                }

                var length = await reading;
                reading = null;
                if (length == 0)
                    return;
                var now = Now;
                book.Note(instrument, line => line with { Heard = now });
                await DoAsync(link.Received(buffer.AsSpan(0, length), now), stop);
            }
        }
        catch (Exception gone) when (gone is IOException or OperationCanceledException or ObjectDisposedException
            or UnauthorizedAccessException or InvalidOperationException)
        {
            // The connection ended, here or there.
        }
        finally
        {
            await stream.DisposeAsync();
            await EndAsync(reading);
        }
    }

    /// <summary>Waits for bytes, or until a link has something to do; whether bytes came.</summary>
    internal static async Task<bool> HasComeAsync(Task<int> reading, Instant? due, TimeProvider time,
        CancellationToken stop)
    {
        if (due is not { } tick)
        {
            await reading.WaitAsync(stop);
            return true;
        }

        var wait = tick - Instant.FromDateTimeOffset(time.GetUtcNow());
        if (wait <= Duration.Zero)
            return reading.IsCompleted;
        using var ends = CancellationTokenSource.CreateLinkedTokenSource(stop);
        var passed = Task.Delay(wait.ToTimeSpan(), time, ends.Token);
        var first = await Task.WhenAny(reading, passed);
        await ends.CancelAsync();
        return first == reading;
    }

    private async Task EndAsync(Task<int>? reading)
    {
        try
        {
            foreach (var act in link.Disconnected())
                if (act is LinkAct.Cut cut)
                    await CutAsync(cut);
            if (reading is not null)
                await reading;
        }
        catch (Exception gone) when (gone is not OutOfMemoryException)
        {
            // What was read when the connection ended belongs to nothing.
        }
    }

    private async Task DoAsync(IReadOnlyList<LinkAct> acts, CancellationToken stop)
    {
        var left = new Queue<LinkAct>(acts);
        while (left.TryDequeue(out var act))
            switch (act)
            {
                case LinkAct.Say say:
                    await stream.WriteAsync(say.Bytes, stop);
                    await stream.FlushAsync(stop);
                    break;
                case LinkAct.Store store:
                    foreach (var next in await StoreAsync(store, stop))
                        left.Enqueue(next);
                    break;
                case LinkAct.Cut cut:
                    await CutAsync(cut);
                    break;
                case LinkAct.FrameRefused:
                    book.Note(instrument, line => line with { Refused = line.Refused + 1 });
                    break;
            }
    }

    /// <summary>Its sender has no answer before this is on the disk.</summary>
    private async Task<IReadOnlyList<LinkAct>> StoreAsync(LinkAct.Store store, CancellationToken stop)
    {
        if (store.IsLast)
            await PaceAsync(stop);
        try
        {
            if (await Task.Run(() => taker.Keep(Arrival(store.Message), store), stop))
                return link.Stored(store.Message, store.Piece, Now);
        }
        catch (AppendException fault)
        {
            logger.LogWarning("A message of {Instrument} could not be stored: {Fault}", instrument, fault.Message);
        }

        book.Note(instrument, line => line with { NotStored = line.NotStored + 1 });
        return link.NotStored(store.Message, store.Piece, Now);
    }

    /// <summary>Whoever sends without an end is answered slowly: the record does not grow faster than this.</summary>
    private async Task PaceAsync(CancellationToken stop)
    {
        var now = Now;
        paidUntil = Instant.Max(paidUntil, now - (Each * Burst)) + Each;
        if (paidUntil > now)
            await Task.Delay((paidUntil - now).ToTimeSpan(), time, stop);
    }

    private async Task CutAsync(LinkAct.Cut cut)
    {
        book.Note(instrument, line => line with { Cut = line.Cut + 1 });
        try
        {
            await Task.Run(() => taker.Cut(Arrival(cut.Message), cut.Pieces));
        }
        catch (AppendException fault)
        {
            // What was kept of it lies on the disk, and is taken at the next start.
            logger.LogWarning("A message of {Instrument} that was cut could not be taken: {Fault}", instrument,
                fault.Message);
        }
    }

    private WireArrival Arrival(long message) => new(instrument,
        string.Create(System.Globalization.CultureInfo.InvariantCulture, $"{name}.{message}"));
}
