using Bunit;
using Incubation.Clinic.People;
using Incubation.Model;
using Incubation.Server.Pages.Assays;
using Incubation.Service.Assays;
using Incubation.Service.Clinic;
using Incubation.Service.StepTimes;
using Incubation.Service.Tests.Support;
using Microsoft.AspNetCore.Components;
using Microsoft.Extensions.DependencyInjection;

namespace Incubation.Server.Tests.Pages;

/// <summary>The pages of the assay sheet, without a browser.</summary>
public sealed class AssayPagesTest : DemoPages
{
    private static readonly AssayCode Code = new("DA");
    private readonly AssayService desk;

    public AssayPagesTest()
    {
        JSInterop.Mode = JSRuntimeMode.Loose;
        Front.Who = As("ines");
        desk = Share<AssayService>();
        Share<StepTimeService>();
        Share<ClinicHost>();
        Begin();
    }

    [Fact]
    public void NewAssay_IsAskedInTwoParts_WithTheBenchsTimesAsAFirstGuess()
    {
        var page = Render<DraftPage>();
        Assert.Equal(["From the kit's instructions", "From your bench"],
            page.FindAll(".sheet-part h2").Select(title => title.TextContent.Trim()));
        Assert.Equal("1:00", page.Find("#sheet-Mix").GetAttribute("value"));
        Assert.Contains("First guess", page.Find("#sheet-Mix-help").TextContent, StringComparison.Ordinal);
        Assert.Equal("= 1 min", page.Find("#sheet-Mix-understood").TextContent);
        // What need not be filled in is folded.
        Assert.False(page.Find("#more-Specimen").HasAttribute("open"));
        Assert.False(page.Find("#more-Limits").HasAttribute("open"));
        Assert.Null(page.Find("#sheet-SpecimenTypes").Closest("details:not(#more-Specimen)"));
        Assert.Equal(["Code", "Name", "Analyte", "Unit", "Instructions", "MixToLoad", "Place", "Incubation",
            "ReadWindow", "Read", "Mix", "Load", "Move", "Clear"],
            page.FindAll("input, select").Where(input => input.Closest("details") is null)
                .Select(input => input.Id!["sheet-".Length..]));
    }

    [Fact]
    public async Task ATypedLength_IsShownAsUnderstood_AndOneThatIsNotIsAskedAtOnce()
    {
        var page = Render<DraftPage>();
        await page.Find("#sheet-Incubation").ChangeAsync(new() { Value = "15" });
        Assert.Equal("= 15 min", page.Find("#sheet-Incubation-understood").TextContent);
        await page.Find("#sheet-Mix").ChangeAsync(new() { Value = "45 s" });
        Assert.DoesNotContain("First guess", page.Find("#sheet-Mix").ParentElement!.TextContent,
            StringComparison.Ordinal);
        await page.Find("#sheet-CriticalTo").ChangeAsync(new() { Value = "1,000" });
        Assert.Contains("Type 1000 or 1.000", page.Find("#sheet-CriticalTo-fault").TextContent,
            StringComparison.Ordinal);
        await page.Find("#sheet-CriticalTo").ChangeAsync(new() { Value = "5,0" });
        Assert.Empty(page.FindAll("#sheet-CriticalTo-fault"));
        Assert.Equal("= 5.0", page.Find("#sheet-CriticalTo-understood").TextContent);
    }

    [Fact]
    public async Task AFaultInAFold_OpensIt()
    {
        var page = Render<DraftPage>();
        await page.Find("#sheet-SpecimenVolume").ChangeAsync(new() { Value = "0" });
        await page.Find("form").SubmitAsync();
        Assert.True(page.Find("#more-Specimen").HasAttribute("open"));
        Assert.Contains("µL", page.Find("#sheet-SpecimenVolume-fault").TextContent, StringComparison.Ordinal);
    }

    [Fact]
    public void ACopy_BeginsWithTheOthersValuesAndNamesItself()
    {
        Services.GetRequiredService<NavigationManager>().NavigateTo("assays/new?from=DA");
        var page = Render<DraftPage>();
        Assert.Contains("Copied from DA", page.Find(".hint").TextContent, StringComparison.Ordinal);
        Assert.True(string.IsNullOrEmpty(page.Find("#sheet-Code").GetAttribute("value")));
        Assert.Equal(SheetFields.TextsOf(desk.Assays.Latest(Code)!.Sheet)["Incubation"],
            page.Find("#sheet-Incubation").GetAttribute("value"));
    }

    [Fact]
    public async Task ADraft_ShowsBothValuesWhereItDiffersFromTheLastVersion()
    {
        var page = Render<DraftPage>(with => with.Add(draft => draft.Code, "DA"));
        Assert.DoesNotContain("Version 1:", page.Markup, StringComparison.Ordinal);
        await page.Find("#sheet-Incubation").ChangeAsync(new() { Value = "16 min" });
        Assert.Contains($"Version 1: {SheetFields.TextsOf(desk.Assays.Latest(Code)!.Sheet)["Incubation"]}",
            page.Find("#sheet-Incubation-help").TextContent, StringComparison.Ordinal);
    }

    /// <summary>Whoever approves has compared every part; another writing is compared anew.</summary>
    [Fact]
    public async Task Approve_CanBePressedWhenEachPartIsCompared()
    {
        Draft("By Ines", 0);
        Front.Who = As("mara");
        var page = Render<AssayPage>(with => with.Add(assay => assay.Code, "DA"));
        Assert.True(page.Find("#approve").HasAttribute("disabled"));
        var parts = page.FindAll("#compared input").Count;
        Assert.Equal(SheetFields.GroupsOf(desk.Assays.Drafts[Code].Sheet).Count, parts);
        for (var part = 0; part < parts; part++)
        {
            Assert.True(page.Find("#approve").HasAttribute("disabled"));
            await page.FindAll("#compared input")[part].ChangeAsync(new() { Value = true });
        }

        Assert.False(page.Find("#approve").HasAttribute("disabled"));
        await page.FindAll("#compared input")[0].ChangeAsync(new() { Value = false });
        Assert.True(page.Find("#approve").HasAttribute("disabled"));

        // Written anew while the page is open: what was ticked was of the other writing.
        await page.FindAll("#compared input")[0].ChangeAsync(new() { Value = true });
        Draft("Written anew", desk.Assays.Drafts[Code].Revision);
        await page.Find("#approve").ClickAsync(new());
        await page.Find("#confirm-approve .button-primary").ClickAsync(new());
        Assert.NotEqual("", page.Find(".page-alert").TextContent.Trim());
        Assert.Contains("Written anew", page.Find("#draft").TextContent, StringComparison.Ordinal);
        Assert.DoesNotContain(page.FindAll("#compared input"), box => box.HasAttribute("checked"));
        Assert.True(page.Find("#approve").HasAttribute("disabled"));
        Assert.Equal(1, desk.Assays.VersionsOf(Code));
        for (var part = 0; part < parts; part++)
            await page.FindAll("#compared input")[part].ChangeAsync(new() { Value = true });
        await page.Find("#approve").ClickAsync(new());
        await page.Find("#confirm-approve .button-primary").ClickAsync(new());
        Assert.Equal("Written anew", desk.Assays.Latest(Code)!.Sheet.Assay.Name);
    }

    /// <summary>Another assay, whose draft was written as often: nothing of it was compared.</summary>
    [Fact]
    public async Task Approve_OfAnotherAssay_IsComparedAnew()
    {
        Draft("By Ines", 0);
        Draft("Also by Ines", 0, "DB");
        Assert.Single(desk.Assays.Drafts.Values.Select(draft => draft.Revision).Distinct());
        Front.Who = As("mara");
        var page = Render<AssayPage>(with => with.Add(assay => assay.Code, "DA"));
        await page.FindAll("#compared input")[0].ChangeAsync(new() { Value = true });
        Assert.Contains(page.FindAll("#compared input"), box => box.HasAttribute("checked"));

        page.Render(with => with.Add(assay => assay.Code, "DB"));
        Assert.Contains("Also by Ines", page.Find("#draft").TextContent, StringComparison.Ordinal);
        Assert.DoesNotContain(page.FindAll("#compared input"), box => box.HasAttribute("checked"));
    }

    [Fact]
    public void Export_OfOneAssay_HasItAlone()
    {
        var look = AssayService.Preview(desk.Export(Code));
        Assert.Equal(Code, Assert.Single(look.Rows).Sheet!.Assay.Code);
    }

    private void Draft(string name, int seen, string code = "DA")
    {
        var of = new AssayCode(code);
        var texts = SheetFields.TextsOf(desk.Assays.Latest(of)!.Sheet);
        texts["Name"] = name;
        Assert.Empty(desk.Draft(As("ines"), texts, seen, of).Faults);
    }

    private static Actor.Person As(string id) => AnAide.Lena with
    {
        Who = AnAide.Lena.Who with { Id = new PersonId(id), Role = Role.Supervisor },
    };
}
