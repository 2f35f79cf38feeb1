using System.Text.Json.Nodes;
using System.Text.RegularExpressions;
using Microsoft.Playwright;
using Xunit;

namespace Incubation.Browser.Tests;

/// <summary>
/// Passkeys in a real browser with an authenticator of its own making (W3C WebDriver's virtual authenticator), and what
/// a browser keeps when somebody signs out.
/// </summary>
public sealed class PasskeyPageTest(Browser browser, PasskeyPageTest.Demo demo) : IClassFixture<PasskeyPageTest.Demo>
{
    private const string Password = "demo candle harbour";

    private readonly ServerProcess server = demo.Server;

    private static CancellationToken Cancel => TestContext.Current.CancellationToken;

    [Fact]
    public async Task Passkey_AddedUsedAndRemoved_ByKeyboardAlone()
    {
        var here = Localhost;
        List<string> complaints = [];
        var page = await browser.Open(1280, 800, complaints);
        var (line, authenticator) = await AuthenticatorAsync(page);
        await SignInAsync(page, here);
        await AddAsync(page, here);

        await SignOutAsync(page, here);
        var button = page.Locator("[data-passkey-button]");
        var fault = page.Locator("[data-passkey-fault]");
        await Assertions.Expect(button).ToBeVisibleAsync();
        await LookAtAsync(page, "sign-in", button);
        await button.FocusAsync();
        await page.Keyboard.PressAsync("Enter");
        await page.WaitForURLAsync(here.ToString());
        await page.GotoAsync(new Uri(here, "me/sign-ins").ToString());
        await page.WaitForSelectorAsync("[data-interactive=true]");
        await Assertions.Expect(page.Locator("main table")).ToContainTextAsync("passkey");
        await Assertions.Expect(page.Locator("main table")).ToContainTextAsync("this one");
        await LookAtAsync(page, "sign-ins");

        // A person whom the authenticator cannot verify comes in by no passkey.
        await SignOutAsync(page, here);
        await line.SendAsync("WebAuthn.setUserVerified",
            new() { ["authenticatorId"] = authenticator, ["isUserVerified"] = false });
        await button.ClickAsync();
        await Assertions.Expect(fault).ToContainTextAsync("No passkey was used");
        Assert.Contains("/sign-in", page.Url, StringComparison.Ordinal);
        await line.SendAsync("WebAuthn.setUserVerified",
            new() { ["authenticatorId"] = authenticator, ["isUserVerified"] = true });

        await RemoveAsync();
        await page.TryOnPhone(button);
        await button.ClickAsync();
        await Assertions.Expect(fault).ToContainTextAsync("not accepted");
        Assert.DoesNotContain(complaints,
            complaint => complaint.Contains("Content Security", StringComparison.Ordinal));
    }

    /// <summary>Adds one by the keyboard, first with a wrong password, and after it another with a wrong one.</summary>
    private static async Task AddAsync(IPage page, Uri here)
    {
        await page.GotoAsync(new Uri(here, "me/passkeys").ToString());
        await page.WaitForSelectorAsync("[data-interactive=true]");
        var (name, password) = (page.Locator("#passkey-name"), page.Locator("#passkey-password"));
        await name.FocusAsync();
        await page.Keyboard.TypeAsync("Work phone");
        await page.Keyboard.PressAsync("Tab");
        await page.Keyboard.TypeAsync("wrong");
        await page.Keyboard.PressAsync("Enter");
        await Assertions.Expect(page.Locator("[data-passkey-fault]")).ToContainTextAsync("Wrong password");
        await LookAtAsync(page, "passkeys-fault", name, password);
        await password.FillAsync(Password);
        await page.Keyboard.PressAsync("Enter");
        await Assertions.Expect(page.Locator("main table")).ToContainTextAsync("Work phone");
        await Assertions.Expect(page.Locator(".page-status").First).ToContainTextAsync("was added");
        await LookAtAsync(page, "passkeys", name, password);

        // Another one is not added: what was done before is not said above that.
        await page.WaitForSelectorAsync("[data-interactive=true]");
        await name.FillAsync("Another phone");
        await password.FillAsync("wrong");
        await page.Keyboard.PressAsync("Enter");
        await Assertions.Expect(page.Locator("[data-passkey-fault]")).ToContainTextAsync("Wrong password");
        await Assertions.Expect(page.Locator(".page-status p")).ToHaveCountAsync(0);
    }

    /// <summary>
    /// An administrator removes it: then it opens nothing, whatever the authenticator says.
    /// </summary>
    private async Task RemoveAsync()
    {
        var office = await browser.Open(1280, 800);
        await server.SignIn(office, "mara", Cancel);
        await office.GotoAsync(new Uri(server.Address, "people/ines").ToString());
        await office.WaitForSelectorAsync("[data-interactive=true] table");
        var remove = office.GetByRole(AriaRole.Button, new() { Name = "Remove Work phone" });
        await LookAtAsync(office, "person", remove);
        await remove.ClickAsync();
        await office.TryOnPhone(office.Locator("dialog[open] .button-primary"));
        await office.Locator("dialog[open] .button-primary").ClickAsync();
        await office.OnEach(ScreenSize.PhoneAndDesk, _ =>
            Assertions.Expect(office.GetByText("Work phone was removed")).ToBeVisibleAsync());
    }

    [Fact]
    public async Task Passkeys_AtAnIpAddress_ThePageSaysWhyNot()
    {
        var page = await browser.Open(1280, 800);
        await server.SignIn(page, "ines", Cancel);

        await page.GotoAsync(new Uri(server.Address, "me/passkeys").ToString());

        await Assertions.Expect(page.Locator("main")).ToContainTextAsync("do not work at an IP address");
        await Pictures.Keep(page, "passkeys-by-address");
    }

    [Fact]
    public async Task SignOut_WhileAReportWaits_TheReportStaysAndIsSentByTheNextOne()
    {
        var page = await browser.Open(1280, 800);
        await SignInAsync(page, server.Address);
        await page.GotoAsync(new Uri(server.Address, "lots").ToString());
        await page.EvaluateAsync("localStorage.setItem('incubation.last.bench-1', '{}')");
        await page.EvaluateAsync("localStorage.setItem('incubation.outbox.bench-9', '[{\"id\":\"kept\"}]')");

        await SignOutAsync(page, server.Address);

        Assert.Contains("kept", await page.EvaluateAsync<string>("localStorage.getItem('incubation.outbox.bench-9')"),
            StringComparison.Ordinal);
        // Of the bench itself nothing stays.
        await page.WaitForFunctionAsync("() => localStorage.getItem('incubation.last.bench-1') === null");
    }

    [Fact]
    public async Task SignOut_WhileNothingWaits_TheStorageIsEmpty()
    {
        var here = Localhost;
        var page = await browser.Open(1280, 800);
        await SignInAsync(page, here);
        await page.EvaluateAsync("localStorage.setItem('incubation.device', 'tablet-7')");
        await page.EvaluateAsync("localStorage.setItem('incubation.outbox.bench-1', '[]')");

        await SignOutAsync(page, here);

        await page.WaitForFunctionAsync("() => localStorage.length === 0");
    }

    [Fact]
    public async Task SignOut_OnATablet_ItsEnrolmentAndReportsStay()
    {
        var page = await browser.Open(1280, 800);
        await page.GotoAsync(new Uri(server.Address, "sign-in").ToString());
        await page.GetByText("Make this browser the bench tablet").ClickAsync();
        await page.WaitForURLAsync(server.Address.ToString());
        await page.GotoAsync(new Uri(server.Address, "sign-in").ToString());
        await page.GetByText("Sign in as Ines").ClickAsync();
        await page.WaitForURLAsync(server.Address.ToString());
        await page.EvaluateAsync("localStorage.setItem('incubation.outbox.bench-1', '[]')");
        await page.EvaluateAsync("localStorage.setItem('incubation.device', 'tablet-7')");

        await page.GetByText("Lock this tablet").ClickAsync();
        await page.WaitForURLAsync(server.Address.ToString());

        Assert.Equal("tablet-7", await page.EvaluateAsync<string>("localStorage.getItem('incubation.device')"));
        Assert.Contains(await page.Context.CookiesAsync(), cookie => cookie.Name == "incubation-device");
    }

    /// <summary>Each test signs in in a browser of its own, and out only there.</summary>
    public sealed class Demo() : OneServer(cancel => ServerProcess.StartDemo(cancel));

    /// <summary>Browsers make no passkeys for numbers: the same server by the machine's own name.</summary>
    private Uri Localhost => new UriBuilder(server.Address) { Host = "localhost" }.Uri;

    private static async Task<(ICDPSession Line, string Authenticator)> AuthenticatorAsync(IPage page)
    {
        var line = await page.Context.NewCDPSessionAsync(page);
        await line.SendAsync("WebAuthn.enable", new() { ["enableUI"] = false });
        var made = await line.SendAsync("WebAuthn.addVirtualAuthenticator", new()
        {
            ["options"] = new Dictionary<string, object>
            {
                ["protocol"] = "ctap2",
                ["transport"] = "internal",
                ["hasResidentKey"] = true,
                ["hasUserVerification"] = true,
                ["isUserVerified"] = true,
                ["automaticPresenceSimulation"] = true,
            },
        });
        return (line, (string)JsonNode.Parse(made!.Value.GetRawText())!["authenticatorId"]!);
    }

    private static async Task SignInAsync(IPage page, Uri here)
    {
        await page.GotoAsync(new Uri(here, "sign-in").ToString());
        await page.TryOnPhone(page.Locator("#sign-in-name"), page.Locator("#sign-in-password"));
        await page.Locator("#sign-in-name").FillAsync("ines");
        await page.Locator("#sign-in-password").FillAsync(Password);
        await page.Locator("#sign-in-password").PressAsync("Enter");
        await page.WaitForURLAsync(here.ToString());
    }

    private static async Task SignOutAsync(IPage page, Uri here)
    {
        await page.GotoAsync(new Uri(here, "clinic-log").ToString());
        await page.TryOnPhone(page.GetByText("Sign out"));
        await page.GetByText("Sign out").ClickAsync();
        await page.WaitForURLAsync(new Regex("/sign-in"));
    }

    private static Task LookAtAsync(IPage page, string name, params ILocator[] next) =>
        page.OnEach(ScreenSize.PhoneAndDesk, async size =>
        {
            await Pictures.Keep(page, $"{name}-{size.Width}");
            Assert.Empty((await page.AllFaults()).Select(fault => $"{name} at {size.Width}: {fault}"));
            await page.AssertNoScrolling(name);
            await size.Try(next);
        });
}
