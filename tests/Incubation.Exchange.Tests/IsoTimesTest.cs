using NodaTime;
using Xunit;

namespace Incubation.Exchange.Tests;

public sealed class IsoTimesTest
{
    [Theory]
    [InlineData(0, "PT0S")]
    [InlineData(40_000, "PT40S")]
    [InlineData(90_000, "PT1M30S")]
    [InlineData(480_000, "PT8M")]
    [InlineData(1_877_000, "PT31M17S")]
    [InlineData(3_600_000, "PT1H")]
    [InlineData(100 * 3_600_000L + 500, "PT100H0.500S")]
    [InlineData(1_001, "PT1.001S")]
    public void Format_Length_IsShortAndReadsBack(long milliseconds, string text)
    {
        Assert.Equal(text, IsoDuration.Format(Duration.FromMilliseconds(milliseconds)));
        Assert.True(IsoDuration.TryParse(text, out var length));
        Assert.Equal(milliseconds, length.TotalMilliseconds);
    }

    [Theory]
    [InlineData(0, "2026-03-02T08:00:00Z")]
    [InlineData(1, "2026-03-02T08:00:00.001Z")]
    [InlineData(61_250, "2026-03-02T08:01:01.250Z")]
    public void Format_Instant_WritesMillisecondsOnlyWhereThereAreAny(long milliseconds, string text)
    {
        var instant = Instant.FromUtc(2026, 3, 2, 8, 0) + Duration.FromMilliseconds(milliseconds);
        Assert.Equal(text, IsoInstant.Format(instant));
        Assert.True(IsoInstant.TryParse(text, out var read));
        Assert.Equal(instant, read);
    }

    [Fact]
    public void Format_FinerThanMillisecondOrNegative_Throws()
    {
        Assert.Throws<ArgumentException>(() => IsoInstant.Format(Instant.FromUnixTimeTicks(1)));
        Assert.Throws<ArgumentException>(() => IsoDuration.Format(Duration.FromTicks(1)));
        Assert.Throws<ArgumentException>(() => IsoDuration.Format(Duration.FromSeconds(-1)));
    }
}
