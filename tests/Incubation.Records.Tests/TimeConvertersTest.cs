using System.Text.Json;
using Incubation.Records.Events;
using NodaTime;
using NodaTime.Text;
using Xunit;

namespace Incubation.Records.Tests;

/// <summary>The quick ways of reading times read what the patterns read, and nothing else.</summary>
public sealed class TimeConvertersTest
{
    [Theory]
    [InlineData("2026-03-02T08:00:00Z")]
    [InlineData("2026-03-02T08:00:00.1Z")]
    [InlineData("2026-03-02T08:00:00.1234567Z")]
    [InlineData("2026-03-02T08:00:00.123456789Z")]
    [InlineData("1678-01-01T00:00:00Z")]
    [InlineData("2261-12-31T23:59:59.999999999Z")]
    public void Instant_AsWritten_IsThatOfThePattern(string text) =>
        Assert.Equal(InstantPattern.ExtendedIso.Parse(text).Value,
            JsonSerializer.Deserialize<Instant>($"\"{text}\"", EventJson.Options));

    [Theory]
    [InlineData("2026-03-02T08:00:00+01:00")]
    [InlineData("2026-03-02T08:00Z")]
    [InlineData("2026-03-02T08:00:00")]
    [InlineData("2026-13-02T08:00:00Z")]
    [InlineData("2026-03-02 08:00:00Z")]
    [InlineData("2026-03-02T08:00:61Z")]
    public void Instant_AnyOtherForm_IsRefused(string text)
    {
        Assert.False(InstantPattern.ExtendedIso.Parse(text).Success);
        Assert.ThrowsAny<JsonException>(() => JsonSerializer.Deserialize<Instant>($"\"{text}\"", EventJson.Options));
    }

    [Theory]
    [InlineData("PT0S", true)]
    [InlineData("PT50S", true)]
    [InlineData("PT1M30S", true)]
    [InlineData("PT10H2M3S", true)]
    [InlineData("PT90M", true)]
    [InlineData("PT0.25S", false)]
    [InlineData("P1DT1S", false)]
    [InlineData("PT-1S", false)]
    [InlineData("PT99999999S", false)]
    public void Length_AsWritten_IsThatOfThePattern(string text, bool plain)
    {
        Assert.Equal(plain, PlainLength.TryRead(text, out _));
        Assert.Equal(PeriodPattern.NormalizingIso.Parse(text).Value.ToDuration(),
            JsonSerializer.Deserialize<Duration>($"\"{text}\"", EventJson.Options));
    }

    [Theory]
    [InlineData("PT")]
    [InlineData("PTS")]
    [InlineData("PT1")]
    [InlineData("PT1S1M")]
    [InlineData("PT1S1S")]
    [InlineData("PT1X")]
    [InlineData("1S")]
    public void Length_AnyOtherForm_IsNotPlain(string text) => Assert.False(PlainLength.TryRead(text, out _));
}
