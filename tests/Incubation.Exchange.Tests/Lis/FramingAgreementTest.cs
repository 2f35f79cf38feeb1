using System.ComponentModel;
using System.Diagnostics;
using System.Text.Json.Nodes;
using Incubation.Exchange.Lis;
using Xunit;

namespace Incubation.Exchange.Tests.Lis;

/// <summary>
/// Our frames and those of framing.mjs, which was written from the standard in another language, are the same, and
/// each takes and refuses what the other does. 10,000 messages by command:
/// <c>Incubation.Exchange.Tests -explicit only -method '*TenThousand*'</c>.
/// </summary>
public sealed class FramingAgreementTest : IDisposable
{
    private readonly Process _node = Start();

    [Fact]
    public void Sum_OfEachVector_IsThePublishedOne()
    {
        foreach (var (text, sum) in Wire.Vectors)
        {
            var summed = Hex(Wire.Bytes(text + "\r\u0003"));
            Assert.Equal(sum, (string?)Ask(new() { ["op"] = "sum", ["text"] = summed })["sum"]);
        }
    }

    [Fact]
    public void Frames_FiveHundredMessages_Agree() => Agree(messages: 500, seed: 1);

    [Fact(Explicit = true)]
    public void Frames_TenThousandMessages_Agree() => Agree(messages: 10_000, seed: 2);

    public void Dispose()
    {
        _node.StandardInput.Close();
        _node.WaitForExit();
        _node.Dispose();
    }

    private void Agree(int messages, int seed)
    {
        var random = new Random(seed);
        for (var done = 0; done < messages; done++)
        {
            var message = Wire.Message(random);
            var text = Wire.Joined(message);

            // Theirs, of any lengths, by our reader.
            var sizes = Enumerable.Range(0, 3).Select(_ => random.Next(1, 241)).ToArray();
            var theirs = Encoded(message, sizes);
            Assert.Equal(text, TextOf(Wire.Read(theirs.SelectMany(frame => frame))));

            // Ours by their reader.
            var ours = MessageFrames.Of(text).Select(frame => frame.Encode()).ToList();
            var (taken, read) = Decoded(ours);
            Assert.All(taken, Assert.True);
            Assert.Equal(text, read);

            // Where neither has a choice of lengths, byte by byte.
            var shortRecords = message.Where(record => record.Length <= Frame.UsualText).ToArray();
            Assert.Equal(Encoded(shortRecords, [Frame.UsualText]),
                MessageFrames.Of(Wire.Joined(shortRecords)).Select(frame => frame.Encode()));

            // Damaged, by both. The one difference that is wanted: we take LF in a text.
            var damaged = ours.Select(frame => Damaged(frame, random))
                .Where(frame => !frame.AsSpan(2..^5).Contains(LinkCharacters.Lf)).ToList();
            Assert.Equal(Decoded(damaged).Taken,
                damaged.Select(frame => Wire.Read(frame) is [LineSign.Whole]));
        }
    }

    private static byte[] TextOf(IEnumerable<LineSign> signs) =>
        Wire.Joined(signs.Select(sign => Assert.IsType<LineSign.Whole>(sign).Frame.Text.ToArray()));

    /// <summary>Changes up to two bytes; where two, now and then so that the checksum agrees again.</summary>
    private static byte[] Damaged(byte[] frame, Random random)
    {
        var damaged = frame.ToArray();
        switch (random.Next(4))
        {
            case 0:
                break;
            case 1:
                damaged[random.Next(damaged.Length)] = (byte)random.Next(256);
                break;
            case 2:
                var (one, other) = (random.Next(2, frame.Length - 5), random.Next(2, frame.Length - 5));
                (damaged[one], damaged[other]) = (damaged[other], damaged[one]);
                break;
            default:
                damaged[random.Next(damaged.Length)]++;
                damaged[random.Next(damaged.Length)]--;
                break;
        }

        return damaged;
    }

    private List<byte[]> Encoded(byte[][] records, int[] sizes) => Bytes(Ask(new()
    {
        ["op"] = "encode",
        ["records"] = Hexes(records),
        ["sizes"] = new JsonArray([.. sizes.Select(size => JsonValue.Create(size))]),
    })["frames"]!);

    private (List<bool> Taken, byte[] Text) Decoded(IEnumerable<byte[]> frames)
    {
        var answer = Ask(new() { ["op"] = "decode", ["frames"] = Hexes(frames) });
        return ([.. answer["taken"]!.AsArray().Select(taken => (bool)taken!)],
            Convert.FromHexString((string)answer["text"]!));
    }

    private JsonNode Ask(JsonObject question)
    {
        _node.StandardInput.WriteLine(question.ToJsonString());
        return JsonNode.Parse(_node.StandardOutput.ReadLine() ?? throw new InvalidOperationException(
            "framing.mjs has ended: " + _node.StandardError.ReadToEnd()))!;
    }

    private static JsonArray Hexes(IEnumerable<byte[]> all) => [.. all.Select(bytes => JsonValue.Create(Hex(bytes)))];

    private static string Hex(byte[] bytes) => Convert.ToHexStringLower(bytes);

    private static List<byte[]> Bytes(JsonNode list) =>
        [.. list.AsArray().Select(hex => Convert.FromHexString((string)hex!))];

    private static Process Start()
    {
        var start = new ProcessStartInfo("node", [Path.Combine(AppContext.BaseDirectory, "Lis", "framing.mjs")])
        {
            RedirectStandardInput = true,
            RedirectStandardOutput = true,
            RedirectStandardError = true,
        };
        try
        {
            return Process.Start(start)!;
        }
        catch (Win32Exception missing)
        {
            throw new InvalidOperationException("Node.js is missing; DEVELOPERS.md says what the tests need.", missing);
        }
    }
}
