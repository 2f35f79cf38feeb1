using Bunit;
using Incubation.Bench;
using Incubation.Clinic.People;
using Incubation.Model;
using Incubation.Service.Tests.Support;

namespace Incubation.Server.Tests.Pages;

/// <content>Results that are amended and told.</content>
public sealed partial class BatchPageTest
{
    [Fact]
    public async Task Result_Amended_KeepsTheFirstOneInSight()
    {
        await Cleared();
        await Rig.Must(new BenchCommand.ResultEntered(new RequestId("R1"), new ShownResult.Value("4.2"),
            new ShownIdentity("SP-R1")));
        var page = Page();
        await page.Find("button[aria-label='Amend the result of SP-R1']").ClickAsync(new());
        await page.Find("#amend-value").ChangeAsync(new() { Value = "42" });
        await page.Find("#settle-dialog form").SubmitAsync();
        Assert.Contains("Give a reason", page.Find("#settle-words-fault").TextContent, StringComparison.Ordinal);
        Assert.Contains("Choose a reason", page.Find("#amend-reason-fault").TextContent, StringComparison.Ordinal);
        await page.Find("#amend-reason").ChangeAsync(new() { Value = "typed" });
        await page.Find("#settle-words").ChangeAsync(new() { Value = "The point was missed" });
        await page.Find("#settle-dialog form").SubmitAsync();
        // Both values are read back before anything is saved.
        Assert.Contains("SP-R1: 4.2 mg/L becomes 42 mg/L.", page.Find(".read-back").TextContent,
            StringComparison.Ordinal);
        Assert.Equal("4.2", Rig.State.Find(new RequestId("R1"))!.Marked!.Reported);
        await page.Find("#settle-save").ClickAsync(new());

        page.WaitForAssertion(() =>
            Assert.Contains("amended, originally 4.2 mg/L", page.Markup, StringComparison.Ordinal));
        var earlier = Assert.Single(Rig.State.Find(new RequestId("R1"))!.Status!.Earlier);
        Assert.Equal((AmendmentReason.Typed, "The point was missed"), (earlier.Reason, earlier.Why));
    }

    /// <summary>
    /// Every value that a result has had stands on its row, and an aide is told who decides on another.
    /// </summary>
    [Fact]
    public async Task Result_AmendedToAndFro_ShowsEveryValue_AndWaitsWhereItWasReleased()
    {
        await Cleared();
        await Rig.Must(new BenchCommand.ResultEntered(new RequestId("R1"), new ShownResult.Value("40"),
            ShownIdentity.None));
        await Rig.Must(new BenchCommand.ReleaseResult(new RequestId("R1"), "The label was read again."));
        await Rig.Must(new BenchCommand.AmendResult(new RequestId("R1"), new ShownResult.Value("38"), "Typing"));
        await Rig.Must(new BenchCommand.AmendResult(new RequestId("R1"), new ShownResult.Value("40"), "Back"));
        var page = Page();
        Assert.Contains("amended, originally 40 mg/L, then 38 mg/L", page.Markup, StringComparison.Ordinal);
        await page.Find("button[aria-label='Amend the result of SP-R1']").ClickAsync(new());
        await page.Find("#amend-value").ChangeAsync(new() { Value = "450" });
        await page.Find("#amend-reason").ChangeAsync(new() { Value = "typed" });
        await page.Find("#settle-words").ChangeAsync(new() { Value = "A slip" });
        await page.Find("#settle-dialog form").SubmitAsync();
        Assert.Contains("held until a supervisor confirms this", page.Find("#settle-dialog").TextContent,
            StringComparison.Ordinal);
        await page.Find("#settle-save").ClickAsync(new());
        page.WaitForAssertion(() => Assert.Contains("Waits for a supervisor", page.Markup, StringComparison.Ordinal));
        Assert.Equal(ResultHold.AmendmentWaits, Rig.State.Find(new RequestId("R1"))!.Use.Hold);
    }

    /// <summary>Who decides on another's identity sees which one the reader showed.</summary>
    [Fact]
    public async Task Result_OfAnotherIdentity_SaysWhich()
    {
        await Cleared();
        await Rig.Must(new BenchCommand.ResultEntered(new RequestId("R1"), new ShownResult.Value("40"),
            new ShownIdentity("SP-9")));
        Assert.Contains("the reader showed another specimen id: SP-9", Page().Markup, StringComparison.Ordinal);
    }

    /// <summary>What was thrown away is said to be so, and nothing is offered that would use its value.</summary>
    [Fact]
    public async Task Result_OfADiscardedCartridge_IsNeitherReleasedNorAmended()
    {
        await Cleared();
        await Rig.Must(new BenchCommand.ResultEntered(new RequestId("R1"), new ShownResult.Value("40"),
            ShownIdentity.None));
        await Rig.Must(new BenchCommand.Discarded(new RequestId("R1"), DiscardReason.Dropped, null));
        front.Who = AnAide.Lena with { Who = AnAide.Lena.Who with { Role = Role.Supervisor } };
        var page = Page();
        Assert.Contains("entered, but its cartridge was discarded", page.Markup, StringComparison.Ordinal);
        Assert.Empty(page.FindAll("button[aria-label='Amend the result of SP-R1']"));
        Assert.Empty(page.FindAll("button[aria-label='Release the result of SP-R1']"));
    }

    /// <summary>160, told to a named doctor, amended to 16: the doctor stays on the row and is to be told.</summary>
    [Fact]
    public async Task Result_AmendedAfterSomebodyWasTold_ProposesTheSamePerson()
    {
        await Cleared();
        await Rig.Must(new BenchCommand.ResultEntered(new RequestId("R1"), new ShownResult.Value("160"),
            new ShownIdentity("SP-R1")));
        await Rig.Must(new BenchCommand.TellCritical(new RequestId("R1"), "Dr. Invented", true));
        await Rig.Must(new BenchCommand.AmendResult(new RequestId("R1"), new ShownResult.Value("16"), "Typing"));
        var page = Page();

        Assert.Contains("Dr. Invented was told of 160 mg/L and read it back", page.Markup, StringComparison.Ordinal);
        Assert.Contains("Dr. Invented has not been told of the correction", page.Markup, StringComparison.Ordinal);
        await page.Find("button[aria-label='Record who was told of SP-R1']").ClickAsync(new());
        Assert.Equal("Dr. Invented", page.Find("#settle-words").GetAttribute("value"));
        await page.Find("#settle-words").ChangeAsync(new() { Value = "Nurse" });
        await page.Find("#settle-dialog form").SubmitAsync();
        Assert.Contains("Say why someone else", page.Find("#settle-other-why-fault").TextContent,
            StringComparison.Ordinal);
        await page.Find("#settle-other-why").ChangeAsync(new() { Value = "The doctor is away" });
        await page.Find("#settle-dialog form").SubmitAsync();

        page.WaitForAssertion(() => Assert.Null(Rig.State.Find(new RequestId("R1"))!.Telling));
        Assert.Equal("The doctor is away", Rig.State.Find(new RequestId("R1"))!.Status!.Told!.Why);
    }

    /// <summary>What another entered is confirmed or declined in its dialog, by a supervisor alone.</summary>
    [Fact]
    public async Task Result_WhoseAmendmentWaits_IsDeclinedByASupervisor()
    {
        await Cleared();
        await Rig.Must(new BenchCommand.ResultEntered(new RequestId("R1"), new ShownResult.Value("4.2"),
            new ShownIdentity("SP-R1")));
        await Rig.Must(new BenchCommand.ProposeAmendment(new RequestId("R1"), new ShownResult.Value("42"), "Typing"));
        var aides = Page();
        Assert.Contains("amendment to 42 mg/L waits for a supervisor", aides.Markup, StringComparison.Ordinal);
        Assert.Contains("Waits for a supervisor", aides.Markup, StringComparison.Ordinal);
        Assert.Empty(aides.FindAll("button[aria-label='Confirm or decline the amendment of SP-R1']"));
        Assert.Empty(aides.FindAll("button[aria-label='Amend the result of SP-R1']"));

        front.Who = AnAide.Lena with
        {
            Who = AnAide.Lena.Who with { Id = new("ines"), Role = Role.Supervisor },
            Session = AnAide.Lena.Session with { Person = new("ines") },
        };
        var page = Page();
        await page.Find("button[aria-label='Confirm or decline the amendment of SP-R1']").ClickAsync(new());
        Assert.Contains("SP-R1: 4.2 mg/L becomes 42 mg/L.", page.Find(".read-back").TextContent,
            StringComparison.Ordinal);
        await page.Find("#settle-decline").ClickAsync(new());
        Assert.Contains("Give a reason", page.Find("#settle-words-fault").TextContent, StringComparison.Ordinal);
        await page.Find("#settle-words").ChangeAsync(new() { Value = "The reader shows 4.2" });
        await page.Find("#settle-decline").ClickAsync(new());
        page.WaitForAssertion(() => Assert.Null(Rig.State.Find(new RequestId("R1"))!.Status!.Proposal));
        Assert.Equal("The reader shows 4.2",
            Assert.Single(Rig.State.Find(new RequestId("R1"))!.Status!.Declined).Look.Why);
        page.WaitForAssertion(() => Assert.Contains("an amendment to 42 mg/L was declined: The reader shows 4.2",
            page.Markup, StringComparison.Ordinal));
    }

    /// <summary>What a supervisor entered waits for another; they take it back alone, and confirm it never.</summary>
    [Fact]
    public async Task Result_WhoseAmendmentIsOnesOwn_IsTakenBack()
    {
        await Cleared();
        await Rig.Must(new BenchCommand.ResultEntered(new RequestId("R1"), new ShownResult.Value("4.2"),
            new ShownIdentity("SP-R1")));
        await Rig.Must(new BenchCommand.ProposeAmendment(new RequestId("R1"), new ShownResult.Value("42"), "Typing"));
        front.Who = AnAide.Lena with
        {
            Who = AnAide.Lena.Who with { Id = new("aide"), Role = Role.Supervisor },
            Session = AnAide.Lena.Session with { Person = new("aide") },
        };
        var page = Page();
        Assert.Contains("Waits for another supervisor", page.Markup, StringComparison.Ordinal);
        Assert.Empty(page.FindAll("button[aria-label='Confirm or decline the amendment of SP-R1']"));
        await page.Find("button[aria-label='Undo your amendment of SP-R1']").ClickAsync(new());
        Assert.Empty(page.FindAll("#settle-decline"));
        await page.Find("#settle-words").ChangeAsync(new() { Value = "I read the wrong line" });
        await page.Find("#settle-dialog form").SubmitAsync();
        page.WaitForAssertion(() => Assert.Null(Rig.State.Find(new RequestId("R1"))!.Status!.Proposal));
        Assert.Equal(new ReadResult.Measured("4.2", "mg/L"), Rig.State.Find(new RequestId("R1"))!.Result);
    }

    /// <summary>Whoever releases a value reads as what it goes out.</summary>
    [Fact]
    public async Task Result_ToBeReleased_SaysAsWhatItGoesOut()
    {
        await Cleared();
        await Rig.Must(new BenchCommand.ResultEntered(new RequestId("R1"), new ShownResult.Value("42"),
            ShownIdentity.None));
        front.Who = AnAide.Lena with { Who = AnAide.Lena.Who with { Role = Role.Supervisor } };
        var page = Page();
        await page.Find("button[aria-label='Release the result of SP-R1']").ClickAsync(new());
        Assert.Equal("It goes out as 42 mg/L.", page.Find("#release-as").TextContent.Trim());
    }

    /// <summary>A comma is a decimal mark too; what was understood stands beside the field.</summary>
    [Fact]
    public async Task Result_WithAComma_IsUnderstoodAndSaid()
    {
        await Cleared();
        var page = Page();
        await page.Find("button[aria-label='Enter the result of SP-R1']").ClickAsync(new());
        await page.Find("#result-shown").ChangeAsync(new() { Value = "SP-R1" });
        await page.Find("#result-value").ChangeAsync(new() { Value = "0,50" });
        Assert.Equal("Understood: 0.50 mg/L", page.Find("#result-value-understood").TextContent);
        await page.Find("#result-dialog form").SubmitAsync();
        Assert.Contains("SP-R1: 0.50 mg/L", page.Find(".read-back").TextContent, StringComparison.Ordinal);
        await page.Find("#result-save").ClickAsync(new());
        page.WaitForAssertion(() =>
            Assert.Equal(new ReadResult.Measured("0.50", "mg/L"), Rig.State.Find(new RequestId("R1"))!.Result));
    }
}
