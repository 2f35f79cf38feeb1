using System.Globalization;
using Incubation.Bench;
using Incubation.Model;
using Incubation.Model.Controls;
using Incubation.Records.Batches;
using Incubation.Records.Export;
using Incubation.TestKit;
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
        var lines = CartridgeCsv.Lines([new CartridgeLine(one)], Berlin).ToList();
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

    /// <summary>
    /// Who let a held result out, when and why, and what stood before it was amended: an inspector asks for each
    /// (42 CFR 493.1291(k): the corrected report and the original both).
    /// </summary>
    [Fact]
    public void Lines_ReleasedAndAmended_SaysWhoWhenWhyAndWhatStoodBefore()
    {
        var one = Record() with
        {
            Corrections = 1,
            Released = "measured twice",
            Release = Done(2, "ines"),
            Amendments =
            [
                new EarlierResult(new ReadResult.Measured("160", "mg/L"), Rows.Morning, new PersonId("lena"), "digit"),
                new EarlierResult(new ReadResult.Measured("16", "mg/L"), Rows.Morning + Duration.FromHours(1),
                    new PersonId("mara"), "point"),
            ],
            First = new ReadResult.Measured("160", "mg/L"),
            Hold = ResultHold.Deviation,
        };
        var line = Named(CartridgeCsv.Lines([new CartridgeLine(one)], DateTimeZone.Utc));
        Assert.Equal(("ines", "measured twice", "deviation"),
            (line["releasedBy"], line["releaseWords"], line["hold"]));
        Assert.Equal(Iso(Rows.Morning + Duration.FromMinutes(2)), line["released"]);
        Assert.Equal(("2", "3"), (line["amendments"], line["corrections"]));
        Assert.Equal(("mara", "point", "160"), (line["amendedBy"], line["amendWords"], line["firstResult"]));
        Assert.Equal(Iso(Rows.Morning + Duration.FromHours(1)), line["amended"]);
    }

    /// <summary>That it could be reported before is said of one that something holds now, and of no other.</summary>
    [Theory]
    [InlineData(CartridgeStatus.ResultHeld, false, true)]
    [InlineData(CartridgeStatus.ResultHeld, true, false)]
    [InlineData(CartridgeStatus.Done, false, false)]
    public void Lines_HeldAfterItWasOut_SaySinceWhenItWas(CartridgeStatus standing, bool isReleased, bool isSaid)
    {
        var one = Record() with
        {
            Standing = standing,
            Released = isReleased ? "measured twice" : null,
            Out = Rows.Morning,
        };
        var line = Named(CartridgeCsv.Lines([new CartridgeLine(one)], DateTimeZone.Utc));
        Assert.Equal(isSaid ? Iso(Rows.Morning) : "", line["outBefore"]);
    }

    /// <summary>A patients' interval says nothing of a control: its own target does.</summary>
    [Theory]
    [InlineData(RequestKind.Patient, "high", "yes")]
    [InlineData(RequestKind.Control, "", "")]
    public void Lines_BeyondThePatientsInterval_MarksPatientsAlone(RequestKind kind, string mark, string critical)
    {
        var one = Record() with
        {
            Kind = kind,
            Marked = new MarkedResult("12.5", ResultFlag.High, IsCritical: true),
        };
        var line = Named(CartridgeCsv.Lines([new CartridgeLine(one)], DateTimeZone.Utc));
        Assert.Equal((mark, critical), (line["mark"], line["critical"]));
    }

    /// <summary>
    /// Whatever holds it, a result that is held was reported to nobody; nor was one that is no patient's.
    /// </summary>
    [Fact]
    public void Lines_AResultThatIsNotOut_IsReportedToNobody()
    {
        var rule = ResultRule.AsDisplayed with { Decimals = 0 };
        foreach (var kind in Enum.GetValues<RequestKind>())
            foreach (var hold in Enum.GetValues<ResultHold>())
            {
                var one = Record() with { Kind = kind, Hold = hold, Marked = MarkedResult.Of(rule, "12.5") };
                var line = Named(CartridgeCsv.Lines([new CartridgeLine(one)], DateTimeZone.Utc));
                Assert.Equal("12.5", line["result"]);
                Assert.Equal(kind == RequestKind.Patient && hold == ResultHold.None ? "13" : "", line["reported"]);
            }
    }

    [Fact]
    public void Lines_ControlThatBreaksARule_SaysItsTargetItsVerdictAndTheRules()
    {
        var material = new ControlMaterial(new LotCode("CTRL-7"), 2);
        var run = new ControlRun(RequestId.Of("R01"), Rows.Bench, 1, AssayCode.Of("A"), LotCode.Of("A-L1"), material, 4,
            Rows.Morning, Rows.Morning, "65", 65m, new ControlTarget(50m, 4m),
            [new RuleViolation(ControlRule.OneThreeS, [])], ControlVerdict.Rejected);
        var one = Record() with { Kind = RequestKind.Control, Control = material };
        var line = Named(CartridgeCsv.Lines([new CartridgeLine(one, Judged: run)], DateTimeZone.Utc));
        Assert.Equal(("CTRL-7", "2", "rejected", "one-three-s"),
            (line["controlLot"], line["controlLevel"], line["controlVerdict"], line["controlRules"]));
        Assert.Equal(("65", "50", "4"), (line["controlValue"], line["controlMean"], line["controlDeviation"]));
    }

    /// <summary>Times stand as exactly as on record: else medians counted again differ from the reports'.</summary>
    [Fact]
    public void Lines_TimeWithinASecond_KeepsIt()
    {
        var one = Record() with
        {
            Mix = new RecordedStep(null, Rows.Morning + Duration.FromMilliseconds(250), Rows.Morning, null, null, null),
        };
        var line = Named(CartridgeCsv.Lines([new CartridgeLine(one)], DateTimeZone.Utc));
        Assert.EndsWith(".25+00:00", line["mixBegin"], StringComparison.Ordinal);
        Assert.EndsWith(":00+00:00", line["mixEnd"], StringComparison.Ordinal);
    }

    /// <summary>The room's README says of every column what it holds.</summary>
    [Fact]
    public void Names_EachStandsInTheReadme()
    {
        var readme = CommittedFile.Read("src/Incubation.Records/README.md");
        Assert.All(CartridgeCsv.Names, name => Assert.Contains($"`{name}`", readme, StringComparison.Ordinal));
    }

    private static Dictionary<string, string> Named(IEnumerable<string> lines)
    {
        var rows = lines.Select(line => line.TrimEnd().Split(',').Select(field => field.Trim('"')).ToList()).ToList();
        Assert.Equal(rows[0].Count, rows[1].Count);
        return rows[0].Zip(rows[1]).ToDictionary(pair => pair.First, pair => pair.Second);
    }

    private static RecordedStep Done(int minute, string person) =>
        new(null, Rows.Morning + Duration.FromMinutes(minute), Rows.Morning + Duration.FromMinutes(minute), null,
            new PersonId(person), null);

    private static string Iso(Instant at) =>
        at.ToString("uuuu-MM-dd'T'HH:mm:ss", CultureInfo.InvariantCulture) + "+00:00";

    private static CartridgeRecord Record() => new(
        Rows.Bench, 1, RequestId.Of("R01"), SpecimenId.Of("SP-1"), AssayCode.Of("A"), "Invented assay", 1,
            LotCode.Of("A-L1"), RequestKind.Patient, Priority.Routine,
        Rows.Morning, CartridgeStatus.ResultHeld, RecordedStep.None, RecordedStep.None, RecordedStep.None,
            RecordedStep.None, null, null, 1, 1, false,
        [Deviation.EarlyRead], 0, new ReadResult.Measured("12.5", "mg/L"), RecordedStep.None, RecordedStep.None, null,
            null);
}
