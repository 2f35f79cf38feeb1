using Bunit;
using Incubation.Clinic.Connections;
using Incubation.Clinic.People;
using Incubation.Server.Pages.Connections;
using Incubation.Server.Pages.Instruments;
using Incubation.Service.Clinic;
using Incubation.Service.Clock;
using Incubation.Service.Connections;
using Incubation.Service.Instruments;
using Incubation.Service.Record;
using Incubation.Service.Tests.Support;

namespace Incubation.Server.Tests.Pages;

/// <summary>
/// The pages of instruments and of connections: what was done is not said above what is wrong now in a dialog.
/// </summary>
public sealed class LinesOutTest : DemoPages
{
    private readonly Actor mara = ControlsHouse.Person("mara", Role.Administrator);

    public LinesOutTest()
    {
        JSInterop.Mode = JSRuntimeMode.Loose;
        Share<ClinicHost>();
        Share<BenchClock>();
        Share<AccessLog>();
        Front.Who = mara;
    }

    [Fact]
    public async Task Connection_EndedWithoutAReason_TakesTheLastSuccessAway()
    {
        Share<OutboxSender>();
        Share<CertificateEnds>();
        var (faults, _) = Share<ConnectionService>().Set(mara, null, new ConnectionForm
        {
            Name = "Records",
            Address = "https://records.example/in",
            Topics = [NoticeTopic.Results],
        });
        Assert.Empty(faults);
        Begin();
        var page = Render<ConnectionsPage>();
        await page.Find("button[aria-label='Switch off Records']").ClickAsync(new());
        await page.Find("#switch-why").ChangeAsync(new() { Value = "It moves." });
        await page.Find("#switch-connection .button-primary").ClickAsync(new());
        Assert.NotEqual("", page.Find(".page-status").TextContent.Trim());

        await page.Find("button[aria-label='End Records']").ClickAsync(new());
        await page.Find("#end-connection .button-primary").ClickAsync(new());
        AssertFaultAlone(page, "#end-why-fault");
    }

    [Fact]
    public async Task Instrument_EndedWithoutAReason_TakesTheLastSuccessAway()
    {
        Share<WireInbox>();
        Assert.Empty(Share<InstrumentService>().Set(mara, null, new InstrumentForm
        {
            Name = "Reader",
            Bench = "bench-1",
            Port = "40400",
            Peers = "127.0.0.1",
            Tests = "A = DA = mg/L",
        }).Select(fault => fault.Sentence));
        Begin();
        var page = Render<InstrumentsPage>();
        await page.Find("button[aria-label='Change Reader']").ClickAsync(new());
        await page.Find("form:has(#wire-name)").SubmitAsync();
        Assert.NotEqual("", page.Find(".page-status").TextContent.Trim());

        await page.Find("button[aria-label='End Reader']").ClickAsync(new());
        await page.Find("#end-instrument .button-primary").ClickAsync(new());
        AssertFaultAlone(page, "#end-why-fault");
    }

    private static void AssertFaultAlone(IRenderedComponent<Microsoft.AspNetCore.Components.IComponent> page,
        string fault)
    {
        Assert.NotEqual("", page.Find(fault).TextContent);
        Assert.Equal("", page.Find(".page-status").TextContent.Trim());
    }
}
