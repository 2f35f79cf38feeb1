using System.Collections.Immutable;
using NodaTime;

namespace Incubation.Bench;

/// <summary>A time in which an expected probe sent nothing.</summary>
/// <param name="From">When it was heard of before.</param>
/// <param name="To">When it was heard of again; the present where it has not been.</param>
public sealed record ProbeGap(Instant From, Instant To);

/// <summary>How a probe's measurements have come in.</summary>
/// <param name="Since">Since when they come without a gap; null where nothing has come.</param>
/// <param name="Gaps">The gaps, the first first; one that lasts is the last.</param>
/// <param name="IsSilent">Whether the last gap lasts.</param>
public sealed record ProbeCourse(Instant? Since, ImmutableArray<ProbeGap> Gaps, bool IsSilent)
{
    /// <summary>Works it out by the rule of <see cref="ExpectedProbe.SilentFrom"/>.</summary>
    /// <param name="measured">When each was measured, in order.</param>
    /// <param name="every">So often it should be; null where nobody expects it: then nothing is a gap.</param>
    /// <param name="now">The present.</param>
    public static ProbeCourse Of(IReadOnlyList<Instant> measured, Duration? every, Instant now)
    {
        ArgumentNullException.ThrowIfNull(measured);
        if (measured.Count == 0)
            return new ProbeCourse(null, [], false);
        if (every is not { } expected)
            return new ProbeCourse(measured[0], [], false);
        bool IsGap(Instant from, Instant to) => ExpectedProbe.IsSilence(from, to, expected);
        var gaps = measured.Zip(measured.Skip(1)).Where(pair => IsGap(pair.First, pair.Second))
            .Select(pair => new ProbeGap(pair.First, pair.Second)).ToImmutableArray();
        var since = gaps.IsEmpty ? measured[0] : gaps[^1].To;
        return IsGap(measured[^1], now)
            ? new ProbeCourse(since, gaps.Add(new ProbeGap(measured[^1], now)), true)
            : new ProbeCourse(since, gaps, false);
    }
}
