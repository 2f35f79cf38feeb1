using Bunit;
using Incubation.Clinic;
using Incubation.Clinic.Stock;
using Incubation.Model;
using Incubation.Service.Clinic;
using Microsoft.Extensions.DependencyInjection;
using NodaTime;

namespace Incubation.Server.Tests.Pages;

public sealed partial class BatchPageTest
{
    /// <summary>A control is chosen by its lot and level; the program makes the name of its specimen.</summary>
    [Fact]
    public async Task Add_Control_IsChosenByLotAndLevelAndNamedByTheProgram()
    {
        Services.GetRequiredService<ClinicHost>().Log.Record(
            new ClinicEvent.StockReceived(StockKind.Control, new LotCode("CTRL-7"), new AssayCode("DA"),
                new LocalDate(2030, 1, 1), 10, null, null), Rig.Provenance());
        var page = Page();
        await page.Find("#add-kind").ChangeAsync(new() { Value = "control" });
        Assert.Empty(page.FindAll("#add-specimen, #add-identifier, #add-collected, #reject-specimen"));
        Assert.Equal("CTRL-7, level 1", page.Find("#add-control option").TextContent);

        await page.Find("form.add-request").SubmitAsync();

        page.WaitForAssertion(() => Assert.Contains("CTRL-7 L1", page.Find("table").TextContent,
            StringComparison.Ordinal));
        var added = Assert.Single(Rig.State.Cartridges);
        Assert.Equal(new ControlMaterial(new LotCode("CTRL-7"), 1), added.Wanted.Facts!.Control);
    }

    /// <summary>A green success never stays above a red fault.</summary>
    [Fact]
    public async Task Add_FaultyAfterAGoodOne_SaysTheFaultAlone()
    {
        var page = Page();
        await page.Find("#add-specimen").ChangeAsync(new() { Value = "SP-7" });
        await page.Find("form.add-request").SubmitAsync();
        page.WaitForAssertion(() =>
            Assert.Contains("R01 is added", page.Find(".page-status").TextContent, StringComparison.Ordinal));

        await page.Find("form.add-request").SubmitAsync();

        page.WaitForAssertion(() => Assert.NotEmpty(page.FindAll("#add-specimen-fault")));
        Assert.Equal("", page.Find(".page-status").TextContent.Trim());
    }
}
