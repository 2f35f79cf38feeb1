using CsCheck;
using Incubation.Exchange.Lis;
using NodaTime;
using Xunit;

namespace Incubation.Exchange.Tests.Lis;

/// <summary>
/// Two ends of a line, and everything between and behind them failing: nothing that the instrument believes to be taken
/// is lost, nothing is taken that was not sent, and without a fault nothing comes twice.
/// </summary>
public sealed class LinkFaultsTest
{
    private static readonly LineFaults Everything = new(Bit: 0.03, LostByte: 0.03, LostPiece: 0.02, FullDisk: 0.05,
        SlowDisk: 0.03, Kill: 0.002, Cut: 0.002);

    public static TheoryData<string, double, double, double, double, double, double> Faults => new()
    {
        { "wrong bits", 0.1, 0, 0, 0, 0, 0 },
        { "lost bytes", 0, 0.1, 0, 0, 0, 0 },
        { "lost answers and frames", 0, 0, 0.1, 0, 0, 0 },
        { "a full disk", 0, 0, 0, 0.4, 0, 0 },
        { "a slow disk", 0, 0, 0, 0, 0.4, 0 },
        { "kills and cuts", 0, 0, 0, 0, 0, 0.01 },
    };

    [Fact]
    public void Line_WithoutFaults_BringsEachMessageOnceInItsOrder() => Gen.Int.Sample(seed =>
    {
        var messages = Messages(new Random(seed));
        var line = new LinePair(seed, LineFaults.None);
        line.Run(messages, 100_000);
        Assert.True(line.IsQuiet);
        Assert.Equal(messages, line.Whole);
        Assert.Equal(messages.Select(message => (message, true)), line.Taken);
    }, iter: 100);

    [Theory]
    [MemberData(nameof(Faults))]
    public void Line_WithFaults_LosesAndInventsNothing(string what, double bit, double lostByte, double lost,
        double full, double slow, double kill)
    {
        Assert.NotEmpty(what);
        var faults = new LineFaults(bit, lostByte, lost, full, slow, kill, kill);
        Gen.Int.Sample(seed => Hold(seed, faults), iter: 60);
    }

    [Fact]
    public void Line_WithEveryFault_LosesAndInventsNothing() =>
        Gen.Int.Sample(seed => Hold(seed, Everything), iter: 200);

    [Fact(Explicit = true)]
    public void Line_WithEveryFaultTenThousandTimes_LosesAndInventsNothing() =>
        Gen.Int.Sample(seed => Hold(seed, Everything), iter: 10_000);

    [Fact]
    public void Link_AnyBytesAndInstants_NeitherThrowsNorKeepsWithoutBound() =>
        Gen.Select(Gen.Byte.Array[0, 400].Array[1, 20], Gen.Int[0, 40], Gen.Bool).Sample((pieces, seconds, stores) =>
        {
            var now = Instant.FromUtc(2026, 3, 2, 8, 0);
            var link = new Link(new LinkSettings { TakenText = 100, TakenMessage = 1000 });
            link.Connected(now);
            link.Send(Wire.Bytes("H|\\^&\rL|1|N\r"), now);
            foreach (var piece in pieces)
            {
                now += Duration.FromSeconds(seconds);
                foreach (var store in link.Received(Signs(piece), now).OfType<LinkAct.Store>())
                    if (stores)
                        link.Stored(store.Message, store.Piece, now);
            }
        }, iter: 2000);

    /// <summary>A message of a megabyte, with as many levels as it can have, costs what its bytes cost.</summary>
    [Fact]
    public void Message_OfAMegabyte_IsTakenInPiecesAndWhole()
    {
        var order = "O|1|S1\rR|1|^^^DA|5.2|ng/mL\rC|1|I|" + new string('x', 300) + "\r";
        var message = "H|\\^&\rP|1\r" + string.Concat(Enumerable.Repeat(order, 3000)) + "L|1|N\r";
        Assert.InRange(message.Length, 1_000_000, 1_100_000);
        var line = new LinePair(1, LineFaults.None);
        line.Run([message], 200_000);
        Assert.Equal([message], line.Whole);
    }

    private static void Hold(int seed, LineFaults faults)
    {
        var messages = Messages(new Random(seed));
        var line = new LinePair(seed, faults);
        line.Run(messages, 500_000);
        Assert.True(line.IsQuiet);
        Assert.All(line.Taken, taken => Assert.True(taken.WasStored));
        Assert.Subset(messages.ToHashSet(), line.Whole.ToHashSet());
        Assert.Subset(line.Whole.ToHashSet(), line.Taken.Select(taken => taken.Message).ToHashSet());
        Assert.Equal(messages.Where(message => line.Taken.Exists(taken => taken.Message == message)),
            line.Taken.Select(taken => taken.Message));
    }

    /// <summary>Messages of any shape, each with a number of its own.</summary>
    private static List<string> Messages(Random random) =>
        [.. Enumerable.Range(1, random.Next(1, 6)).Select(number => $"H|\\^&|{number}\r"
            + string.Concat(Enumerable.Range(0, random.Next(0, 12)).Select(_ => Record(random))) + "L|1|N\r")];

    private static string Record(Random random) =>
        $"{"PORCMSQ"[random.Next(7)]}|{random.Next(100)}|"
        + new string('é', random.Next(random.Next(4) == 0 ? 300 : 20)) + "\r";

    /// <summary>Bytes among which those that mean something are common.</summary>
    private static byte[] Signs(byte[] bytes) =>
        [.. bytes.Select(one => one < 200 ? (byte)(one % 24) : one < 220 ? (byte)('0' + (one % 8)) : one)];
}
