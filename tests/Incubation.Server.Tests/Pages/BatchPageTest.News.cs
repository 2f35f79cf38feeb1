using Bunit;
using Incubation.Bench;
using Incubation.Model;
using Incubation.Server.Pages.Batch;
using Incubation.Service.Tests.Support;

namespace Incubation.Server.Tests.Pages;

/// <content>What was done is not said above what is wrong now, wherever on the page that is.</content>
public sealed partial class BatchPageTest
{
    [Fact]
    public async Task News_OfBefore_IsGoneWhenADueTimeIsFaulty()
    {
        await Rig.Must(new BenchCommand.AddRequests([BenchRig.Request("R1")]));
        var page = Page();
        await Succeed(page);

        await page.InvokeAsync(() =>
            page.Find("button[aria-label='Change due time and comment: R1']").ClickAsync(new()));
        await page.InvokeAsync(() => page.Find("#change-due").ChangeAsync(new() { Value = "soon" }));
        await page.InvokeAsync(() => page.Find("#request-change").SubmitAsync());

        AssertFaultAlone(page, "#change-due-fault");
    }

    [Fact]
    public async Task News_OfBefore_IsGoneWhenASpecimenIsRejectedWithoutAReason()
    {
        var page = Page();
        await Succeed(page);

        await page.InvokeAsync(() => page.Find("#add-specimen").ChangeAsync(new() { Value = "SP-8" }));
        await page.InvokeAsync(() => page.Find("#reject-specimen").ClickAsync(new()));
        await page.InvokeAsync(() => page.Find("#reject-dialog form").SubmitAsync());

        AssertFaultAlone(page, "#reject-why-fault");
    }

    [Fact]
    public async Task News_OfBefore_IsGoneWhenAResultIsFaulty()
    {
        await Cleared();
        var page = Page();
        await Succeed(page);

        await page.InvokeAsync(() => page.Find("button[aria-label='Enter the result of SP-R1']").ClickAsync(new()));
        await page.InvokeAsync(() => page.Find("#result-value").ChangeAsync(new() { Value = "high" }));
        await page.InvokeAsync(() => page.Find("#result-dialog form").SubmitAsync());

        AssertFaultAlone(page, "#result-value-fault");
    }

    [Fact]
    public async Task News_OfBefore_IsGoneWhenAnAmendmentIsFaulty()
    {
        await Cleared();
        await Rig.Must(new BenchCommand.ResultEntered(new RequestId("R1"), new ShownResult.Value("12")));
        var page = Page();
        await Succeed(page);

        await page.InvokeAsync(() => page.Find("button[aria-label='Amend the result of SP-R1']").ClickAsync(new()));
        await page.InvokeAsync(() => page.Find("#settle-dialog form").SubmitAsync());

        AssertFaultAlone(page, "#settle-words-fault");
    }

    [Fact]
    public async Task News_OfBefore_IsGoneWhenTheClosesWordsAreMissing()
    {
        await Rig.Begin(BenchRig.Request("R1"), BenchRig.Request("R2"));
        await Discard("R1");
        await Discard("R2");
        var page = Page();
        await page.InvokeAsync(() => page.Find("#close-batch").ClickAsync(new()));
        await page.InvokeAsync(() =>
            page.Find("button[aria-label='Repeat in the next batch: SP-R1']").ClickAsync(new()));
        page.WaitForAssertion(() => Assert.NotEqual("", page.Find(".close-said").TextContent));

        await page.InvokeAsync(() => page.Find("button[aria-label='End without a value…: SP-R2']").ClickAsync(new()));
        await page.InvokeAsync(() => page.Find("#give-up-reason").ChangeAsync(new() { Value = "other" }));
        await page.InvokeAsync(() => page.Find("#give-up-confirmed").ChangeAsync(new() { Value = true }));
        await page.InvokeAsync(() => page.Find("#confirm-close form").SubmitAsync());

        AssertFaultAlone(page, "#give-up-words-fault");
        Assert.Equal("", page.Find(".close-said").TextContent);
    }

    private static async Task Succeed(IRenderedComponent<BatchPage> page)
    {
        await page.InvokeAsync(() => page.Find("#add-specimen").ChangeAsync(new() { Value = "SP-7" }));
        await page.InvokeAsync(() => page.Find("form.add-request").SubmitAsync());
        page.WaitForAssertion(() =>
            Assert.Contains("is added", page.Find(".page-status").TextContent, StringComparison.Ordinal));
    }

    private static void AssertFaultAlone(IRenderedComponent<BatchPage> page, string fault)
    {
        page.WaitForAssertion(() => Assert.NotEqual("", page.Find(fault).TextContent));
        Assert.Equal("", page.Find(".page-status").TextContent.Trim());
    }
}
