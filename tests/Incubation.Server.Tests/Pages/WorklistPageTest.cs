using AngleSharp.Dom;
using Bunit;
using Incubation.Bench;
using Incubation.Clinic.People;
using Incubation.Server.Pages.Worklist;
using Incubation.Service.Benches;
using Incubation.Service.Clinic;
using Incubation.Service.Clock;
using Incubation.Service.Rack;
using Incubation.Service.Record;
using Incubation.Service.Tests.Support;
using Incubation.Service.Worklist;
using Microsoft.Extensions.DependencyInjection;

namespace Incubation.Server.Tests.Pages;

/// <summary>The page of the worklist on the demo's clinic, without a browser.</summary>
public sealed class WorklistPageTest : DemoPages
{
    public WorklistPageTest()
    {
        Share<WorklistService>();
        Share<RackService>();
        Share<BenchRegistry>();
        Share<BenchClock>();
        Share<ClinicHost>();
        Share<AccessLog>();
        Begin();
    }

    private BenchState Bench => Server.Services.GetRequiredService<BenchRegistry>().Find("bench-1")!.Present.State;

    [Fact]
    public void Render_NoOrder_SaysSoAndOffersAList()
    {
        var page = Render<WorklistPage>();

        Assert.Equal("No order waits", page.Find("#orders-wait").TextContent.Trim());
        Assert.Contains("Nothing was put on a bench yet.", page.Markup, StringComparison.Ordinal);
        Assert.Empty(page.FindAll(".orders-put"));
        Assert.Equal("Orders from a list", page.Find("[data-order-file]").TextContent);
    }

    [Fact]
    public async Task Chosen_PutOnTheBench_StandThereAndAreToldOf()
    {
        Order("N-1", "T-1", "urgent", "Fasting.", "DA", "DC");
        var page = Render<WorklistPage>();
        Assert.Equal(["T-1 N-1 ward Demo assay A Urgent Fasting.", "T-1 N-1 ward Demo assay C Urgent Fasting."],
            Waiting(page).Select(Text));
        var put = page.Find(".orders-put button[type=submit]");
        Assert.True(put.HasAttribute("disabled"));

        await page.Find(".order-choose").ChangeAsync(new() { Value = true });
        Assert.Equal("Put 1 on the bench", page.Find(".orders-put button[type=submit]").TextContent);
        await page.Find(".orders-put").SubmitAsync();

        var request = Bench.Cartridges[^1].Wanted;
        Assert.Equal(("T-1", "DA", "Fasting."),
            (request.Request.Specimen.Value, request.Request.Assay.Value, request.Comment));
        Assert.Contains("Bench 1: 1 on the bench.", page.Find(".page-status").TextContent, StringComparison.Ordinal);
        Assert.Equal("Demo assay C", Assert.Single(Waiting(page)).QuerySelectorAll("td")[1].FirstChild!.TextContent);
        Assert.Contains("bench-1", page.Find("section[aria-labelledby=orders-done]").TextContent,
            StringComparison.Ordinal);
    }

    [Fact]
    public async Task Chosen_OfWhichSomethingIsAsked_AreAllPutOnOrNone()
    {
        // The same specimen with the same assay is on the bench already.
        Order("N-1", "SP-001", null, null, "DA");
        Order("N-2", "T-2", null, null, "DA");
        var before = Bench.Cartridges.Length;
        var page = Render<WorklistPage>();
        await page.Find(".orders-put button[type=button]").ClickAsync(new());
        Assert.Equal("Put 2 on the bench", page.Find(".orders-put button[type=submit]").TextContent);
        await page.Find(".orders-put").SubmitAsync();
        Assert.Equal(before, Bench.Cartridges.Length);
        Assert.StartsWith("SP-001: ", Assert.Single(page.FindAll("[role=alert] li")).TextContent,
            StringComparison.Ordinal);

        // What is chosen otherwise is asked about anew.
        await page.Find(".order-choose").ChangeAsync(new() { Value = false });
        Assert.Empty(page.FindAll("[role=alert] li"));
        await page.Find(".order-choose").ChangeAsync(new() { Value = true });
        await page.Find(".orders-put").SubmitAsync();
        await page.Find("[role=alert] button").ClickAsync(new());
        Assert.Equal(before + 2, Bench.Cartridges.Length);
        Assert.Equal("No order waits", page.Find("#orders-wait").TextContent.Trim());
    }

    /// <summary>Each thing to settle names its tube; what waits no more is not asked about any more.</summary>
    [Fact]
    public async Task Asked_OfAnOrderThatIsCancelledMeanwhile_IsOver()
    {
        Order("N-1", "SP-001", null, null, "DA");
        Order("N-2", "T-2", null, null, "DA");
        var page = Render<WorklistPage>();
        await page.Find(".orders-put button[type=button]").ClickAsync(new());
        await page.Find(".orders-put").SubmitAsync();
        Assert.Single(page.FindAll("[aria-labelledby=orders-asked] li"));

        await page.Find("button[aria-label='Cancel order N-1 for SP-001']").ClickAsync(new());
        await page.Find("#cancel-why").ChangeAsync(new() { Value = "Ordered twice." });
        await page.Find("section[aria-labelledby=cancel-title] form").SubmitAsync();
        Assert.Empty(page.FindAll("[aria-labelledby=orders-asked]"));
        Assert.Equal("Put 1 on the bench", page.Find(".orders-put button[type=submit]").TextContent);
    }

    [Fact]
    public async Task Cancelled_OnlyWithAReason_AndKeptWhereItIsNotMeant()
    {
        Order("N-1", "T-1", null, null, "DA");
        var page = Render<WorklistPage>();
        await Press("Cancel");
        // The question stands above the list: the keyboard is there, once for each press.
        JSInterop.VerifyFocusAsyncInvoke();
        await Press("Keep it");
        Assert.Empty(page.FindAll("#cancel-title"));

        await Press("Cancel");
        Assert.Equal("Cancel order N-1 for T-1, Demo assay A", page.Find("#cancel-title").TextContent.Trim());
        await page.Find("section.panel form").SubmitAsync();
        Assert.Contains("Say why", page.Find(".page-alert").TextContent, StringComparison.Ordinal);
        await page.Find("#cancel-why").ChangeAsync(new() { Value = "Ordered twice." });
        await page.Find("section.panel form").SubmitAsync();
        Assert.Empty(page.FindAll("#cancel-title"));
        Assert.Contains("cancelled: Ordered twice.", page.Find("section[aria-labelledby=orders-done]").TextContent,
            StringComparison.Ordinal);

        // Found and pressed in one go: the page may be drawn anew in between.
        Task Press(string words) => page.InvokeAsync(() =>
            page.FindAll("button").First(one => one.TextContent.Trim() == words).ClickAsync(new()));
    }

    [Fact]
    public void WhoMaySeeNoNames_SeesNoOrderAndNothingToPress()
    {
        Order("N-1", "T-1", null, null, "DA");
        Front.Who = AnAide.Lena with { Who = AnAide.Lena.Who with { Role = Role.Inspector } };
        var page = Render<WorklistPage>();

        Assert.DoesNotContain("T-1", page.Markup, StringComparison.Ordinal);
        Assert.Empty(page.FindAll("button, input"));
    }

    /// <summary>An order of two assays is two that wait; one that comes meanwhile is seen at once.</summary>
    [Fact]
    public void Order_ThatComesWhileThePageIsOpen_IsSeen()
    {
        var page = Render<WorklistPage>();
        Order("N-1", "T-1", null, null, "DA", "DB");

        page.WaitForAssertion(() => Assert.Equal("2 orders wait", page.Find("#orders-wait").TextContent.Trim()));
    }

    private void Order(string number, string specimen, string? priority, string? comment, params string[] assays) =>
        Assert.Empty(Server.Services.GetRequiredService<OrderIntake>().Receive(AnAide.Lena, "ward",
            [new OrderIn(number, specimen, assays, priority, Comment: comment)]).Faults);

    private static IReadOnlyList<IElement> Waiting(IRenderedComponent<WorklistPage> page) =>
        [.. page.FindAll("section[aria-labelledby=orders-wait] tbody tr")];

    /// <summary>Specimen, order, where it is from, assay, urgency, comment.</summary>
    private static string Text(IElement row)
    {
        string Of(string selector) => row.QuerySelector(selector)!.TextContent.Trim();
        return string.Join(' ', Of("th .code"), Of("td bdi"), Of("td .under bdi"),
            row.QuerySelectorAll("td")[1].FirstChild!.TextContent.Trim(), Of("td.urgent .under"),
            row.QuerySelectorAll("td")[5].TextContent.Trim());
    }
}
