using Incubation.Bench;
using Incubation.Model;
using Incubation.Records.Batches;
using Incubation.Records.Reports;
using Incubation.Service.Reports;
using NodaTime;

namespace Incubation.Service.Tests.Reports;

/// <summary>
/// Reports name an order only where it is clear: 95 % intervals apart, and enough results. Else they say that there is
/// none.
/// </summary>
public sealed class OrderInReportsTest
{
    /// <summary>A Monday.</summary>
    private static readonly Instant Midnight = Instant.FromUtc(2026, 3, 2, 0, 0);

    /// <summary>As seen: 16:42 was "longest" beside 16:41 and a far worse 90th percentile.</summary>
    [Fact]
    public void Hours_MediansASecondApart_NameNoOrderAndTheClearlyWorseNinth()
    {
        var eight = Enumerable.Range(0, 60).Select(at => Took(8, 16.7 + ((at - 29.5) * 0.05)));
        var nine = Enumerable.Range(0, 60).Select(at => Took(9, at < 40 ? 16.68 + ((at - 29.5) * 0.05) : 40 + at));
        var finding = TimeSections.Hours([.. eight, .. nine], DateTimeZone.Utc).Finding;
        Assert.StartsWith("No hour waits clearly longer: medians from 16:", finding, StringComparison.Ordinal);
        Assert.Contains("Nine out of ten wait clearly longer between 09:00 and 10:00", finding,
            StringComparison.Ordinal);
    }

    [Fact]
    public void Hours_OneFarAboveTheOthers_IsNamed()
    {
        var finding = TimeSections.Hours(
            [.. Sample(8, 15), .. Sample(9, 30), .. Sample(10, 16)], DateTimeZone.Utc).Finding;
        Assert.StartsWith("Requests between 09:00 and 10:00 wait clearly longer than at any other hour", finding,
            StringComparison.Ordinal);
    }

    /// <summary>One result at 16:00 is shown, marked, and held against nothing.</summary>
    [Fact]
    public void Hours_OneResultInAnHour_IsMarkedFewAndNotCompared()
    {
        var section = TimeSections.Hours([.. Sample(8, 15), .. Sample(9, 30), Took(16, 90)], DateTimeZone.Utc);
        Assert.Contains("between 09:00 and 10:00", section.Finding, StringComparison.Ordinal);
        Assert.Equal("1, few", ReportTable.Show(section.Table.Rows[^1][1]));
        Assert.EndsWith(",1,90,90\r\n", section.Table.Lines().Last(), StringComparison.Ordinal);
        Assert.Contains("Fewer than 10 results are marked", section.Text, StringComparison.Ordinal);
    }

    [Fact]
    public void Groups_OverlappingOrFew_NameNone()
    {
        ReportSection By(params CartridgeTimes[][] of) => TimeSections.By("time-by-lot", "",
            new ReportColumn("Lot", "lot", false), [.. of.SelectMany(one => one)], one => one.Lot.Value);
        Assert.StartsWith("None takes clearly longer", By(Sample(8, 15, "A"), Sample(8, 15.2, "B")).Finding,
            StringComparison.Ordinal);
        Assert.StartsWith("B takes clearly longer than any other", By(Sample(8, 15, "A"), Sample(8, 30, "B")).Finding,
            StringComparison.Ordinal);
        Assert.Equal("Too few results to compare.", By(Sample(8, 15, "A"), [Took(8, 90, "B")]).Finding);
    }

    [Fact]
    public void Priorities_Overlapping_SayThatTheDifferenceIsNotClear()
    {
        CartridgeTimes[] urgent = [.. Sample(8, 14.9).Select(one => one with { Priority = Priority.Urgent })];
        Assert.EndsWith("The difference is not clear: their 95 % intervals overlap.",
            TimeSections.Priorities([.. urgent, .. Sample(8, 15)]).Finding, StringComparison.Ordinal);
        Assert.EndsWith("routine 30:00.", TimeSections.Priorities([.. urgent, .. Sample(8, 30)]).Finding,
            StringComparison.Ordinal);
    }

    [Fact]
    public void Reasons_SixBesideFive_NameNoneTheMostFrequent()
    {
        List<CartridgeTimes> Of(int bubbles, int dropped) =>
        [
            .. Enumerable.Repeat(Discarded(DiscardReason.Bubbles), bubbles),
            .. Enumerable.Repeat(Discarded(DiscardReason.Dropped), dropped),
        ];
        Assert.EndsWith("No reason is clearly the most frequent.", CountSections.Reasons(Of(6, 5)).Finding,
            StringComparison.Ordinal);
        Assert.EndsWith("40 of 45.", CountSections.Reasons(Of(40, 5)).Finding, StringComparison.Ordinal);
    }

    /// <summary>
    /// What is one is said of one; a cartridge that was discarded after its result was entered is discarded.
    /// </summary>
    [Fact]
    public void Requests_OnOneDay_AreSaidOfOneDay()
    {
        string Finding(params CartridgeTimes[] all) =>
            CountSections.Requests(all, Stretch.Day, DateTimeZone.Utc).Finding;
        Assert.Equal("1 request on 1 day, Monday 2026-03-02.", Finding(Took(8, 15)));
        Assert.Equal("2 requests on 1 day, Monday 2026-03-02.", Finding(Took(8, 15), Took(9, 15)));
        Assert.StartsWith("2 requests on 2 days: half of the days had 1 or fewer", Finding(Took(8, 15), Took(33, 15)),
            StringComparison.Ordinal);
        var row = Assert.Single(CountSections.Requests([Took(8, 15), Discarded(DiscardReason.Dropped)], Stretch.Day,
            DateTimeZone.Utc).Table.Lines().Skip(1));
        Assert.EndsWith(",1,1,0,0\r\n", row, StringComparison.Ordinal);
    }

    [Fact]
    public void Day_FewOfItOrOverlapping_IsNotClearlyLonger()
    {
        CartridgeTimes[] usual = [.. Sample(8, 15).Select(one => one with
        {
            Asked = one.Asked + Duration.FromDays(1),
            ResultAt = one.ResultAt + Duration.FromDays(1),
        })];
        string Finding(IEnumerable<CartridgeTimes> day) => DaySections.Of(
            DayAgainstUsual.Of([.. usual, .. day], new LocalDate(2026, 3, 2), DateTimeZone.Utc),
            new LocalDate(2026, 3, 2), "").First().Finding;
        Assert.Contains("than on other days: the median of 41 results is 15:1", Finding(Sample(8, 15.2)),
            StringComparison.Ordinal);
        Assert.Contains("did not wait clearly longer than on other days: the median of 3 results is 1:30:00",
            Finding(Enumerable.Repeat(Took(8, 90), 3)), StringComparison.Ordinal);
        Assert.Contains("half of the results took 30:00 or longer", Finding(Sample(8, 30)), StringComparison.Ordinal);
    }

    /// <summary>Forty-one results around a median, five seconds between them.</summary>
    private static CartridgeTimes[] Sample(int hour, double median, string lot = "L") =>
        [.. Enumerable.Range(-20, 41).Select(at => Took(hour, median + (at / 12.0), lot))];

    private static CartridgeTimes Discarded(DiscardReason reason) => Took(8, 15) with
    {
        Standing = CartridgeStatus.Discarded,
        Reason = reason,
        Mix = new StepSpan(null, Midnight, Midnight),
    };

    private static CartridgeTimes Took(int hour, double minutes, string lot = "L") => new()
    {
        Bench = BenchId.Of("bench-1"),
        Batch = 1,
        Request = RequestId.Of("R1"),
        Asked = Midnight + Duration.FromHours(hour),
        Assay = AssayCode.Of("A"),
        AssayVersion = 1,
        Lot = LotCode.Of(lot),
        Kind = RequestKind.Patient,
        Priority = Priority.Routine,
        Standing = CartridgeStatus.Done,
        ResultAt = Midnight + Duration.FromHours(hour) + Duration.FromMinutes(minutes),
    };
}
