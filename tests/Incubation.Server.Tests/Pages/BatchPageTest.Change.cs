using Bunit;
using Incubation.Bench;
using Incubation.Model;
using Incubation.Service.Tests.Support;
using Incubation.Service.Text;
using NodaTime;

namespace Incubation.Server.Tests.Pages;

/// <content>Due time and comment of a request, changed in its row.</content>
public sealed partial class BatchPageTest
{
    private static readonly DateTimeZone Berlin = DateTimeZoneProviders.Tzdb["Europe/Berlin"];

    [Fact]
    public async Task Request_ChangedInItsRow_CanBeTakenBack()
    {
        await Rig.Must(new BenchCommand.AddRequests([BenchRig.Request("R1")]));
        var page = Page();
        await page.Find("button[aria-label='Change due time and comment: R1']").ClickAsync(new());
        await page.Find("#change-due").ChangeAsync(new() { Value = "soon" });
        await page.Find("#request-change").SubmitAsync();
        Assert.Contains("hours and minutes", page.Find("#change-due-fault").TextContent, StringComparison.Ordinal);
        var due = Rig.Now + Duration.FromHours(1);
        await page.Find("#change-due").ChangeAsync(new() { Value = Say.Clock(due, Berlin) });
        await page.Find("#change-comment").ChangeAsync(new() { Value = "call ward 3" });
        await page.Find("#request-change").SubmitAsync();

        page.WaitForAssertion(() => Assert.Contains("R1 is changed.", page.Markup, StringComparison.Ordinal));
        page.WaitForAssertion(() => Assert.Empty(page.FindAll("#request-change")));
        Assert.Equal(Say.Clock(due, Berlin), Say.Clock(Wanted.Request.Due!.Value, Berlin));
        Assert.Contains("call ward 3", page.Find(".comment").TextContent, StringComparison.Ordinal);
        await page.Find("#undo-change").ClickAsync(new());
        page.WaitForAssertion(() => Assert.Contains("as it was before", page.Markup, StringComparison.Ordinal));
        page.WaitForAssertion(() => Assert.Empty(page.FindAll("#undo-change")));
        Assert.Equal((null, null), (Wanted.Request.Due, Wanted.Comment));
    }

    /// <summary>A due time that nobody typed anew keeps its seconds, and what is mixed takes a comment alone.</summary>
    [Fact]
    public async Task Request_OfWhichOnlyTheCommentIsTyped_KeepsItsDueTime()
    {
        var due = Rig.Now + Duration.FromSeconds(3601);
        var request = BenchRig.Request("R1");
        await Rig.Begin(request with { Request = request.Request with { Due = due } });
        var page = Page();
        await page.Find("button[aria-label='Change due time and comment: R1']").ClickAsync(new());
        await page.Find("#change-comment").ChangeAsync(new() { Value = "half a tube" });
        await page.Find("#request-change").SubmitAsync();
        page.WaitForAssertion(() => Assert.Equal("half a tube", Wanted.Comment));
        Assert.Equal(due, Wanted.Request.Due);

        var offer = Rig.Runner.Present.View.Offers[0];
        if (Instant.Max(offer.ReportFrom, offer.PlannedEnd) is var at && at > Rig.Now)
            Rig.Advance(at - Rig.Now);
        await Rig.Must(Simulation.VirtualAide.ReportOf(offer.Action));
        page.WaitForAssertion(() => Assert.NotEmpty(page.FindAll("button[aria-label='Comment on R1']")));
        await page.Find("button[aria-label='Comment on R1']").ClickAsync(new());
        Assert.Empty(page.FindAll("#change-due"));
    }

    private BenchRequest Wanted => Rig.State.Find(new RequestId("R1"))!.Wanted;
}
