using Microsoft.Playwright;

namespace Incubation.Browser.Tests.Walk;

/// <summary>The batch page of the first bench, as an aide uses it.</summary>
internal sealed class BatchScreen(IPage page, NewClinic clinic)
{
    private ILocator Said => page.Locator(".page-status");

    public async Task OpenAsync()
    {
        await page.GotoAsync(new Uri(clinic.Address, "batch/bench-1").ToString());
        await page.WaitForSelectorAsync("[data-interactive=true]");
        await page.Locator("#one-request summary").ClickAsync();
    }

    public async Task AddControlsAsync(string lot)
    {
        await page.GetByRole(AriaRole.Button, new() { Name = $"Add controls of lot {lot}" }).ClickAsync();
        await Assertions.Expect(Said).ToContainTextAsync("go first.");
    }

    /// <summary>Asks for a cartridge; what was said then.</summary>
    public async Task AskAsync(string specimen, string lot, string identifier, string? collected = null)
    {
        await page.Locator("#add-specimen").FillAsync(specimen);
        await page.Locator("#add-lot").SelectOptionAsync(lot);
        await page.Locator("#add-identifier").FillAsync(identifier);
        if (collected is not null)
            await page.Locator("#add-collected").FillAsync(collected);
        await page.GetByRole(AriaRole.Button, new() { Name = "Add request", Exact = true }).ClickAsync();
    }

    public Task IsAddedAsync(string specimen) => Assertions.Expect(Said).ToContainTextAsync($"is added: {specimen}.");

    /// <summary>Kit and buffer of a lot are taken out of storage.</summary>
    public async Task TakeOutAsync(string lot)
    {
        await page.GetByRole(AriaRole.Button, new() { Name = $"Lot {lot}: out of storage now" }).ClickAsync();
        await Assertions.Expect(page.Locator("#readiness li", new() { HasText = lot }))
            .ToContainTextAsync("Cleo Marsh");
    }

    public async Task CheckReaderAsync()
    {
        await page.GetByRole(AriaRole.Button, new() { Name = "self-check passed" }).ClickAsync();
        await Assertions.Expect(page.Locator("#readiness")).ToContainTextAsync("Cleo Marsh · ready");
    }

    /// <summary>
    /// Enters a result; the specimen that the reader shows is that of the cartridge unless another is said.
    /// </summary>
    public async Task EnterAsync(string specimen, string value, string? shown = null)
    {
        await page.GetByRole(AriaRole.Button,
            new() { Name = $"Enter the result of {specimen}", Exact = true }).First.ClickAsync();
        await page.Locator("#result-shown").FillAsync(shown ?? specimen);
        await page.Locator("#result-value").FillAsync(value);
        await page.Locator("#result-dialog .button-primary").ClickAsync();
        await Assertions.Expect(page.Locator(".read-back")).ToContainTextAsync(value);
        await page.Locator("#result-save").ClickAsync();
        await Assertions.Expect(Said).ToContainTextAsync($"The result of {specimen} is saved.");
    }

    public async Task TellAsync(string specimen)
    {
        await page.GetByRole(AriaRole.Button, new() { Name = $"Record who was told of {specimen}" }).ClickAsync();
        await page.Locator("#settle-words").FillAsync("Dr. Vale");
        await page.Locator("#read-back").CheckAsync();
        await page.Locator("#settle-save").ClickAsync();
        await Assertions.Expect(Said).ToContainTextAsync($"Done: {specimen}.");
    }

    public async Task WithdrawAsync(string specimen)
    {
        await page.Locator("tr", new() { HasText = specimen })
            .GetByRole(AriaRole.Button, new() { Name = "Withdraw" }).ClickAsync();
        await page.Locator("#withdraw-why").FillAsync("not wanted any more");
        await page.Locator("#confirm-withdraw .button-primary").ClickAsync();
        await Assertions.Expect(Said).ToContainTextAsync("is withdrawn");
    }

    /// <summary>Closes the batch and opens its record by the link that is shown then.</summary>
    public async Task CloseAsync()
    {
        await page.Locator("#close-batch").ClickAsync();
        await page.Locator("#confirm-close .button-primary").ClickAsync();
        await page.GetByRole(AriaRole.Link, new() { Name = "Open the record of batch 1" }).ClickAsync();
        await page.WaitForURLAsync(new Uri(clinic.Address, "record/bench-1/1").ToString());
    }
}
