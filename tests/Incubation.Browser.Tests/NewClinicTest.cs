using Microsoft.Playwright;
using Xunit;

namespace Incubation.Browser.Tests;

/// <summary>
/// What deploy/README.md tells a new user to do, from an empty folder: set up, add people and a bench, open to others
/// by TLS, enrol a tablet, back up, lose everything, restore, and find everything again.
/// </summary>
public sealed class NewClinicTest(Browser browser)
{
    private const string Password = "violet ladder seventeen";
    private const string NorasPin = "402718";

    private static CancellationToken Cancel => TestContext.Current.CancellationToken;

    [Fact]
    public async Task EmptyFolder_SetUpOpenedBackedUpLostRestored_EverythingIsThere()
    {
        await using var clinic = new NewClinic();
        await clinic.StartOnThisMachineAsync(Cancel);
        var office = await browser.Open(1280, 800);
        await SetUpAsync(office, clinic);
        var code = await AddPersonAsync(office, clinic, "Nora", "nora", "Aide");
        await SetUpBenchAsync(office, clinic);
        await clinic.StopAsync(Cancel);

        await clinic.StartByTlsAsync(Cancel);
        var tablet = await browser.Open(1280, 800);
        await WelcomeAsync(tablet, clinic, "nora", code);
        await SignInAsync(office, clinic, "olga");
        await EnrolAsync(office, tablet, clinic);
        await SwitchByPinAsync(tablet, clinic);
        await Pictures.Keep(tablet, "tablet");

        var printed = await NewClinic.RunAsync(Cancel, "backup", clinic.DataFile, "--to", clinic.Backups + "/");
        Assert.Contains("replayed", printed, StringComparison.OrdinalIgnoreCase);
        await clinic.StopAsync(Cancel);
        clinic.Destroy();
        // Before the restore, which else could not check what it puts back.
        clinic.PutKeyBack();
        await NewClinic.RunAsync(Cancel, "restore", Directory.GetFiles(clinic.Backups, "*.db").Single(), "--data",
            clinic.DataFile);

        await clinic.StartByTlsAsync(Cancel);
        // The tablet's key, Nora's PIN, the administrator's password, people, bench and log: all as before. Sign-ins
        // have ended.
        await OpenBenchAsync(tablet, clinic);
        await Assertions.Expect(tablet.Locator(".bench-who")).ToContainTextAsync("Locked");
        await SwitchByPinAsync(tablet, clinic);
        await SignInAsync(office, clinic, "olga");
        await office.GotoAsync(new Uri(clinic.Address, "people").ToString());
        await Assertions.Expect(office.Locator("main table")).ToContainTextAsync("Nora");
        await Pictures.Keep(office, "people");
        await office.GotoAsync(new Uri(clinic.Address, "devices").ToString());
        await Assertions.Expect(office.Locator("main table")).ToContainTextAsync("Tablet at the window");
        await Pictures.Keep(office, "devices");
        await office.GotoAsync(new Uri(clinic.Address, "clinic-log").ToString());
        await Assertions.Expect(office.Locator("main table")).ToContainTextAsync("Nora signed in by PIN");
        await Pictures.Keep(office, "clinic-log");
    }

    private static async Task SetUpAsync(IPage office, NewClinic clinic)
    {
        await office.GotoAsync(clinic.Address.ToString());
        await office.Locator("#set-up-code").FillAsync(clinic.SetUpCode);
        await office.Locator("#set-up-clinic").FillAsync("North Clinic");
        await office.Locator("#set-up-zone").FillAsync("Europe/Berlin");
        await office.Locator("#set-up-name").FillAsync("Olga");
        await office.Locator("#set-up-id").FillAsync("olga");
        await office.Locator("#set-up-password").FillAsync(Password);
        await Pictures.Keep(office, "set-up");
        await office.Locator("main button").ClickAsync();
        await office.WaitForURLAsync(new Uri(clinic.Address, "people").ToString());
    }

    private static async Task<string> AddPersonAsync(IPage office, NewClinic clinic, string name, string id,
        string role)
    {
        await office.GotoAsync(new Uri(clinic.Address, "people").ToString());
        await office.WaitForSelectorAsync("[data-interactive=true]");
        await office.Locator("#person-name").FillAsync(name);
        await office.Locator("#person-id").FillAsync(id);
        await office.Locator("#person-role").SelectOptionAsync(role);
        await office.Locator("form.add-request:has(#person-role) button").ClickAsync();
        await Pictures.Keep(office, "people-code");
        return await office.Locator("code.shown").InnerTextAsync();
    }

    private static async Task SetUpBenchAsync(IPage office, NewClinic clinic)
    {
        await office.GotoAsync(clinic.Address.ToString());
        await Pictures.Keep(office, "no-bench");
        await office.GetByText("Set up a bench").ClickAsync();
        await office.Locator("#bench-name").FillAsync("Bench at the window");
        await office.Locator("#bench-slots").FillAsync("many");
        await office.Locator("main button").ClickAsync();
        await Assertions.Expect(office.Locator("#bench-slots-fault")).ToContainTextAsync("whole number");
        await Pictures.Keep(office, "new-bench");
        await office.Locator("#bench-slots").FillAsync("6");
        await office.Locator("main button").ClickAsync();
        await Assertions.Expect(office.Locator(".bench-list")).ToContainTextAsync("Bench at the window");
    }

    private static async Task WelcomeAsync(IPage page, NewClinic clinic, string id, string code)
    {
        await page.GotoAsync(new Uri(clinic.Address, "welcome").ToString());
        await page.Locator("#welcome-name").FillAsync(id);
        await page.Locator("#welcome-code").FillAsync(code);
        await page.Locator("#welcome-password").FillAsync(Password);
        await page.Locator("#welcome-pin").FillAsync(NorasPin);
        await page.Locator("main button").ClickAsync();
        await Assertions.Expect(page.Locator("main [role=status]")).ToBeVisibleAsync();
    }

    private static async Task SignInAsync(IPage page, NewClinic clinic, string id)
    {
        await page.GotoAsync(new Uri(clinic.Address, "sign-in").ToString());
        await page.Locator("#sign-in-name").FillAsync(id);
        await page.Locator("#sign-in-password").FillAsync(Password);
        await page.Locator("main form.panel button").First.ClickAsync();
        await page.WaitForURLAsync(clinic.Address.ToString());
    }

    private static async Task EnrolAsync(IPage office, IPage tablet, NewClinic clinic)
    {
        await office.GotoAsync(new Uri(clinic.Address, "devices").ToString());
        await office.WaitForSelectorAsync("[data-interactive=true]");
        await office.Locator("#device-name").FillAsync("Tablet at the window");
        await office.Locator("form.add-request button").ClickAsync();
        var code = await office.Locator("code.shown").InnerTextAsync();
        await tablet.GotoAsync(new Uri(clinic.Address, "enrol").ToString());
        await tablet.Locator("#enrol-code").FillAsync(code);
        await Pictures.Keep(tablet, "enrol");
        await tablet.Locator("main button").ClickAsync();
        await tablet.WaitForURLAsync(clinic.Address.ToString());
    }

    private static async Task SwitchByPinAsync(IPage tablet, NewClinic clinic)
    {
        await OpenBenchAsync(tablet, clinic);
        var who = tablet.Locator(".bench-who");
        await who.ClickAsync();
        await tablet.GetByRole(AriaRole.Button, new() { Name = "Nora" }).ClickAsync();
        await tablet.Locator(".who-pin").FillAsync(NorasPin);
        await Assertions.Expect(who).ToContainTextAsync("Nora");
    }

    private static async Task OpenBenchAsync(IPage tablet, NewClinic clinic)
    {
        await tablet.GotoAsync(new Uri(clinic.Address, "bench/bench-1").ToString());
        await tablet.WaitForSelectorAsync(".bench-line[data-line='connected']");
    }
}
