using Incubation.Exchange.Lis;
using NodaTime;
using Xunit;

namespace Incubation.Exchange.Tests.Lis;

/// <summary>Times by the clock of a reader, which knows no zone.</summary>
public sealed class ReaderTimeTest
{
    private static readonly DateTimeZone Zone = DateTimeZoneProviders.Tzdb["Europe/Vienna"];

    [Theory]
    [InlineData("20260302081010", "2026-03-02T07:10:10Z", "2026-03-02T07:10:10Z")]
    [InlineData("202603020810", "2026-03-02T07:10:00Z", "2026-03-02T07:10:59Z")]
    [InlineData("20260302", "2026-03-01T23:00:00Z", "2026-03-02T22:59:59Z")]
    [InlineData("20260302081010+0530", "2026-03-02T02:40:10Z", "2026-03-02T02:40:10Z")]
    [InlineData("20260302081010-0500", "2026-03-02T13:10:10Z", "2026-03-02T13:10:10Z")]
    // The hour that comes twice, and the one that does not come: the clock may have been moved or not.
    [InlineData("20261025023000", "2026-10-25T00:30:00Z", "2026-10-25T01:30:00Z")]
    [InlineData("20260329023000", "2026-03-29T00:30:00Z", "2026-03-29T01:30:00Z")]
    public void Read_ATime_IsTheIntervalInWhichItCanHaveBeen(string text, string earliest, string latest)
    {
        var time = ReaderTime.Read(text, Zone)!;
        Assert.Equal((earliest, latest), (time.At.Earliest.ToString(), time.At.Latest.ToString()));
        Assert.Equal(text, time.Text);
    }

    [Theory]
    [InlineData("")]
    [InlineData("2026")]
    [InlineData("2026030208")]
    [InlineData("20261302")]
    [InlineData("20260230081010")]
    [InlineData("20260302250000")]
    [InlineData("19891231235959")]
    [InlineData("22000101000000")]
    [InlineData("20260302081010+2")]
    [InlineData("20260302081010+9900")]
    [InlineData("+0100")]
    [InlineData("2026-03-02T08:10:10Z")]
    [InlineData("２０２６０３０２")]
    public void Read_WhatIsNoTime_IsNull(string text) => Assert.Null(ReaderTime.Read(text, Zone));

    [Fact]
    public void Of_AnInstant_IsWhatAClockOfTheZoneShows()
    {
        var time = ReaderTime.Of(Instant.FromUtc(2026, 7, 1, 12, 0, 5), Zone);
        Assert.Equal(("20260701140005", new LocalDateTime(2026, 7, 1, 14, 0, 5)), (time.Text, time.Shown));
    }
}
