using Bunit;
using Incubation.Clinic;
using Incubation.Model;
using Incubation.Server.Pages.People;
using Incubation.Service.Clinic;
using Incubation.Service.Clock;
using Incubation.Service.People;
using Incubation.Service.Tests.Support;

namespace Incubation.Server.Tests.Pages;

/// <summary>A person's passkeys: what was done is not said above what is wrong now.</summary>
public sealed class PasskeyListTest : DemoPages
{
    private static readonly DeviceId Passkey = new("passkey-1");
    private readonly ClinicHost clinic;
    private readonly BenchClock clock;

    public PasskeyListTest()
    {
        JSInterop.Mode = JSRuntimeMode.Loose;
        Share<PasskeyService>();
        clinic = Share<ClinicHost>();
        clock = Share<BenchClock>();
        Begin();
        Record(new ClinicEvent.PasskeyAdded(Passkey, new PersonId("lena"), "Work phone", "localhost", "credential",
            "key", "handle", [], 0, false));
    }

    [Fact]
    public async Task Added_AndThenARemovalIsRefused_SaysTheRefusalAlone()
    {
        var page = Added();
        // Somebody else has removed it meanwhile.
        Record(new ClinicEvent.PasskeyRemoved(Passkey));
        await page.Find("tbody button").ClickAsync(new());
        await page.Find("#confirm-remove .button-primary").ClickAsync(new());
        Assert.NotEqual("", page.Find(".page-alert").TextContent.Trim());
        Assert.Equal("", page.Find(".page-status").TextContent.Trim());
    }

    /// <summary>The form below is the module's: it tells the list that it shows a fault.</summary>
    [Fact]
    public async Task Added_AndThenAnotherIsNotAdded_SaysNoSuccessAboveIt()
    {
        var page = Added();
        await page.Find("[data-passkey-list]").TriggerEventAsync("oninvalid", EventArgs.Empty);
        Assert.Equal("", page.Find(".page-status").TextContent.Trim());
    }

    private IRenderedComponent<PasskeyList> Added()
    {
        var page = Render<PasskeyList>(with => with.Add(list => list.Person, "lena").Add(list => list.Added, true));
        Assert.Contains(PasskeyPageWords.Done, page.Find(".page-status").TextContent, StringComparison.Ordinal);
        return page;
    }

    private void Record(ClinicEvent happened) => Assert.True(Outcome.Of(() => clinic.Log.Record(happened,
        Provenances.Of(AnAide.Lena, clock))).IsDone);
}
