using System.Text.Json;
using Incubation.Bench;
using Incubation.Model;
using Incubation.Records.Events;
using NodaTime;
using Xunit;

namespace Incubation.Records.Tests;

/// <summary>How values of the trade look in a payload.</summary>
public sealed class ConvertersTest
{
    public static TheoryData<Duration, string> Durations => new()
    {
        { Duration.Zero, "PT0S" },
        { Duration.FromSeconds(90), "PT1M30S" },
        { Duration.FromMilliseconds(250), "PT0.25S" },
        { Duration.FromNanoseconds(1), "PT0.000000001S" },
        { Duration.FromSeconds(-5), "PT-5S" },
        { Duration.FromHours(49), "P2DT1H" },
    };

    [Theory]
    [MemberData(nameof(Durations))]
    public void Duration_Written_IsIsoAndExact(Duration duration, string text)
    {
        Assert.Equal($"\"{text}\"", JsonSerializer.Serialize(duration, EventJson.Options));
        Assert.Equal(duration, JsonSerializer.Deserialize<Duration>($"\"{text}\"", EventJson.Options));
    }

    [Theory]
    [InlineData("\"P1M\"")]
    [InlineData("\"P1Y\"")]
    [InlineData("\"90\"")]
    [InlineData("\"\"")]
    [InlineData("null")]
    public void Duration_NoFixedLength_IsRefused(string json) =>
        Assert.Throws<JsonException>(() => JsonSerializer.Deserialize<Duration>(json, EventJson.Options));

    [Fact]
    public void Instant_WithNanoseconds_IsIsoAndExact()
    {
        var instant = Instant.FromUtc(2026, 3, 2, 8, 0) + Duration.FromNanoseconds(120_000_001);
        var json = JsonSerializer.Serialize(instant, EventJson.Options);
        Assert.Equal("\"2026-03-02T08:00:00.120000001Z\"", json);
        Assert.Equal(instant, JsonSerializer.Deserialize<Instant>(json, EventJson.Options));
    }

    [Fact]
    public void Union_Case_BearsItsKind()
    {
        StepAction action = new StepAction.Load(RequestId.Of("R01"), new CartridgePlace.InSlot(SlotNumber.Of(3)));
        var json = JsonSerializer.Serialize(action, EventJson.Options);
        Assert.Equal("""{"kind":"load","request":"R01","place":{"kind":"in-slot","slot":3}}""", json);
        Assert.Equal(action, JsonSerializer.Deserialize<StepAction>(json, EventJson.Options));
    }

    [Theory]
    [InlineData("""{"kind":"no-such-step","request":"R01"}""")]
    [InlineData("""{"kind":"mix","request":" R01"}""")]
    [InlineData("""{"kind":"mix","request":1}""")]
    [InlineData("""{"kind":"clear","request":"R01","reader":0}""")]
    [InlineData("""{"kind":"clear","request":"R01"}""")]
    public void Union_NoSuchCaseOrValue_IsRefused(string json) =>
        Assert.ThrowsAny<JsonException>(() => JsonSerializer.Deserialize<StepAction>(json, EventJson.Options));

    [Fact]
    public void Union_WithoutKind_IsRefused() =>
        Assert.Throws<NotSupportedException>(() =>
            JsonSerializer.Deserialize<StepAction>("""{"request":"R01"}""", EventJson.Options));

    [Theory]
    [InlineData("\"\"")]
    [InlineData("3")]
    [InlineData("\"dropped by a cat\"")]
    public void Enum_NoSuchName_IsRefused(string json) =>
        Assert.Throws<JsonException>(() => JsonSerializer.Deserialize<DiscardReason>(json, EventJson.Options));

    [Theory]
    [InlineData("""{"earliest":"2026-03-02T08:00:00Z"}""")]
    [InlineData("""{"earliest":"2026-03-02T08:00:00Z","latest":"2026-03-02T08:00:00Z","middle":1}""")]
    public void InstantRange_NotBothEndsAlone_IsRefused(string json) =>
        Assert.Throws<JsonException>(() => JsonSerializer.Deserialize<InstantRange>(json, EventJson.Options));
}
