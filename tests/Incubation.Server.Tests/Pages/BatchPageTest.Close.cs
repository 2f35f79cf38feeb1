using Bunit;
using Incubation.Bench;
using Incubation.Clinic;
using Incubation.Clinic.Instruments;
using Incubation.Model;
using Incubation.Records.Clinic;
using Incubation.Service.Clinic;
using Incubation.Service.Tests.Support;
using Microsoft.Extensions.DependencyInjection;

namespace Incubation.Server.Tests.Pages;

/// <summary>The close of a batch: what has no value is settled first.</summary>
public sealed partial class BatchPageTest
{
    [Fact]
    public async Task Close_WithRequestsWithoutAValue_IsPossibleWhenEachIsSettled()
    {
        await Rig.Begin(BenchRig.Request("R1"), BenchRig.Request("R2"), BenchRig.Request("R3", repeatLeft: false));
        await Discard("R1");
        await Discard("R3");
        var page = Page();
        Assert.DoesNotContain("All results are in", page.Markup, StringComparison.Ordinal);
        await page.Find("#close-batch").ClickAsync(new());
        Assert.Equal(3, page.FindAll("#confirm-close .fate-list li").Count);
        Assert.True(page.Find("#confirm-close .button-primary").HasAttribute("disabled"));
        // No specimen is left of the third.
        Assert.Empty(page.FindAll("button[aria-label='Repeat in the next batch: SP-R3']"));
        Assert.Single(page.FindAll("button[aria-label='Repeat in the next batch: SP-R1']"));

        await page.Find("#carry-all").ClickAsync(new());
        page.WaitForAssertion(() => Assert.IsType<RequestFate.CarriedOver>(Of("R2").Fate));
        page.WaitForAssertion(() => Assert.IsType<RequestFate.CarriedOver>(Of("R1").Fate));

        page.WaitForAssertion(() => Assert.Empty(page.FindAll("#carry-all")));
        await page.Find("button[aria-label='End without a value…: SP-R3']").ClickAsync(new());
        Assert.True(page.Find("#give-up-do").HasAttribute("disabled"));
        await page.Find("#give-up-reason").ChangeAsync(new() { Value = "other" });
        await page.Find("#give-up-confirmed").ChangeAsync(new() { Value = true });
        await page.Find("#confirm-close form").SubmitAsync();
        Assert.Equal("Say why in a few words.", page.Find("#give-up-words-fault").TextContent);
        await page.Find("#give-up-words").ChangeAsync(new() { Value = "clotted" });
        await page.Find("#confirm-close form").SubmitAsync();
        page.WaitForAssertion(() => Assert.Equal("clotted", (Of("R3").Fate as RequestFate.GivenUp)?.Why));

        page.WaitForAssertion(() => Assert.Contains(
            "each request has its value, is carried over, or has ended without one",
            page.Find(".batch-actions").TextContent, StringComparison.OrdinalIgnoreCase));
        page.WaitForAssertion(() =>
            Assert.False(page.Find("#confirm-close .button-primary").HasAttribute("disabled")));
        await page.Find("#confirm-close .button-primary").ClickAsync(new());
        page.WaitForAssertion(() => Assert.Equal(2, Rig.State.Batch));
        page.WaitForAssertion(() =>
            Assert.Contains("repeat of R1 · from batch 1", page.Markup, StringComparison.Ordinal));
        Assert.Equal([new RequestId("R1-2"), new RequestId("R2")],
            Rig.State.Cartridges.Select(cartridge => cartridge.Id));
    }

    /// <summary>What a reader sent and nobody has decided is not left behind without a word.</summary>
    [Fact]
    public async Task Close_WhileResultsByWireWait_SaysHowManyAndStaysPossible()
    {
        Wire(1, MatchQuestion.OtherSpecimen);
        Rig.Time.Advance(TimeSpan.FromSeconds(1));
        await Rig.Begin(BenchRig.Request("R1"));
        await Discard("R1");
        await Rig.Must(new BenchCommand.CarryOver(new RequestId("R1")));
        var page = Page();
        await page.Find("#close-batch").ClickAsync(new());
        // What came before this batch was started is not one of its cartridges'.
        Assert.Empty(page.FindAll(".close-wired"));

        Wire(2, MatchQuestion.NotUnderstood, MatchQuestion.NotFinal);
        await page.InvokeAsync(() => Rig.Runner.LookAgain());
        page.WaitForAssertion(() => Assert.StartsWith("2 results by wire need a decision.",
            page.Find(".close-wired").TextContent.Trim(), StringComparison.Ordinal));

        Assert.Equal("results-by-wire", page.Find(".close-wired a").GetAttribute("href"));
        Assert.False(page.Find("#confirm-close .button-primary").HasAttribute("disabled"));
    }

    private void Wire(long message, params MatchQuestion[] asked)
    {
        var log = Services.GetRequiredService<ClinicHost>().Log;
        var reader = Instrument.IdOf(1);
        if (message == 1)
            Assert.IsType<ClinicOutcome.Recorded>(log.Record(new ClinicEvent.InstrumentSet(reader, new InstrumentLink(
                "Reader", BenchRig.Id, new ReaderNumber(1), new WireTransport.Serial("/dev/ttyUSB0", 9600),
                WireEncoding.Utf8, [new ReaderTest("DA", new AssayCode("DA"), "mg/L")], OnlyListens: false)),
                Rig.Provenance()));
        Assert.IsType<ClinicOutcome.Recorded>(log.Record(new ClinicEvent.WireMessageTaken(reader, message,
            new string('a', 64), new string('b', 64), 10, IsWhole: true), Rig.Provenance()));
        Assert.IsType<ClinicOutcome.Recorded>(log.Record(new ClinicEvent.WireMessageJudged(message,
            [.. asked.Select((why, at) => new WireFate(at + 1, WireVerdict.Asked, why))]), Rig.Provenance()));
    }

    [Fact]
    public async Task Close_WhatWasSettledTakenBack_IsOpenAgain()
    {
        await Rig.Begin(BenchRig.Request("R1"));
        await Discard("R1");
        await Rig.Must(new BenchCommand.CarryOver(new RequestId("R1")));
        var page = Page();
        Assert.Contains("repeat in the next batch", page.Markup, StringComparison.Ordinal);
        await page.Find("#close-batch").ClickAsync(new());
        await page.Find("button[aria-label='Undo what was said of SP-R1']").ClickAsync(new());
        page.WaitForAssertion(() => Assert.Null(Of("R1").Fate));
        page.WaitForAssertion(() =>
            Assert.True(page.Find("#confirm-close .button-primary").HasAttribute("disabled")));
        page.WaitForAssertion(() => Assert.Contains("SP-R1 is open again.", page.Find(".close-said").TextContent,
            StringComparison.Ordinal));
    }

    [Fact]
    public async Task Withdraw_WithAReason_IsGivenUp()
    {
        await Rig.Must(new BenchCommand.AddRequests([BenchRig.Request("R1")]));
        var page = Page();
        page.WaitForAssertion(() => Assert.NotEmpty(page.FindAll("button[aria-label='Withdraw R1']")));
        await page.Find("button[aria-label='Withdraw R1']").ClickAsync(new());
        await page.Find("#withdraw-why").ChangeAsync(new() { Value = "asked for twice" });
        await page.Find("#confirm-withdraw button.button-primary").ClickAsync(new());
        page.WaitForAssertion(() => Assert.Equal("asked for twice", (Of("R1").Fate as RequestFate.GivenUp)?.Why));
        page.WaitForAssertion(() =>
            Assert.Contains("ended without a value: asked for twice", page.Markup, StringComparison.Ordinal));
    }

    private Cartridge Of(string request) => Rig.State.Find(new RequestId(request))!;

    private async Task Discard(string request)
    {
        await Rig.Must(new BenchCommand.Mixed(new RequestId(request)));
        await Rig.Must(new BenchCommand.Discarded(new RequestId(request), DiscardReason.Dropped, null));
    }
}
