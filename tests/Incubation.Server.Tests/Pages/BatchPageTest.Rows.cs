using Bunit;
using Incubation.Bench;
using Incubation.Model;
using Incubation.Server.Pages.Batch;
using Incubation.Service.Tests.Support;
using Incubation.Simulation;

namespace Incubation.Server.Tests.Pages;

/// <content>Results typed in rows beside the reader.</content>
public sealed partial class BatchPageTest
{
    [Fact]
    public void Rows_NothingRead_SaySo() =>
        Assert.Contains("Nothing to enter", Rows().Find(".empty").TextContent, StringComparison.Ordinal);

    /// <summary>The oldest first; Enter saves it as it was understood, digits kept, without another question.</summary>
    [Fact]
    public async Task Rows_AValueThatFits_IsSavedByEnterAlone()
    {
        await Cleared(BenchRig.Request("R1"), BenchRig.Request("R2"));
        var page = Rows();
        var order = Rig.State.Cartridges.OrderBy(one => ((CartridgeStage.Cleared)one.Stage).End).Select(one => one.Id);
        Assert.Equal(order.Select(id => id.Value), Requests(page));
        var first = Requests(page)[0]!;
        // A scanner ends the identity with Enter: nothing is saved yet, and nothing is wrong.
        await Type(page, first, "shown", $"SP-{first}");
        await Enter(page, first);
        Assert.Empty(page.FindAll(".field-fault"));
        await Type(page, first, "value", "0,50");
        Assert.Equal("Understood: 0.50 mg/L", page.Find(".field-understood").TextContent);
        await Enter(page, first);

        page.WaitForAssertion(() => Assert.Single(Requests(page)));
        Assert.Equal(new ReadResult.Measured("0.50", "mg/L"), Rig.State.Find(RequestId.Of(first))!.Result);
        Assert.False(Rig.State.Find(RequestId.Of(first))!.IsHeld);
        Assert.Contains($"SP-{first}: 0.50 mg/L is saved.", page.Find(".page-status").TextContent,
            StringComparison.Ordinal);
    }

    [Theory]
    [InlineData("", "4.2", "The reader shows no specimen id")]
    [InlineData("SP-R9", "4.2", "The reader shows another specimen")]
    [InlineData("SP-R1", "160", "Critical: tell someone at once")]
    [InlineData("SP-R1", "<5", "only at the lower end")]
    public async Task Rows_WhatWillBeHeldOrTold_IsReadBackFirst(string shown, string value, string said)
    {
        await Cleared(WithLimits("R1"));
        var page = Rows();
        await Type(page, "R1", "shown", shown);
        await Type(page, "R1", "value", value);
        await Enter(page, "R1");
        Assert.Null(Rig.State.Find(RequestId.Of("R1"))!.Result);
        Assert.Contains(said, page.Find(".result-back").TextContent, StringComparison.Ordinal);
        // What is typed anew is not what was read back.
        await Type(page, "R1", "value", value + "0");
        Assert.Empty(page.FindAll(".result-back"));
        await Type(page, "R1", "value", value);
        await Enter(page, "R1");
        await page.Find(".result-back .button-primary").ClickAsync(new());
        page.WaitForAssertion(() => Assert.Equal(new ReadResult.Measured(value, "mg/L"),
            Rig.State.Find(RequestId.Of("R1"))!.Result));
    }

    /// <summary>The tube typed instead of its value: asked first, saved where the reader shows just that.</summary>
    [Theory]
    [InlineData("100123", "100123", null, true)]
    [InlineData("00100123", "100123", null, true)]
    [InlineData("100123", "100124", null, false)]
    [InlineData("T-1", "4711", "4711", true)]
    [InlineData("T-1", "47.11", "4711", false)]
    public async Task Rows_ItsOwnNumberAsTheValue_IsAskedFirst(string specimen, string value, string? second,
        bool asked)
    {
        await Cleared(BenchRig.Request("R1") with
        {
            Request = BenchRig.Request("R1").Request with { Specimen = new SpecimenId(specimen) },
            Facts = new RunFacts(ResultRule.AsDisplayed, StepTexts.None, null, ControlGate.None, null, second),
        });
        var page = Rows();
        await Type(page, "R1", "shown", specimen);
        await Type(page, "R1", "value", value);
        await Enter(page, "R1");
        if (asked)
        {
            Assert.Null(Rig.State.Find(RequestId.Of("R1"))!.Result);
            Assert.Contains("Is this what the reader shows?", page.Find(".result-back").TextContent,
                StringComparison.Ordinal);
            await page.Find(".result-back .button-primary").ClickAsync(new());
        }

        page.WaitForAssertion(() => Assert.Equal(new ReadResult.Measured(value, "mg/L"),
            Rig.State.Find(RequestId.Of("R1"))!.Result));
    }

    [Theory]
    [InlineData(true, false, "Its result will be held: read early.")]
    [InlineData(false, true, "Its result will be held: the controls of its lot, or its comparison, are not accepted.")]
    [InlineData(true, true,
        "Its result will be held: read early · the controls of its lot, or its comparison, are not accepted.")]
    [InlineData(false, false, null)]
    public async Task Rows_WhatWillHoldIt_IsSaidAndNothingElse(bool early, bool gated, string? said)
    {
        await Rig.Begin(BenchRig.Request("R1"));
        if (early)
        {
            // Not incubated to its end.
            await Followed(offer => offer.Action is not StepAction.Move);
            var move = Rig.Runner.Present.View.Offers[0];
            await Rig.Must(VirtualAide.ReportOf(move.Action));
            await Rig.Until(view => view.View.Offers.IsEmpty || view.View.Offers[0].Action != move.Action);
        }

        await Followed();
        if (gated)
            await Rig.Must(new BenchCommand.SetLotGate(new LotCode("DA-L1"), LotGate.ResultsHeld));
        var row = Rows().Find("[data-request=R1] .result-whose");
        Assert.Equal(said, row.Children.Select(part => part.TextContent.Trim()).Skip(2).SingleOrDefault());
        var dialog = Page();
        await dialog.Find("button[aria-label='Enter the result of SP-R1']").ClickAsync(new());
        Assert.Equal(said?.Replace("held:", "held until a supervisor has checked it:", StringComparison.Ordinal),
            dialog.FindAll("#result-dialog .note").SingleOrDefault()?.TextContent);
    }

    [Fact]
    public async Task Rows_WhatCanBeTwoNumbersOrIsNone_IsAskedInItsRow()
    {
        await Cleared();
        var page = Rows();
        await Type(page, "R1", "shown", "SP-R1");
        await Type(page, "R1", "value", "1,234");
        await Enter(page, "R1");
        Assert.Contains("1.234", page.Find(".field-fault").TextContent, StringComparison.Ordinal);
        await page.Find("button[aria-label='The reader shows no value for SP-R1']").ClickAsync(new());
        await Type(page, "R1", "value", "E-4");
        await Enter(page, "R1");
        Assert.Contains("no value", page.Find(".read-back").TextContent, StringComparison.Ordinal);
        await page.Find(".result-back .button-primary").ClickAsync(new());
        page.WaitForAssertion(() =>
            Assert.Equal(new ReadResult.NoValue("E-4"), Rig.State.Find(RequestId.Of("R1"))!.Result));
    }

    private static BenchRequest WithLimits(string id) => BenchRig.Request(id) with
    {
        Facts = new RunFacts(
            new ResultRule(null, new ValueRange(0.5m, 200), ValueRange.Open, new ValueRange(null, 150)),
            StepTexts.None, null, ControlGate.None, null, null),
    };

    private IRenderedComponent<ResultsPage> Rows() =>
        Render<ResultsPage>(with => with.Add(p => p.Bench, BenchRig.Id.Value));

    private static IReadOnlyList<string?> Requests(IRenderedComponent<ResultsPage> page) =>
        [.. page.FindAll(".result-row").Select(row => row.GetAttribute("data-request"))];

    private static Task Type(IRenderedComponent<ResultsPage> page, string request, string field, string text) =>
        page.Find($"#{field}-{request}").ChangeAsync(new() { Value = text });

    private static Task Enter(IRenderedComponent<ResultsPage> page, string request) =>
        page.Find($"[data-request={request}] form").SubmitAsync();
}
