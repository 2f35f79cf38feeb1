using Incubation.Model;
using Incubation.Records.Clinic;
using Incubation.Service.WhatIf;
using NodaTime;

namespace Incubation.Service.Tests.WhatIf;

/// <summary>The form in which a question of what a bench could do is filled in.</summary>
public sealed class WhatIfFormTest
{
    private static readonly AssayCode Da = new("DA");
    private static readonly Duration Second = Duration.FromSeconds(1);
    private static readonly Assay Incubated = new(
        Da, "Demo A", IncubationPlace.Incubator, Second * 50, Second * 120, Second * 25, Second * 480, Second * 90,
            Second * 15, Second * 40, Second * 10, Second * 35, Second * 15);

    [Fact]
    public void Read_FilledIn_GivesTheQuestion()
    {
        var form = new WhatIfForm { Slots = "6", Open = "08:30", Close = "10:00", Urgent = "25", Days = "200" };
        form.PerHour[(Da, 8)] = "4";
        form.PerHour[(Da, 9)] = "2.5";
        form.PerHour[(Da, 14)] = "9";

        var (faults, question, order) = form.Read([Incubated], Second * 15, 7);

        Assert.Empty(faults);
        Assert.Equal(new BenchSetup(1, 6, 1, Second * 25, Second * 15, 0), question!.Bench);
        // What stands in an hour in which the bench is closed does not count.
        Assert.Equal(
            [new DemandRate(Da, Duration.FromHours(8.5), Duration.FromHours(9), 4),
                new DemandRate(Da, Duration.FromHours(9), Duration.FromHours(10), 2.5)],
            question.Demand.Rates);
        Assert.Equal(0.25, question.Demand.UrgentShare);
        Assert.Equal((200, 7UL), (order!.Days, order.Seed));
    }

    [Theory]
    [InlineData(nameof(WhatIfForm.Readers), "0")]
    [InlineData(nameof(WhatIfForm.Hands), "two")]
    [InlineData(nameof(WhatIfForm.Slots), "0")]
    [InlineData(nameof(WhatIfForm.CardChange), "-1")]
    [InlineData(nameof(WhatIfForm.Urgent), "101")]
    [InlineData(nameof(WhatIfForm.Days), "1000000")]
    [InlineData(nameof(WhatIfForm.Sweep), "all")]
    [InlineData(nameof(WhatIfForm.Open), "8 o'clock")]
    [InlineData(nameof(WhatIfForm.Close), "07:00")]
    public void Read_Fault_NamesItsField(string member, string text)
    {
        var form = new WhatIfForm();
        form.PerHour[(Da, 8)] = "4";
        typeof(WhatIfForm).GetProperty(member)!.SetValue(form, text);

        var (faults, question, _) = form.Read([Incubated], Second * 15, 1);

        Assert.Null(question);
        Assert.Equal(member, Assert.Single(faults).Member);
    }

    [Fact]
    public void Read_NothingWantedOrNoNumber_SaysSoOnce()
    {
        Assert.Equal(WhatIfWords.NothingWanted,
            Assert.Single(new WhatIfForm().Read([Incubated], Second, 1).Faults).Sentence);

        var form = new WhatIfForm();
        form.PerHour[(Da, 8)] = "many";
        form.PerHour[(Da, 9)] = "-4";
        Assert.Equal(nameof(form.PerHour), Assert.Single(form.Read([Incubated], Second, 1).Faults).Member);
    }

    [Fact]
    public void Take_PastPeriod_FillsInAnAverageDayOfIt()
    {
        var zone = DateTimeZoneProviders.Tzdb["Europe/Berlin"];
        var form = new WhatIfForm { From = "2026-11-02", To = "2026-11-03" };

        // Four on Monday between nine and ten, one of them urgent, one on Tuesday at eleven; Wednesday does not count.
        var fault = form.Take(
            [.. new[] { (2, 8, 5), (2, 8, 20), (2, 8, 40), (2, 8, 55), (3, 10, 0), (4, 8, 0) }.Select((at, index) =>
                Came(index, Instant.FromUtc(2026, 11, at.Item1, at.Item2, at.Item3)))], zone);

        Assert.Null(fault);
        Assert.Equal([((Da, 9), "2"), ((Da, 11), "0.5")], form.PerHour.OrderBy(cell => cell.Key.Hour)
            .Select(cell => (cell.Key, cell.Value)));
        Assert.Equal(("09:00", "12:00", "20"), (form.Open, form.Close, form.Urgent));
    }

    /// <summary>One arrival at 16:00 in a month is no opening hour: it is left out, and that is said.</summary>
    [Fact]
    public void Take_OneLateArrivalInAMonth_MovesNoClosingTime()
    {
        var form = new WhatIfForm { From = "2026-11-01", To = "2026-11-30" };
        var each = Enumerable.Range(1, 22).SelectMany(day => new[] { 8, 15 }
            .Select(hour => Instant.FromUtc(2026, 11, day, hour, 5)));

        var fault = form.Take([.. each.Append(Instant.FromUtc(2026, 11, 4, 16, 0)).Select((at, index) =>
            Came(index, at))], DateTimeZone.Utc);

        Assert.Null(fault);
        Assert.Equal(("08:00", "16:00"), (form.Open, form.Close));
        Assert.DoesNotContain(form.PerHour.Keys, cell => cell.Hour == 16);
        Assert.Equal("Open from 08:00 to 16:00: the hours in which requests came on at least 3 of the 22 days. "
            + "1 request at another hour is left out.", form.Basis);
    }

    [Fact]
    public void Take_EmptyPeriodOrNoDay_SaysSo()
    {
        Assert.Equal(WhatIfWords.PeriodEmpty,
            new WhatIfForm { From = "2026-11-02", To = "2056-11-03" }.Take([], DateTimeZone.Utc)!.Sentence);
        Assert.Equal(nameof(WhatIfForm.From), new WhatIfForm { To = "2026-11-03" }.Take([], DateTimeZone.Utc)!.Member);
        Assert.Equal(nameof(WhatIfForm.To),
            new WhatIfForm { From = "2026-11-03", To = "2026-11-02" }.Take([], DateTimeZone.Utc)!.Member);
    }

    private static ReceivedRequest Came(int number, Instant at) => new(
        new BenchId("bench-1"),
        new Request(new RequestId("R" + number), new SpecimenId("S"), Da, new LotCode("L"), at, RequestKind.Patient,
            true, number == 0 ? Priority.Urgent : Priority.Routine, null, null, []),
        1, at);
}
