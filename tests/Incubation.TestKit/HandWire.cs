using System.Globalization;
using System.Text;

namespace Incubation.TestKit;

/// <summary>
/// What a reader sends, written by hand: LIS01-A2, 6.3 (from memory), whose published vectors the framing is held to.
/// </summary>
public static class HandWire
{
    public const byte Enq = 5, Ack = 6, Nak = 21, Eot = 4;
    private const byte Stx = 2, Etx = 3;

    /// <summary>A message with one result, as LIS02-A2 has it (from memory); its control id is the specimen.</summary>
    public static string MessageOf(string specimen, string test, string value) =>
        $"H|\\^&|{specimen}||Invented reader|||||||P|LIS02-A2|20260302090000\rP|1\rO|1|{specimen}||^^^{test}\r"
        + $"R|1|^^^{test}|{value}|mg/L||||F\rL|1|N\r";

    /// <summary>A record's frame, the last of its text, with its checksum.</summary>
    public static byte[] FrameOf(int number, string record)
    {
        byte[] summed = [(byte)('0' + (number % 8)), .. Encoding.UTF8.GetBytes(record + "\r"), Etx];
        var sum = summed.Aggregate(0, (before, one) => (before + one) % 256);
        return [Stx, .. summed, .. Encoding.ASCII.GetBytes(sum.ToString("X2", CultureInfo.InvariantCulture)), 13, 10];
    }

    /// <summary>Sends bytes, and waits for the one by which they are answered.</summary>
    public static async Task<byte> AskAsync(Stream line, byte[] said, CancellationToken cancel)
    {
        await line.WriteAsync(said, cancel);
        var answer = new byte[1];
        await line.ReadExactlyAsync(answer, cancel).AsTask().WaitAsync(Patience.Usual, cancel);
        return answer[0];
    }
}
