using System.Globalization;
using System.Xml.Linq;
using Incubation.Bench;
using Incubation.Model;
using Xunit;

namespace Incubation.Chart.Tests;

public sealed class LaneChartTest
{
    public static TheoryData<LaneLayout> Layouts => [.. Enum.GetValues<LaneLayout>()];

    private static XElement Draw(BenchState state, BenchView look, LaneLayout layout = LaneLayout.Wide) =>
        XElement.Parse(LaneChart.Render(state, look, layout));

    [Theory]
    [MemberData(nameof(Layouts))]
    public void Render_ReactingCartridge_DrawsItsWindowWhereItsTimesLie(LaneLayout layout)
    {
        var (state, look) = Sample.Reacting(at: 400);
        var root = Draw(state, look, layout);

        var moving = Assert.Single(root.OfClass("ln-moving"));
        var perSecond = moving.Number("data-px-per-s");
        var now = Assert.Single(root.OfClass("ln-now")).Number("x1");
        Assert.Equal(look.At.ToUnixTimeMilliseconds(), (long)moving.Number("data-t0"));

        // Load's end 90–100, incubation 480, window 90: opens 580, closes 660.
        var (x, width) = Assert.Single(root.OfClass("ln-window")).Box();
        Assert.Equal(now + (580 - 400) * perSecond, x, 0.01);
        Assert.Equal(80 * perSecond, width, 0.02);

        var (reactionX, reactionWidth) = Assert.Single(root.OfClass("ln-reaction")).Box();
        Assert.Equal(now + (100 - 400) * perSecond, reactionX, 0.01);
        Assert.Equal(480 * perSecond, reactionWidth, 0.02);

        var tick = Assert.Single(root.OfClass("ln-tick")).OfClass("ln-box").Single();
        Assert.Equal(now + (590 - 400) * perSecond, tick.Number("x1"), 0.01);
    }

    [Fact]
    public void Render_SlotAndReaderOutOfUse_SayIt()
    {
        var (state, look) = Sample.Reacting(at: 400);
        var slots = look.Slots.Select(slot => slot.Cartridge is null
            ? slot with
            {
                OutOfUse = new CalendarEntry(new BenchResource.Slot(new SlotNumber(slot.Slot.Value)), look.At,
                look.At, null)
            } : slot);
        var readers =
            look.Readers.Select(reader =>
                reader with
                {
                    OutOfUse = new CalendarEntry(new BenchResource.Reader(new ReaderNumber(1)), look.At, look.At,
                    null)
                });
        var drawn = Draw(state, look with { Slots = [.. slots], Readers = [.. readers] }, LaneLayout.Wide).ToString();
        Assert.Equal(2, drawn.Split(">out of use<").Length - 1);
        Assert.DoesNotContain(">free<", drawn, StringComparison.Ordinal);
    }

    [Fact]
    public void Render_BeforeTheStart_TheLanesStandStill()
    {
        var (state, look) = Sample.Reacting(at: 400);
        var moving =
            Assert.Single(Draw(state with { Run = state.Run with { Phase = BatchPhase.Preparing } }, look,
                LaneLayout.Wide).OfClass("ln-moving"));
        Assert.Equal(0, moving.Number("data-px-per-s"));
    }

    [Theory]
    [InlineData(589, "ln-due", false)]
    [InlineData(590, "ln-due", true)]
    [InlineData(659, "ln-lost", false)]
    [InlineData(660, "ln-lost", true)]
    public void Render_AtAnInstant_ShowsDueAndLostByClassAndWord(double at, string css, bool expected)
    {
        var (state, look) = Sample.Reacting(at);
        var root = Draw(state, look);
        var window = Assert.Single(root.OfClass("ln-window"));
        Assert.Equal(expected, window.OfClass(css).Contains(window));
        Assert.NotEmpty(window.OfClass("ln-cross"));
        Assert.Equal("discard", Assert.Single(window.OfClass("ln-if-lost")).Value);
        Assert.Equal("due", Assert.Single(window.OfClass("ln-if-due")).Value);
    }

    [Fact]
    public void Render_ReactingCartridge_TellsThePageWhenItBecomesDueAndLost()
    {
        var (state, look) = Sample.Reacting(at: 400);
        var window = Assert.Single(Draw(state, look).OfClass("ln-window"));
        Assert.Equal("2026-03-02T08:09:50Z", window.Attribute("data-due-from")!.Value);
        Assert.Equal("2026-03-02T08:11:00Z", window.Attribute("data-lost-from")!.Value);
    }

    [Theory]
    [InlineData(400, "3:10")]
    [InlineData(589.5, "0:01")]
    [InlineData(590, "now")]
    [InlineData(661, "discard")]
    public void Render_ReactingCartridge_CountsToItsMove(double at, string expected)
    {
        var (state, look) = Sample.Reacting(at);
        var count = Assert.Single(Draw(state, look).OfClass("ln-count"));
        Assert.Equal(expected, count.Value);
        Assert.Equal("2026-03-02T08:09:50Z", count.Attribute("data-count-to")!.Value);
    }

    [Fact]
    public void Render_CartridgeThatThePlanGivesUp_SaysDiscardBeforeItsWindowCloses()
    {
        var (state, look) = Sample.Reacting(at: 600);
        var plan = Sample.PlanOf(Sample.Step(new StepAction.Discard(state.Cartridges[0].Id), 640, 650));
        plan = plan with
        {
            Lost =
                [new Planning.LeftOut(state.Cartridges[0].Id,
                    new Planning.LeftOutReason.InWords("no hands are left for its move"))]
        };
        state =
            Sample.In(state,
                run =>
                run with
                {
                    Adopted = run.Adopted! with
                    { Plan = plan, Remaining = [.. plan.Steps.Select(s => new RemainingStep(s, null))] }
                });
        var root = Draw(state, look);
        Assert.Equal("discard", Assert.Single(root.OfClass("ln-count")).Value);
        Assert.Single(root.OfClass("ln-lost"));
    }

    [Fact]
    public void Render_FreeSlot_IsADottedLineAndTheWord()
    {
        var (state, look) = Sample.Reacting(at: 400);
        var root = Draw(state, look);
        Assert.NotEmpty(root.OfClass("ln-free"));
        Assert.Contains(root.OfClass("ln-caption"), e => e.Value == "free");
    }

    [Fact]
    public void Render_UrgentRequest_HasWordAndMark()
    {
        var (state, look) = Sample.Reacting(at: 400, priority: Priority.Urgent);
        var root = Draw(state, look);
        Assert.Contains(root.OfClass("ln-if-open"), e => e.Value.Contains("urgent", StringComparison.Ordinal));
        Assert.NotEmpty(root.OfClass("ln-mark"));
        Assert.Contains("urgent", root.Elements().Single(e => e.Name.LocalName == "desc").Value,
            StringComparison.Ordinal);
    }

    /// <summary>
    /// The window closes at 660. The next cartridge's load, at the end of the picture, at 800 or at 670: what is said
    /// of the window stands beside it where there is room for all that it may come to say, else before it, on the
    /// cartridge's own bar.
    /// </summary>
    [Theory]
    [InlineData(null, false)]
    [InlineData(1100, false)]
    [InlineData(670, true)]
    public void Render_WordOfAWindow_IsNeverOnTheNextBar(int? load, bool isBefore)
    {
        var (state, look) = Sample.Reacting(at: 400, priority: Priority.Urgent);
        // The move may begin before the window opens.
        state = Sample.In(state, run => run with
        {
            Adopted = run.Adopted! with
            {
                Remaining = [.. run.Adopted.Remaining.Select(row => row.Step.Action is StepAction.Move
                    ? row with { Step = row.Step with { Start = Sample.Start + Sample.Seconds(570) } } : row)],
            },
        });
        if (load is { } from)
        {
            var next = new RequestId("R02");
            state = Sample.In(state, run => run with
            {
                Cartridges = run.Cartridges.Add(new Cartridge(new BenchRequest(Sample.Request("R02", "SP-002"),
                    Sample.Assay, 1, "ng/mL"), new CartridgeStage.Waiting(), [], null, null)),
                Adopted = run.Adopted! with
                {
                    Remaining = [.. run.Adopted.Remaining, new RemainingStep(
                        Sample.Step(new StepAction.Load(next, Sample.InSlot(2)), from, from + 25), null)],
                },
            });
        }

        var root = Draw(state, look);
        var window = root.OfClass("ln-window").Single(one => one.OfClass("ln-planned").Count == 0);
        var word = Assert.Single(window.OfClass("ln-word"));
        var (x, width) = window.Box();
        if (isBefore)
        {
            Assert.Equal("end", (string?)word.Attribute("text-anchor"));
            Assert.InRange(word.Number("x"), x - 20, Math.Min(x, root.OfClass("ln-tick")
                .Select(tick => tick.OfClass("ln-box").Single().Number("x1")).Min()) - 2);
        }
        else
        {
            Assert.Null(word.Attribute("text-anchor"));
            Assert.InRange(word.Number("x"), x + width, x + width + 20);
        }
    }

    /// <summary>
    /// Where it is to be loaded, its name is on its bar: as much of it as the bar has room for before its window, by
    /// the widths of the type that pages use, in which a digit has 8.3 px and the mark 14.
    /// </summary>
    [Theory]
    [InlineData(Priority.Routine)]
    [InlineData(Priority.Urgent)]
    public void Render_NameOnABar_EndsBeforeItsWindow(Priority priority)
    {
        var (day, plan) = Sample.OneCartridge(new string('0', 64), priority);
        var root = XElement.Parse(DayChart.Render(day, plan, ChartOptions.File with { Width = 480 }));
        var (x, width) = Assert.Single(root.OfClass("ln-blocks").Single().OfClass("ln-reaction")).Box();
        var name = Assert.Single(root.OfClass("ln-name"));
        var mark = name.OfClass("ln-mark").Count > 0 ? 14 : 0;
        var letters = name.Nodes().OfType<XText>().Single().Value.Length;
        Assert.InRange(name.Number("x") + 8.3 * letters + mark, x, x + width);
        Assert.Equal(priority == Priority.Urgent, mark > 0);
    }

    [Fact]
    public void Render_DoneAndPlannedSteps_AreSolidAndOutlined()
    {
        var (state, look) = Sample.Reacting(at: 110);
        var work = Draw(state, look).OfClass("ln-work");
        Assert.Equal(2, work.Count(e => !e.OfClass("ln-planned").Contains(e)));
        Assert.Equal(2, work.Count(e => e.OfClass("ln-planned").Contains(e)));
    }

    [Fact]
    public void Render_MovedCartridge_LeavesItsSlotAndFillsTheReader()
    {
        var (state, look) = Sample.Reacting(at: 620);
        var cartridge = state.Cartridges[0];
        var reader = new ReaderNumber(1);
        var moved = cartridge with
        {
            Stage =
                new CartridgeStage.InWork(new CartridgePhase.Reading(reader, Sample.Start + Sample.Seconds(604)))
        };
        state = Sample.In(state, run => run with
        {
            Cartridges = [moved],
            Done =
                state.Done.Add(new DoneStep(new StepAction.Move(cartridge.Id, reader), new HandsNumber(1),
                    Sample.Start + Sample.Seconds(590), Sample.Start + Sample.Seconds(604))),
            Adopted = state.Adopted! with
            {
                Remaining =
                    [.. state.Adopted!.Remaining.Where(r => r.Step.Action is StepAction.Read or StepAction.Clear)]
            },
        });
        look = look with
        { Slots = [look.Slots[0], look.Slots[1] with { Cartridge = null, Window = null, MoveAt = null }] };
        var root = Draw(state, look);
        Assert.Empty(root.OfClass("ln-window"));
        var reading = Assert.Single(root.OfClass("ln-reading"));
        Assert.DoesNotContain(reading, reading.OfClass("ln-planned"));
        Assert.Equal("2", Assert.Single(reading.OfClass("ln-inside")).Value);
        var now = Assert.Single(root.OfClass("ln-now")).Number("x1");
        var perSecond = Assert.Single(root.OfClass("ln-moving")).Number("data-px-per-s");
        Assert.Equal(now + (604 - 620) * perSecond, reading.Box().X, 0.01);
    }

    [Fact]
    public void Render_ClearedWithoutAReportedMove_NeverLooksLost()
    {
        var (state, look) = Sample.Reacting(at: 900);
        state =
            Sample.In(state,
                run =>
                run with
                {
                    Cartridges =
                    [run.Cartridges[0]
                        with { Stage = new CartridgeStage.Cleared(Sample.Start + Sample.Seconds(640)) }]
                });
        Assert.Empty(Draw(state, look).OfClass("ln-lost"));
    }

    [Fact]
    public void Render_LostCartridge_HoldsItsSlotUntilSomeoneThrowsItAway()
    {
        // Two hours after its window closed: the window itself has long left the picture.
        var (state, look) = Sample.Reacting(at: 660 + 7200);
        var root = Draw(state, look);
        var now = Assert.Single(root.OfClass("ln-now")).Number("x1");
        var held = Assert.Single(root.OfClass("ln-held"), e => e.Name.LocalName == "rect");
        Assert.InRange(now, held.Number("x"), held.Number("x") + held.Number("width"));
        var lane = held.Number("y") + held.Number("height") / 2;
        Assert.DoesNotContain(root.OfClass("ln-free"), e => Math.Abs(e.Number("y1") - lane) < 1);
    }

    [Fact]
    public void Render_DiscardedCartridge_EndsWithACrossAndTheWord()
    {
        var (state, look) = Sample.Reacting(at: 320);
        var id = state.Cartridges[0].Id;
        var (from, to) = (Sample.Start + Sample.Seconds(290), Sample.Start + Sample.Seconds(300));
        state = Sample.In(state, run => run with
        {
            Cartridges =
                [run.Cartridges[0] with { Stage = new CartridgeStage.Discarded(to, DiscardReason.Dropped, null) }],
            Done = state.Done.Add(new DoneStep(new StepAction.Discard(id), new HandsNumber(1), from, to)),
            Adopted = null,
        });
        var root = Draw(state, look);
        Assert.Contains("discarded", Assert.Single(root.OfClass("ln-thrown")).Value, StringComparison.Ordinal);
        Assert.Empty(root.OfClass("ln-window"));
    }

    [Fact]
    public void Render_MarkupForAPage_CarriesNoStyleOfItsOwn()
    {
        var (state, look) = Sample.Reacting(at: 400);
        var root = Draw(state, look);
        Assert.DoesNotContain(root.DescendantsAndSelf(), e => e.Name.LocalName == "style"
            || e.Attribute("style") is not null);
    }

    [Theory]
    [MemberData(nameof(Layouts))]
    public void Render_AnyLayout_FitsItsPixelSize(LaneLayout layout)
    {
        var (state, look) = Sample.Reacting(at: 400);
        var root = Draw(state, look, layout);
        var size = root.Attribute("viewBox")!.Value.Split(' ')
            .Select(v => double.Parse(v, CultureInfo.InvariantCulture)).ToArray();
        Assert.Equal(root.Number("width"), size[2]);
        Assert.Equal(root.Number("height"), size[3]);
        Assert.All(root.OfClass("ln-axis-text"), e => Assert.InRange(e.Number("x"), 0, size[2] - 20));
    }

    [Theory]
    [InlineData("<script>alert(1)</script>")]
    [InlineData("\"'&amp;]]>--")]
    [InlineData("\uD800")]
    [InlineData("\uFFFE\uD83D\uDC69\u200D\uD83D\uDD2C specimen of a long name 0123456789")]
    public void Render_HostileName_StaysWellFormedAndIsText(string specimen)
    {
        var (state, look) = Sample.Reacting(at: 400, specimen: specimen, bench: specimen);
        var root = Draw(state, look);
        Assert.DoesNotContain(root.Descendants(), e => e.Name.LocalName == "script");
    }

    [Fact]
    public void Render_InAnyCulture_WritesTheSameNumbers()
    {
        var (state, look) = Sample.Reacting(at: 400);
        var expected = LaneChart.Render(state, look, LaneLayout.Wide);
        var before = CultureInfo.CurrentCulture;
        try
        {
            CultureInfo.CurrentCulture = CultureInfo.GetCultureInfo("ar-SA");
            Assert.Equal(expected, LaneChart.Render(state, look, LaneLayout.Wide));
        }
        finally
        {
            CultureInfo.CurrentCulture = before;
        }
    }

    [Fact]
    public void Render_TwoBenches_ShareNoIdentifier()
    {
        static IEnumerable<string> Ids(string bench)
        {
            var (state, look) = Sample.Reacting(at: 400, bench: bench);
            return Draw(state, look).DescendantsAndSelf().Select(e => (string?)e.Attribute("id")).OfType<string>()
                .ToList();
        }

        Assert.NotEmpty(Ids("a b"));
        Assert.Empty(Ids("a b").Intersect(Ids("a-b")));
    }
}
