using Incubation.Bench;
using Incubation.Model;
using Incubation.Records.Batches;
using Incubation.Records.Export;
using NodaTime;
using Xunit;

namespace Incubation.Records.Tests;

/// <summary>
/// Cartridges as comma-separated values: RFC 4180, harmless in a spreadsheet, and with times that read right in autumn.
/// </summary>
public sealed class CartridgeCsvTest
{
    private static readonly DateTimeZone Berlin = DateTimeZoneProviders.Tzdb["Europe/Berlin"];

    [Theory]
    [InlineData("plain", "\"plain\"")]
    [InlineData("two, words", "\"two, words\"")]
    [InlineData("a \"quote\"", "\"a \"\"quote\"\"\"")]
    [InlineData("two\r\nlines", "\"two\r\nlines\"")]
    [InlineData("", "")]
    [InlineData("=1+1", "\"'=1+1\"")]
    [InlineData("\uFF1D1+1", "\"'\uFF1D1+1\"")]
    [InlineData("+49", "\"+49\"")]
    [InlineData("-0.5", "\"-0.5\"")]
    [InlineData("-cmd|' /C calc'!A0", "\"'-cmd|' /C calc'!A0\"")]
    [InlineData("@SUM(A1)", "\"'@SUM(A1)\"")]
    [InlineData("\t=1", "\"'\t=1\"")]
    [InlineData("<0.5", "\"<0.5\"")]
    public void Field_AnyText_IsOneFieldAndNoFormula(string text, string expected) =>
        Assert.Equal(expected, Csv.Field(text));

    /// <summary>
    /// Clocks in Berlin went from 03:00 +02:00 back to 02:00 +01:00 on 2026-10-25, at 01:00 UTC (IANA time zone
    /// database).
    /// </summary>
    [Fact]
    public void Lines_HourThatComesTwice_IsToldApartByItsOffset()
    {
        var one = Record() with
        {
            Mix = new RecordedStep(null, Instant.FromUtc(2026, 10, 25, 0, 30), Instant.FromUtc(2026, 10, 25, 0, 31),
                null, null, null),
            Read = new RecordedStep(null, Instant.FromUtc(2026, 10, 25, 1, 30), Instant.FromUtc(2026, 10, 25, 1, 30),
                null, null, null),
        };
        var lines = CartridgeCsv.Lines([one], Berlin).ToList();
        Assert.All(lines, line => Assert.EndsWith("\r\n", line, StringComparison.Ordinal));
        var names = lines[0].TrimEnd().Split(',');
        var values = lines[1].TrimEnd().Split(',');
        Assert.Equal(names.Length, values.Length);
        string Value(string name) => values[Array.IndexOf(names, $"\"{name}\"")].Trim('"');
        Assert.Equal("2026-10-25T02:30:00+02:00", Value("mixBegin"));
        Assert.Equal("2026-10-25T02:30:00+01:00", Value("readStart"));
        Assert.Equal("early-read", Value("deviations"));
        Assert.Equal(("12.5", "mg/L"), (Value("result"), Value("unit")));
    }

    private static CartridgeRecord Record() => new(
        Rows.Bench, 1, RequestId.Of("R01"), SpecimenId.Of("SP-1"), AssayCode.Of("A"), "Invented assay", 1,
            LotCode.Of("A-L1"), RequestKind.Patient, Priority.Routine,
        Rows.Morning, CartridgeStatus.ResultHeld, RecordedStep.None, RecordedStep.None, RecordedStep.None,
            RecordedStep.None, null, null, 1, 1, false,
        [Deviation.EarlyRead], 0, new ReadResult.Measured("12.5", "mg/L"), RecordedStep.None, RecordedStep.None, null,
            null);
}
