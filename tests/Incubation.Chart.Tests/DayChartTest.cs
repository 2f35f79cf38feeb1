using System.Xml.Linq;
using Incubation.Model;
using Incubation.Planning;
using NodaTime;
using Xunit;

namespace Incubation.Chart.Tests;

public sealed class DayChartTest
{
    private static XElement Draw(BenchDay day, Plan plan, ChartOptions? options = null) =>
        XElement.Parse(DayChart.Render(day, plan, options ?? ChartOptions.File));

    [Fact]
    public void Render_Plan_DrawsEveryStepAtItsTime()
    {
        var (day, plan) = Sample.OneCartridge();
        var root = Draw(day, plan);

        // The card change begins at the start, the read 605 s later: two known blocks give the scale, the others must
        // keep it.
        var blocks = root.OfClass("ln-blocks").Single();
        var zero = blocks.OfClass("ln-card").Single().Box();
        var read = blocks.OfClass("ln-reading").Single().Box();
        var perSecond = (read.X - zero.X) / 605;
        Assert.Equal(25 * perSecond, zero.Width, 0.02);
        Assert.Equal(40 * perSecond, read.Width, 0.02);

        // Rule 3: planned window from load start + load + incubation to load start + shortest load + incubation +
        // window.
        var window = blocks.OfClass("ln-window").Single().Box();
        Assert.Equal(zero.X + (75 + 25 + 480) * perSecond, window.X, 0.02);
        Assert.Equal((15 + 480 + 90 - (25 + 480)) * perSecond, window.Width, 0.02);

        var hands = blocks.OfClass("ln-work").Select(e => e.Box().X).Order().ToList();
        Assert.Equal([0, 25, 75, 590, 650], hands.Select(x => Math.Round((x - zero.X) / perSecond)));
    }

    /// <summary>A report at 1970, or a plan for 9999, makes no drawing endless.</summary>
    [Theory]
    [InlineData(-500_000)]
    [InlineData(60_000_000)]
    public void Render_AStepFarAway_BoundsSpanAndMarks(long hours)
    {
        var (day, plan) = Sample.OneCartridge();
        var far = plan.Steps[^1] with
        {
            Start = Sample.Start + Duration.FromHours(hours),
            End = Sample.Start + Duration.FromHours(hours) + Sample.Seconds(10),
        };

        var root = Draw(day, plan with { Steps = [.. plan.Steps.SkipLast(1), far] });

        Assert.InRange(root.OfClass("ln-axis-text").Count, 1, 500);
        Assert.InRange(root.ToString().Length, 1, 300_000);
    }

    [Fact]
    public void Render_LongDay_StaysReadableBeyondTheWidthAsked()
    {
        var (day, plan) = Sample.OneCartridge();
        var late = plan.Steps[^1] with
        {
            Start = Sample.Start + Duration.FromHours(4),
            End = Sample.Start + Duration.FromHours(4)
                + Sample.Seconds(10)
        };
        var root = Draw(day, plan with { Steps = [.. plan.Steps.SkipLast(1), late] },
            ChartOptions.File with { Width = 600 });
        Assert.True(root.Number("width") > 4 * 60 * 15);
    }

    [Fact]
    public void Render_ClockAxis_SaysTimesOfTheZone()
    {
        var (day, plan) = Sample.OneCartridge();
        // 08:00 UTC in March is 08:00 in the zone one hour east only from the 29th on; on the 2nd it is 09:00.
        var root = Draw(day, plan, new ChartOptions(new ChartAxis.Clock(DateTimeZoneProviders.Tzdb["Europe/Berlin"])));
        Assert.Contains(root.OfClass("ln-axis-text"), e => e.Value == "09:00");
    }

    [Fact]
    public void Render_MinutesAxis_BeginsAtTheStart()
    {
        var (day, plan) = Sample.OneCartridge();
        var marks = Draw(day, plan).OfClass("ln-axis-text").Select(e => e.Value).ToList();
        Assert.Equal("start", marks[0]);
        Assert.Matches(@"^\+\d+ min$", marks[1]);
    }

    [Fact]
    public void Render_LostCartridge_IsCrossedOutWithTheWord()
    {
        var (day, _) = Sample.OneCartridge();
        var request = day.Requests[0];
        var now = Sample.Start + Sample.Seconds(650);
        day = day with
        {
            MidRun = new MidRun(now, [], [], [new CartridgeInWork(request.Id, new CartridgePhase.Reacting(
                new InstantRange(Sample.Start + Sample.Seconds(90), Sample.Start + Sample.Seconds(100)),
                    Sample.InSlot(2)))]),
        };
        var plan = Sample.PlanOf(Sample.Step(new StepAction.Discard(request.Id), 650, 660)) with
        { Lost = [new LeftOut(request.Id, new LeftOutReason.InWords("its window has closed"))] };
        var root = Draw(day, plan);
        Assert.Single(root.OfClass("ln-lost"));
        Assert.Contains(root.OfClass("ln-if-lost"), e => e.Value == "discard");
        Assert.Contains(root.OfClass("ln-note"), e => e.Value == "Lost: R01: its window has closed");
        Assert.Single(root.OfClass("ln-now"));
    }

    [Fact]
    public void Render_InReaderCartridge_ReactsInTheReadersLane()
    {
        var (day, _) = Sample.OneCartridge();
        var id = day.Requests[0].Id;
        var reader = new ReaderNumber(1);
        var root = Draw(day, Sample.PlanOf(
            Sample.Step(new StepAction.Mix(id), 0, 50),
            Sample.Step(new StepAction.Load(id, new CartridgePlace.InReader(reader)), 50, 75),
            Sample.Step(new StepAction.Read(id, reader), 555, 595, hands: false),
            Sample.Step(new StepAction.Clear(id, reader), 600, 610)));
        var blocks = root.OfClass("ln-blocks").Single();
        Assert.Empty(blocks.OfClass("ln-window"));
        var reaction = blocks.OfClass("ln-reaction").Single().OfClass("ln-box").Single();
        var reading = blocks.OfClass("ln-reading").Single().OfClass("ln-box").Single();
        Assert.Equal(Middle(reading), Middle(reaction), 0.01);
        Assert.Equal(reading.Number("x"), reaction.Number("x") + reaction.Number("width"), 0.02);
    }

    [Fact]
    public void Render_CalendarEntry_NamesWhatIsAway()
    {
        var (day, plan) = Sample.OneCartridge();
        day = day with
        {
            Calendar =
                [new CalendarEntry(new BenchResource.Slot(new SlotNumber(1)), Sample.Start,
                    Sample.Start + Sample.Seconds(600), "cleaning")]
        };
        Assert.Contains("cleaning", Assert.Single(Draw(day, plan).OfClass("ln-away")).Value, StringComparison.Ordinal);
    }

    [Fact]
    public void Render_FileOfItsOwn_HasStylesWithoutVariables()
    {
        var (day, plan) = Sample.OneCartridge();
        var style = Draw(day, plan).Elements().Single(e => e.Name.LocalName == "style").Value;
        Assert.Contains("#0A625D", style, StringComparison.OrdinalIgnoreCase);
        Assert.DoesNotContain("var(", style, StringComparison.Ordinal);
    }

    [Fact]
    public void Render_MarkupForAPage_CarriesNoStyleOfItsOwn()
    {
        var (day, plan) = Sample.OneCartridge();
        var root = Draw(day, plan, ChartOptions.File with { SelfContained = false });
        Assert.DoesNotContain(root.DescendantsAndSelf(), e => e.Name.LocalName == "style"
            || e.Attribute("style") is not null);
    }

    [Fact]
    public void Render_EmptyDay_IsStillAPicture()
    {
        var (day, _) = Sample.OneCartridge();
        var root = Draw(day with { Requests = [] }, Sample.PlanOf());
        Assert.Equal(2, root.OfClass("ln-number").Count);
        Assert.NotEmpty(root.OfClass("ln-free"));
    }

    [Theory]
    [InlineData("<b>&\"'")]
    [InlineData("\uDC00x")]
    public void Render_HostileNames_StayWellFormed(string name)
    {
        var (day, plan) = Sample.OneCartridge(name, Priority.Urgent);
        day = day with
        {
            Calendar =
                [new CalendarEntry(new BenchResource.Incubator(), Sample.Start, Sample.Start + Sample.Seconds(60),
                    name + "\u0001")]
        };
        plan = plan with { Unplaced = [new LeftOut(new RequestId(name), new LeftOutReason.InWords(name + "\u0000"))] };
        var root = Draw(day, plan, ChartOptions.File with { Title = name + "\u001b", Key = name });
        Assert.DoesNotContain(root.Descendants(), e => e.Name.LocalName == "b");
    }

    private static double Middle(XElement box) => box.Number("y") + box.Number("height") / 2;
}
