using System.Globalization;
using System.Text;
using System.Text.RegularExpressions;
using Incubation.TestKit;
using NodaTime;

namespace Incubation.Hostile;

/// <summary>
/// Spoils what readers read well, byte by byte and value by value: no reader may end in any other way than its
/// documents say, nor take memory or time without bound.
/// </summary>
internal static partial class ReaderRun
{
    /// <summary>What a reader may allocate whatever it is given.</summary>
    private const long Fixed = 24_000_000;

    private static readonly TimeSpan Patience = TimeSpan.FromSeconds(20);

    /// <summary>What was found: empty where all held.</summary>
    public static IReadOnlyList<string> Play(int first, int count, ulong seed, string folder, string? only = null)
    {
        var findings = new List<string>();
        foreach (var reader in Readers.All(folder).Where(reader => only is null || reader.Name == only))
        {
            foreach (var sample in reader.Samples)
                Play(reader, sample, "a valid sample", findings);
            for (var number = first; number < first + count; number++)
            {
                var own = new SeededRandom(seed ^ ((ulong)number * 0x9E3779B97F4A7C15UL)).NextBits();
                var random = new SeededRandom(own);
                var again = string.Create(CultureInfo.InvariantCulture, $"--seed {seed} --first {number} --count 1");
                Play(reader, Spoil(random.Pick(reader.Samples), random),
                    $"tests/Hostile/run.sh readers --reader \"{reader.Name}\" {again}", findings);
            }
        }

        return findings;
    }

    private static void Play(FuzzedReader reader, byte[] bytes, string again, List<string> findings)
    {
        var before = GC.GetAllocatedBytesForCurrentThread();
        using var watch = new Timer(_ => Environment.FailFast($"{reader.Name} hangs: {again}"), null, Patience,
            Timeout.InfiniteTimeSpan);
        try
        {
            reader.Read(bytes);
        }
        catch (Exception fault) when (fault is not OutOfMemoryException)
        {
            findings.Add($"{reader.Name}: {again}\n{fault}");
        }

        var allocated = GC.GetAllocatedBytesForCurrentThread() - before;
        if (allocated > Fixed + ((long)bytes.Length * reader.Factor))
            findings.Add($"{reader.Name}: {allocated} bytes for {bytes.Length}: {again}");
    }

    private static byte[] Spoil(byte[] sample, SeededRandom random)
    {
        var bytes = sample.ToList();
        for (var times = random.Between(1, 4); times > 0; times--)
            SpoilOnce(bytes, random);
        return random.Chance(0.02) ? RandomBytes(random) : [.. bytes];
    }

    private static void SpoilOnce(List<byte> bytes, SeededRandom random)
    {
        if (bytes.Count == 0)
            return;
        var at = random.Between(0, bytes.Count - 1);
        var length = Math.Min(random.Between(1, 40), bytes.Count - at);
        switch (random.Between(0, 8))
        {
            case 0:
                bytes[at] = (byte)random.Between(0, 255);
                break;
            case 1:
                bytes[at] ^= (byte)(1 << random.Between(0, 7));
                break;
            case 2:
                bytes.RemoveRange(at, length);
                break;
            case 3:
                bytes.InsertRange(at, bytes.GetRange(at, length));
                break;
            case 4:
                bytes.RemoveRange(at, bytes.Count - at);
                break;
            case 5:
                bytes.InsertRange(at, Encoding.UTF8.GetBytes(random.Pick(Extremes.Anything)));
                break;
            default:
                // A value for a value: what still reads as JSON goes deepest.
                var text = Encoding.UTF8.GetString([.. bytes]);
                var values = Value().Matches(text);
                if (values.Count == 0)
                    break;
                var value = values[random.Between(0, values.Count - 1)];
                var kind = value.Value.StartsWith('"') ? random.Pick([MemberKind.Text, MemberKind.Time])
                    : random.Pick([MemberKind.Number, MemberKind.Number, MemberKind.Truth]);
                var extreme = Extremes.Pick(kind, Instant.FromUtc(2026, 3, 2, 8, 0), random);
                bytes.Clear();
                bytes.AddRange(Encoding.UTF8.GetBytes(
                    text[..value.Index] + extreme + text[(value.Index + value.Length)..]));
                break;
        }
    }

    private static byte[] RandomBytes(SeededRandom random) =>
        [.. Enumerable.Range(0, random.Between(0, 3000)).Select(_ => (byte)random.NextBits())];

    // A string, or a number, after a colon or in a list.
    [GeneratedRegex("(?<=[:\\[,]\\s*)(\"[^\"]*\"|-?[0-9.eE+]+)")]
    private static partial Regex Value();
}
