using System.Net.Sockets;
using System.Text;
using Incubation.Bench;
using Incubation.Clinic.Instruments;
using Incubation.Model;
using Incubation.Service.Demo;
using Incubation.Service.Tests.Support;
using Incubation.TestKit;

namespace Incubation.Service.Tests.Instruments;

/// <summary>
/// Readers on a real port of this machine. Bytes are written here by hand, by a second reading of the standard,
/// wherever something is wrong with them.
/// </summary>
public sealed class WireLineTest
{
    private static CancellationToken Cancel => TestContext.Current.CancellationToken;

    [Fact]
    public async Task Line_AWholeBatch_HasItsResultsWithoutAKeyPressed()
    {
        await using var house = await WireHouse.OpenAsync();
        await house.ListenAsync();
        await using var reader = new DemoReader(await house.ConnectAsync(), TimeProvider.System);
        var requests = new List<RequestId>();
        for (var cartridge = 1; cartridge <= 6; cartridge++)
        {
            requests.Add(await house.ReadAsync($"SP-{cartridge}"));
            Assert.True(await reader.SendAsync(Bytes(WireHouse.Message($"SP-{cartridge}", $"{cartridge}.50",
                sent: $"2026030209000{cartridge}")), Cancel));
            await house.UntilJudged(cartridge);
            await house.ClearAsync(requests[^1]);
        }

        Assert.Equal(["1.50", "2.50", "3.50", "4.50", "5.50", "6.50"],
            requests.Select(request => ((ReadResult.Measured)house.Of(request).Result!).Value));
        Assert.All(requests, request => Assert.Equal((ResultIdentity.Matches, false, false),
            (house.Of(request).Status!.Identity, house.Of(request).IsHeld, house.Of(request).ResultMissing)));
        Assert.Empty(house.State.Questions);
        await house.House.Must(new BenchCommand.CloseBatch([]));
    }

    [Fact]
    public async Task Line_AStranger_LeavesACounterAndNothingElse()
    {
        await using var house = await WireHouse.OpenAsync();
        await house.ListenAsync();
        await using var known = await house.ConnectAsync();
        var revision = house.House.Clinic.Log.Revision;

        Assert.True(await IsStrangerCutAsync(house));
        Assert.Equal(1, house.Book.Of(WireHouse.Reader).Strangers);
        Assert.Equal(revision, house.House.Clinic.Log.Revision);
        Assert.Equal(HandWire.Ack, await AskAsync(known, HandWire.Enq));
    }

    [Fact]
    public async Task Line_TwoReadersOnOnePort_AreToldApartByTheirAddress()
    {
        await using var house = await WireHouse.OpenAsync();
        house.Set(Instrument.IdOf(2), house.Link("127.0.0.3") with { Name = "Beside", OnlyListens = true });
        await house.ListenAsync();
        var request = await house.ReadAsync("SP-1");

        Assert.True(await house.SendAsync(WireHouse.Message("SP-1", "9.9"), "127.0.0.3"));
        Assert.True(await house.SendAsync(WireHouse.Message("SP-1", "5.0")));
        await house.UntilJudged(2);

        Assert.Equal(new ReadResult.Measured("5.0", "mg/L"), house.Of(request).Result);
        Assert.Equal([("wire-2", WireVerdict.Shown), ("wire-1", WireVerdict.Entered)], house.State.Messages.Values
            .Select(one => (one.Instrument.Value, WireHouse.Fate(one).Verdict)));
    }

    [Fact]
    public async Task Line_AnotherSetting_TakesEffectAtOnce()
    {
        await using var house = await WireHouse.OpenAsync();
        await house.ListenAsync();
        await using (var before = await house.ConnectAsync())
        {
            Assert.Equal(HandWire.Ack, await AskAsync(before, HandWire.Enq));
            house.Set(WireHouse.Reader, house.Link("127.0.0.2"));
            Assert.True(await IsCutAsync(before));
        }

        await UntilTakenAsync(house, WireHouse.Message("SP-1", "5.0"), "127.0.0.2");
        await house.UntilJudged(1);
    }

    /// <summary>The new line opens a moment after the old one was cut; as a reader does, it is tried again.</summary>
    private static async Task UntilTakenAsync(WireHouse house, string message, string from)
    {
        var isTaken = false;
        while (!isTaken)
            try
            {
                isTaken = await house.SendAsync(message, from);
            }
            catch (IOException)
            {
                await Task.Yield();
            }
    }

    [Fact]
    public async Task Line_ByteByByteWithAWrongChecksumAndALostAnswer_IsTakenOnce()
    {
        await using var house = await WireHouse.OpenAsync();
        await house.ListenAsync();
        var request = await house.ReadAsync("SP-1");
        await using var line = await house.ConnectAsync();
        Assert.Equal(HandWire.Ack, await AskAsync(line, HandWire.Enq));
        var records = WireHouse.Message("SP-1", "5.0").Split('\r', StringSplitOptions.RemoveEmptyEntries);

        for (var at = 0; at < records.Length; at++)
        {
            var frame = HandWire.FrameOf(at + 1, records[at]);
            var damaged = (byte[])frame.Clone();
            damaged[3] ^= 1;
            Assert.Equal(HandWire.Nak, await AskAsync(line, damaged));
            foreach (var one in frame[..^1])
                await line.WriteAsync(new[] { one }, Cancel);
            Assert.Equal(HandWire.Ack, await AskAsync(line, frame[^1]));
            // Its answer was lost: it sends the frame again.
            Assert.Equal(HandWire.Ack, await AskAsync(line, frame));
        }

        await line.WriteAsync(new[] { HandWire.Eot }, Cancel);
        await house.UntilJudged(1);
        Assert.Equal(1, house.State.LastMessage);
        Assert.Equal(new ReadResult.Measured("5.0", "mg/L"), house.Of(request).Result);
        Assert.Equal(records.Length, house.Book.Of(WireHouse.Reader).Refused);
    }

    [Fact]
    public async Task Line_CutInMidFrameAndKilledBetweenStoreAndAnswer_IsTakenOnceWhenItComesAgain()
    {
        await using var house = await WireHouse.OpenAsync();
        await house.ListenAsync();
        var request = await house.ReadAsync("SP-1");
        var message = WireHouse.Message("SP-1", "5.0");
        await using (var line = await house.ConnectAsync())
        {
            Assert.Equal(HandWire.Ack, await AskAsync(line, HandWire.Enq));
            Assert.Equal(HandWire.Ack, await AskAsync(line, HandWire.FrameOf(1, "H|\\^&|||Invented reader")));
            await line.WriteAsync(HandWire.FrameOf(2, "P|1").AsMemory(..4), Cancel);
        }

        // The answer to the last frame never arrives: the program is gone, and the message is on the disk.
        await using (var line = await house.ConnectAsync())
        {
            Assert.Equal(HandWire.Ack, await AskAsync(line, HandWire.Enq));
            var records = message.Split('\r', StringSplitOptions.RemoveEmptyEntries);
            for (var at = 0; at < records.Length - 1; at++)
                Assert.Equal(HandWire.Ack, await AskAsync(line, HandWire.FrameOf(at + 1, records[at])));
            await line.WriteAsync(HandWire.FrameOf(records.Length, records[^1]), Cancel);
            await house.Until(state => state.LastMessage == 1);
        }

        await house.CrashAsync();
        await house.ListenAsync();
        Assert.True(await house.SendAsync(message));
        await house.UntilJudged(1);

        Assert.Equal(1, house.State.LastMessage);
        Assert.Equal(new ReadResult.Measured("5.0", "mg/L"), house.Of(request).Result);
        Assert.Empty(house.State.Questions);
    }

    /// <summary>Whatever was acknowledged is on the disk, also where it cannot be understood.</summary>
    [Theory]
    [InlineData("", "O|1|SP-1||^^^DA\rR|1|^^^DA|5.0|mg/L||||F\rL|1|N\r", 0)]
    [InlineData("", "P|1\rO|1|SP-1||^^^DA\rR|1|^^^DA|5.0|mg/L||||F\rL|1|N\r", 0)]
    [InlineData("H|\\^&\rL|1|N\r", "O|1|SP-1||^^^DA\rR|1|^^^DA|5.0|mg/L||||F\rL|1|N\r", 0)]
    [InlineData("", "O|1|SP-1||^^^DA\rR|1|^^^DA|5.0|mg/L||||F\r", 1)]
    public async Task Line_RecordsWithoutAHeader_AreKeptAndAskedAsAWhole(string before, string records, int cut)
    {
        await using var house = await WireHouse.OpenAsync();
        await house.ListenAsync();
        var request = await house.ReadAsync("SP-1");
        await using var line = await house.ConnectAsync();
        Assert.Equal(HandWire.Ack, await AskAsync(line, HandWire.Enq));
        var number = 0;
        foreach (var record in (before + records).Split('\r', StringSplitOptions.RemoveEmptyEntries))
            Assert.Equal(HandWire.Ack, await AskAsync(line, HandWire.FrameOf(++number % 8, record)));
        await line.WriteAsync(new[] { HandWire.Eot }, Cancel);

        var messages = before.Length == 0 ? 1 : 2;
        await house.UntilJudged(messages);

        Assert.Equal(records, Encoding.UTF8.GetString(house.Store.Find(messages)!));
        Assert.Equal((messages, WireFate.WholeMessage, MatchQuestion.NotUnderstood),
            Assert.Single(house.Inbox().For(ControlsHouse.Lena)) is { Question: var asked }
                ? (asked.Message.Number, asked.Fate.Result, asked.Fate.Question) : default);
        Assert.Null(house.Of(request).Result);
        Assert.Equal(cut, house.Book.Of(WireHouse.Reader).Cut);
        Assert.Empty(house.Store.LeftOver());
    }

    /// <summary>A program that is killed in mid-message finds at its next start what it has acknowledged.</summary>
    [Fact]
    public async Task Line_ARecordWithoutAHeader_IsOnTheDiskWhenItIsAcknowledged()
    {
        await using var house = await WireHouse.OpenAsync();
        await house.ListenAsync();
        await using var line = await house.ConnectAsync();
        Assert.Equal(HandWire.Ack, await AskAsync(line, HandWire.Enq));
        Assert.Equal(HandWire.Ack, await AskAsync(line, HandWire.FrameOf(1, "O|1|SP-1")));
        Assert.Equal(1, Assert.Single(house.Store.LeftOver()).Pieces);
    }

    [Fact]
    public async Task Line_AMessageOfOneMegabyte_IsTakenAndOneTooLongIsNot()
    {
        await using var house = await WireHouse.OpenAsync();
        await house.ListenAsync();
        var request = await house.ReadAsync("SP-1");
        await using var reader = new DemoReader(await house.ConnectAsync(), TimeProvider.System);

        Assert.True(await reader.SendAsync(Bytes(Long("5.0", 1_000_000)), Cancel));
        await house.UntilJudged(1);
        Assert.False(await reader.SendAsync(Bytes(Long("6.0", 4_300_000)), Cancel));

        Assert.Equal(new ReadResult.Measured("5.0", "mg/L"), house.Of(request).Result);
        Assert.True(house.State.Messages[1].Length > 1_000_000);
        Assert.Equal(1, house.State.LastMessage);
        Assert.Empty(house.Store.LeftOver());
    }

    private static string Long(string value, int length)
    {
        var comments = new StringBuilder();
        for (var number = 1; comments.Length < length; number++)
            comments.Append(System.Globalization.CultureInfo.InvariantCulture,
                $"C|{number}|I|{new string('x', 900)}|G\r");
        return WireHouse.Message("SP-1", value, last: comments + "L|1|N\r");
    }

    private static byte[] Bytes(string text) => Encoding.UTF8.GetBytes(text);

    private static Task<byte> AskAsync(NetworkStream line, params byte[] said) => HandWire.AskAsync(line, said, Cancel);

    private static async Task<bool> IsStrangerCutAsync(WireHouse house)
    {
        try
        {
            await using var stranger = await house.ConnectAsync("127.0.0.2");
            return await IsCutAsync(stranger);
        }
        catch (SocketException)
        {
            // Cut off before it knew that it was connected.
            return true;
        }
    }

    private static async Task<bool> IsCutAsync(NetworkStream line)
    {
        try
        {
            return await line.ReadAsync(new byte[1], Cancel).AsTask().WaitAsync(Patience.Usual, Cancel) == 0;
        }
        catch (IOException)
        {
            return true;
        }
    }
}
