using Microsoft.Playwright;

namespace Incubation.Browser.Tests.Walk;

/// <summary>The office pages of a new clinic, as its people fill them in.</summary>
internal sealed class Office(IPage page, NewClinic clinic)
{
    private const string Password = "violet ladder seventeen";

    public async Task SetUpAsync(string name, string id)
    {
        await page.GotoAsync(clinic.Address.ToString());
        await page.GetByLabel("Code from the console").FillAsync(clinic.SetUpCode);
        await page.GetByLabel("Clinic name").FillAsync("Harbour Clinic");
        await page.GetByLabel("Name", new() { Exact = true }).FillAsync(name);
        await page.GetByLabel("User name").FillAsync(id);
        await page.GetByLabel("Password").FillAsync(Password);
        await page.GetByRole(AriaRole.Button, new() { Name = "Set up" }).ClickAsync();
        await page.WaitForURLAsync(new Uri(clinic.Address, "people").ToString());
        await ReadyAsync();
    }

    /// <summary>
    /// Adds a person, who sets a password with the code that is shown and signs in on a page of their own.
    /// </summary>
    public async Task<Office> AddPersonAsync(IPage own, string name, string id, string role)
    {
        await page.Locator("#person-name").FillAsync(name);
        await page.Keyboard.PressAsync("Tab");
        // The user name begins with the first name.
        await Assertions.Expect(page.Locator("#person-id")).ToHaveValueAsync(id);
        await page.Locator("#person-role").SelectOptionAsync(role);
        await page.GetByRole(AriaRole.Button, new() { Name = "Add and show code" }).ClickAsync();
        await Assertions.Expect(page.Locator("#shown-text")).ToContainTextAsync(id);
        var code = await page.Locator("code.shown").InnerTextAsync();

        await own.GotoAsync(new Uri(clinic.Address, "welcome").ToString());
        await own.GetByLabel("User name").FillAsync(id);
        await own.GetByLabel("Code", new() { Exact = true }).FillAsync(code);
        await own.GetByLabel("New password").FillAsync(Password);
        await own.GetByRole(AriaRole.Button, new() { Name = "Set password", Exact = true }).ClickAsync();
        await own.GetByRole(AriaRole.Link, new() { Name = "Sign in" }).ClickAsync();
        await own.GetByLabel("User name").FillAsync(id);
        await own.GetByLabel("Password").FillAsync(Password);
        await own.GetByRole(AriaRole.Button, new() { Name = "Sign in", Exact = true }).ClickAsync();
        await own.WaitForURLAsync(clinic.Address.ToString());
        return new Office(own, clinic);
    }

    public async Task GoAsync(string path)
    {
        await page.GotoAsync(new Uri(clinic.Address, path).ToString());
        await ReadyAsync();
    }

    public async Task DraftAssayAsync(IReadOnlyDictionary<string, string> sheet)
    {
        await GoAsync("assays/new");
        foreach (var (field, value) in sheet)
        {
            // What need not be filled in is folded.
            var input = page.Locator("#sheet-" + field);
            if (!await input.IsVisibleAsync())
                await page.Locator("details", new() { Has = input }).Locator("summary").ClickAsync();
            await input.FillAsync(value);
        }

        await page.Locator("#save-draft").ClickAsync();
        await Assertions.Expect(page.Locator("main")).ToContainTextAsync("another supervisor must approve it");
    }

    public async Task ApproveAssayAsync(string code)
    {
        await GoAsync("assays/" + code);
        foreach (var part in await page.Locator("#compared input").AllAsync())
            await part.CheckAsync();
        await page.Locator("#approve").ClickAsync();
        await page.Locator("dialog[open] .button-primary").ClickAsync();
        await Assertions.Expect(page.Locator("main")).ToContainTextAsync("is approved, version 1");
    }

    /// <summary>Receives a box: its code as a scanner types it, and what the code does not say.</summary>
    public async Task ReceiveAsync(string scanned, string kind, string count)
    {
        await page.Locator("#lot-scan").PressSequentiallyAsync(scanned);
        await page.Keyboard.PressAsync("Enter");
        await Assertions.Expect(page.Locator("[role=status]").First).ToContainTextAsync("Read: ");
        await page.Locator("#lot-kind-in").SelectOptionAsync(kind);
        await page.Locator("#lot-assay").SelectOptionAsync(new SelectOptionValue { Index = 1 });
        await page.Locator("#lot-count").FillAsync(count);
        await page.GetByRole(AriaRole.Button, new() { Name = "Receive" }).ClickAsync();
        await Assertions.Expect(page.Locator("[role=status]").First).ToContainTextAsync("Received: ");
    }

    public async Task SetTargetAsync(string lot, string level, string mean, string deviation)
    {
        // The form begins with a control that has no target yet.
        await Assertions.Expect(page.Locator("#target-lot")).ToHaveValueAsync(lot);
        await Assertions.Expect(page.Locator("#target-level")).ToHaveValueAsync(level);
        await page.Locator("#target-mean").FillAsync(mean);
        await page.Locator("#target-deviation").FillAsync(deviation);
        await page.GetByRole(AriaRole.Button, new() { Name = "Set target" }).ClickAsync();
        await Assertions.Expect(page.Locator("[role=status]").First).ToContainTextAsync($"level {level}, is set");
    }

    public async Task SetUpBenchAsync()
    {
        await GoAsync("");
        await page.GetByRole(AriaRole.Link, new() { Name = "Set up a bench" }).ClickAsync();
        await page.Locator("#bench-name").FillAsync("Bench at the window");
        await page.Locator("#bench-slots").FillAsync("4");
        await page.GetByRole(AriaRole.Button, new() { Name = "Set up bench" }).ClickAsync();
        await Assertions.Expect(page.Locator(".bench-list")).ToContainTextAsync("Bench at the window");
    }

    public async Task TakeActionAsync()
    {
        await GoAsync("controls");
        await page.GetByRole(AriaRole.Textbox, new() { Name = "What was found" }).FillAsync("The vial had stood open.");
        await page.GetByRole(AriaRole.Textbox, new() { Name = "What was done", Exact = true })
            .FillAsync("A new vial was opened.");
        await page.GetByRole(AriaRole.Button, new() { Name = "Record corrective action" }).ClickAsync();
        await Assertions.Expect(page.Locator("[role=status]").First).ToContainTextAsync("Repeat its controls");
        await Pictures.Keep(page, "walk-action");
    }

    private Task ReadyAsync() => page.WaitForSelectorAsync("[data-interactive=true]");
}
