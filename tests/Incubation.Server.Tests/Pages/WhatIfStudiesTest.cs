using System.Globalization;
using System.Text;
using System.Text.RegularExpressions;
using Bunit;
using Incubation.Model;
using Incubation.Model.Reports;
using Incubation.Server.Pages.WhatIf;
using Incubation.Server.Tests.Demo;
using Incubation.Service.Text;
using Incubation.Service.WhatIf;
using Incubation.Simulation.Capacity;
using NodaTime;

namespace Incubation.Server.Tests.Pages;

/// <summary>
/// Questions of what a bench could do are answered in the background, one after another, until they are stopped.
/// </summary>
public sealed class WhatIfStudiesTest(WhatIfStudiesTest.Answered answered) : BunitContext,
    IClassFixture<WhatIfStudiesTest.Answered>
{
    /// <summary>One question's answer, for what only looks at it: the same seed gives the same numbers.</summary>
    public sealed class Answered : IAsyncLifetime
    {
        internal CapacityAnswer Answer { get; private set; } = null!;

        public async ValueTask InitializeAsync()
        {
            using var studies = new WhatIfStudies();
            Answer = await studies.AnswerAsync(Question(4), Short, _ => { }, CancellationToken.None);
        }

        public ValueTask DisposeAsync() => ValueTask.CompletedTask;
    }

    private static readonly AssayCode Da = new("DA");
    private static readonly Duration Second = Duration.FromSeconds(1);
    private static readonly StudyOrder Short = new(Days: 2, MaxSlots: 1);

    /// <summary>For what needs any answer.</summary>
    private static readonly StudyOrder OneDay = new(Days: 1, MaxSlots: 0);

    private static CapacityQuestion Question(double perHour) => new(
        new BenchSetup(1, 2, 1, Second * 25, Second * 15, 0),
        [new Assay(Da, "Demo A", IncubationPlace.Incubator, Second * 50, Second * 120, Second * 25, Second * 480,
            Second * 90, Second * 15, Second * 40, Second * 10, Second * 35, Second * 15)],
        new Demand(Duration.FromHours(8), Duration.FromHours(10), 0.2,
            [new DemandRate(Da, Duration.FromHours(8), Duration.FromHours(10), perHour)]));

    [Fact]
    public async Task Answer_Stopped_EndsAndTheNextIsAnswered()
    {
        using var studies = new WhatIfStudies();
        using var stop = CancellationTokenSource.CreateLinkedTokenSource(Xunit.TestContext.Current.CancellationToken);

        await Assert.ThrowsAnyAsync<OperationCanceledException>(() =>
            studies.AnswerAsync(Question(4), OneDay, _ => stop.Cancel(), stop.Token));
        var answer = await studies.AnswerAsync(Question(4), OneDay, _ => { },
            Xunit.TestContext.Current.CancellationToken);

        Assert.NotNull(answer.AsAsked.Figures);
    }

    [Fact]
    public void Page_Answer_ShowsWhatLimitsTheComparisonAndTheSweep()
    {
        var page = Render<WhatIfAnswer>(parameters => parameters.Add(shown => shown.Answer, answered.Answer)
            .Add(shown => shown.Order, Short));

        Assert.Contains("Bottleneck", page.Find("section strong").TextContent, StringComparison.Ordinal);
        Assert.Equal(
            [WhatIfPageWords.ColumnWhat, "as asked", "one more pair of hands", "one more slot", "one more reader",
                "10 more a day"],
            page.FindAll("section table")[0].QuerySelectorAll("thead th").Select(head => head.TextContent));
        Assert.StartsWith("data:image/svg+xml;base64,", page.Find("img").GetAttribute("src"), StringComparison.Ordinal);
    }

    /// <summary>The record's own figures stand beside the played ones.</summary>
    [Fact]
    public void Page_PeriodFilledIn_SetsTheRecordBesideThePlayedDays()
    {
        var past = new PastRecord(new LocalDate(2026, 10, 1), new LocalDate(2026, 10, 31),
            Spread.Of(Enumerable.Repeat(28.5, 40)), null, 40, 1);

        var page = Render<WhatIfAnswer>(parameters => parameters.Add(shown => shown.Answer, answered.Answer)
            .Add(shown => shown.Order, Short).Add(shown => shown.Past, past));

        Assert.Contains("Your record, 2026-10-01 to 2026-10-31: 90 % within 28:30, 25.00 windows missed per 1,000",
            page.Markup, StringComparison.Ordinal);
        Assert.Contains("Simulated, without interruptions: 90 % within", page.Markup, StringComparison.Ordinal);
        AssertEveryNumberIsInTheFile(page);
        Assert.Equal("your record", page.FindAll("section table")[0].QuerySelectorAll("thead th")[1].TextContent);
    }

    /// <summary>
    /// The page's figures, also the played ones, stand in its file, with the seed that plays them again.
    /// </summary>
    private static void AssertEveryNumberIsInTheFile(IRenderedComponent<WhatIfAnswer> page)
    {
        var file = Convert.FromBase64String(page.Find("#what-csv").GetAttribute("href")!.Split(',')[1]);
        var lines = CsvTable.Read(Encoding.UTF8.GetString(file));
        Assert.All(lines.Where(line => line["of"] != "record"), line => Assert.Equal("1", line["seed"]));
        var written = lines.SelectMany(line => new[] { "value", "half", "low", "high" }.Select(line.Number))
            .OfType<double>().SelectMany(number => new[]
            {
                number.ToString("0.0", CultureInfo.InvariantCulture),
                number.ToString("0.00", CultureInfo.InvariantCulture),
                number.ToString("0", CultureInfo.InvariantCulture),
                Math.Round(100 * number).ToString(CultureInfo.InvariantCulture),
                Say.Length(Duration.FromMinutes(Math.Abs(number))),
            }).ToHashSet(StringComparer.Ordinal);
        Assert.All(page.FindAll("section table")[0].QuerySelectorAll("td").SelectMany(cell =>
                Regex.Matches(cell.TextContent, "[0-9]+(:[0-9]{2})+|[0-9]+(\\.[0-9]+)?").Select(number => number.Value))
            .Where(number => number != "95"), number => Assert.Contains(number, written));
    }

    [Fact]
    public void Page_NoClearLimitOrKnee_SaysSo()
    {
        var answer = answered.Answer with { Limit = null, Knee = null };

        var page = Render<WhatIfAnswer>(parameters => parameters.Add(shown => shown.Answer, answer)
            .Add(shown => shown.Order, Short));

        Assert.Contains("no single thing is clear", page.Find("section strong").TextContent, StringComparison.Ordinal);
        Assert.Contains("No knee is clear", page.Markup, StringComparison.Ordinal);
    }

    /// <summary>That no days are played then is the study's own test.</summary>
    [Fact]
    public void Page_TooMuch_SaysByHowMuch()
    {
        var asked = answered.Answer.AsAsked with { Question = Question(100), Figures = null };
        var answer = answered.Answer with { AsAsked = asked, SameDays = null, Sweep = [], Knee = null };

        var page = Render<WhatIfAnswer>(parameters => parameters.Add(shown => shown.Answer, answer)
            .Add(shown => shown.Order, Short));

        Assert.Contains("the demand is 200.0 a day", page.Find(".note").TextContent, StringComparison.Ordinal);
        Assert.Empty(page.FindAll("img"));
    }
}
