using Incubation.Exchange.Lis;
using Incubation.Service.Instruments;
using NodaTime;

namespace Incubation.Service.Demo;

/// <summary>A reader that is played: sends messages as an instrument does, over any line.</summary>
/// <param name="stream">The line; it is closed with this.</param>
/// <param name="time">In which it waits for answers.</param>
public sealed class DemoReader(Stream stream, TimeProvider time) : IAsyncDisposable
{
    private readonly Link link = new(new LinkSettings(LinkRole.Instrument));
    private readonly byte[] buffer = new byte[256];
    private bool isConnected;
    private Task<int>? reading;

    private Instant Now => Instant.FromDateTimeOffset(time.GetUtcNow());

    /// <summary>Sends a message, and waits until the other end has taken it.</summary>
    /// <returns>Whether it has; false where it refused it as often as it may.</returns>
    /// <exception cref="IOException">The line ended.</exception>
    public async Task<bool> SendAsync(ReadOnlyMemory<byte> message, CancellationToken stop)
    {
        if (!isConnected)
            await DoAsync(link.Connected(Now), stop);
        isConnected = true;
        var (number, acts) = link.Send(message, Now);
        if (await DoAsync(acts, stop) is { } sentAtOnce)
            return sentAtOnce;
        while (number is not null)
        {
            reading ??= stream.ReadAsync(buffer, stop).AsTask();
            IReadOnlyList<LinkAct> next;
            if (await WireSession.HasComeAsync(reading, link.NextTick, time, stop))
            {
                var length = await reading;
                reading = null;
                if (length == 0)
                    throw new EndOfStreamException();
                next = link.Received(buffer.AsSpan(0, length), Now);
            }
            else
            {
                next = link.Tick(Now);
            }

            if (await DoAsync(next, stop) is { } isTaken)
                return isTaken;
        }

        return false;
    }

    /// <inheritdoc/>
    public ValueTask DisposeAsync() => stream.DisposeAsync();

    /// <summary>Does what the link says; whether a message was taken or refused with it, or null.</summary>
    private async Task<bool?> DoAsync(IReadOnlyList<LinkAct> acts, CancellationToken stop)
    {
        bool? outcome = null;
        foreach (var act in acts)
            switch (act)
            {
                case LinkAct.Say say:
                    await stream.WriteAsync(say.Bytes, stop);
                    await stream.FlushAsync(stop);
                    break;
                case LinkAct.Sent:
                    outcome = true;
                    break;
                case LinkAct.NotSent { Fault: SendFault.Refused }:
                    outcome = false;
                    break;
            }

        return outcome;
    }
}
