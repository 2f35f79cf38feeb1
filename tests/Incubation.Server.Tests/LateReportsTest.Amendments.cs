using System.Net.Http.Json;
using System.Text.Json;
using Incubation.Bench;
using Incubation.Clinic.People;
using Incubation.Model;
using Incubation.Service.Clinic;
using Incubation.Service.Record;
using Microsoft.Extensions.DependencyInjection;

namespace Incubation.Server.Tests;

/// <content>
/// Results of closed batches: what cannot be is held, and who must be told is listed until somebody was (ISO
/// 15189:2022, 7.4.1.8; 42 CFR 493.1291(k); from memory).
/// </content>
public sealed partial class LateReportsTest
{
    private AmendmentService Desk => server.Services.GetRequiredService<AmendmentService>();

    private Clinic.Record.AmendmentsState Amendments =>
        server.Services.GetRequiredService<ClinicHost>().Log.Amendments;

    /// <summary>
    /// Entered against another identity, released, closed, amended to what cannot be and back: it was out again without
    /// anybody's second look, although of the value between nothing had been released.
    /// </summary>
    [Fact]
    public async Task Amended_ToWhatCannotBeAndBack_WaitsForAReleaseAgain()
    {
        await RunOne("SP-001");
        // A program names what it means: another value than is there is not released.
        using (var ines = server.ClientAs("ines"))
        using (var answer = await ines.PostAsJsonAsync("/api/v1/benches/bench-1/commands",
            Flat("release-result") with { Request = "R06", Value = "1.7", Words = "I saw it." }, Cancel))
            Assert.Equal("refused",
                (await answer.Content.ReadFromJsonAsync<JsonElement>(Cancel)).GetProperty("kind").GetString());
        using (var ines = server.ClientAs("ines"))
        using (var answer = await ines.PostAsJsonAsync("/api/v1/benches/bench-1/commands",
            Flat("release-result") with { Request = "R06", Value = "1.8", Words = "The label was read again." },
            Cancel))
            Assert.Equal("recorded",
                (await answer.Content.ReadFromJsonAsync<JsonElement>(Cancel)).GetProperty("kind").GetString());
        await CloseTheRest();
        var shown = Desk.Find("bench-1", 1, "R06")!;
        Assert.Equal((ResultHold.None, true), (shown.Hold, shown.Use.IsReported));
        var beyond = Desk.RuleOf(shown).Measuring.To!.Value * 10;
        Assert.Empty(await Desk.AmendAsync(Ines, shown, new WantedAmendment($"<{beyond}", "Misread.", null)));

        Assert.Empty(await Desk.AmendAsync(Ines, Desk.Find("bench-1", 1, "R06")!,
            new WantedAmendment("1.9", "Read again.", null)));

        var held = Desk.Find("bench-1", 1, "R06")!;
        Assert.Equal((ResultHold.OtherIdentity, false, null), (held.Hold, held.Use.IsReported, held.Released));
        var book = server.Services.GetRequiredService<Records.Batches.CartridgeProjection>();
        Assert.Single(book.HeldAfterClose(Amendments.Reopened), one => one.Request.Value == "R06");
        var releases = server.Services.GetRequiredService<ReleaseService>();
        Assert.Empty(await releases.ReleaseAsync(Ines, releases.Find("bench-1", 1, "R06")!, "The request form."));
        Assert.Equal(("1.9", true), (((ReadResult.Measured)Desk.Find("bench-1", 1, "R06")!.Result!).Value,
            Desk.Find("bench-1", 1, "R06")!.Use.IsReported));
        Assert.Empty(book.HeldAfterClose(Amendments.Reopened));
    }

    /// <summary>
    /// A page that was opened before the close: the result is there, in the record. What never was is not said to be.
    /// </summary>
    [Theory]
    [InlineData("release-result")]
    [InlineData("amend-result")]
    [InlineData("critical-told")]
    public async Task OnTheBench_OfAClosedBatch_SaysThatItIsClosedAndWhereToGo(string kind)
    {
        await CloseABatch();
        using var ines = server.ClientAs("ines");
        async Task<(string?, string?)> Say(string request)
        {
            using var answer = await ines.PostAsJsonAsync("/api/v1/benches/bench-1/commands", Flat(kind) with
            {
                Request = request,
                Value = kind == "amend-result" ? "1.9" : null,
                Words = "Dr. Invented",
            }, Cancel);
            var said = await answer.Content.ReadFromJsonAsync<JsonElement>(Cancel);
            return (said.GetProperty("kind").GetString(), said.GetProperty("sentence").GetString());
        }

        Assert.Equal(("refused", "The batch of R06 is closed. Open batch 1 in the record: its result is released, "
            + "amended and told there."), await Say("R06"));
        var (answered, sentence) = await Say("R999");
        Assert.Equal("refused", answered);
        Assert.StartsWith("There is no request R999 on this bench.", sentence, StringComparison.Ordinal);
    }

    /// <summary>
    /// One supervisor had the page of a held result open while another amended it: what the first one released, or had
    /// told, was the value that stood on no page of theirs.
    /// </summary>
    [Fact]
    public async Task Decided_OfAValueThatAnotherHasAmendedMeanwhile_IsRefused()
    {
        await RunOne("SP-001");
        await CloseTheRest();
        var releases = server.Services.GetRequiredService<ReleaseService>();
        var shown = releases.Find("bench-1", 1, "R06")!;
        var critical = $">{Desk.RuleOf(shown).Measuring.To!.Value}";
        Assert.Empty(await Desk.AmendAsync(Mara, Desk.Find("bench-1", 1, "R06")!,
            new WantedAmendment(critical, "Misread.", null)));
        Assert.Equal([""], (await releases.ReleaseAsync(Ines, shown, "I saw 1.8.")).Select(fault => fault.Member));
        Assert.NotNull(releases.Find("bench-1", 1, "R06"));

        var toTell = Desk.Find("bench-1", 1, "R06")!;
        Assert.NotNull(toTell.Telling);
        Assert.Empty(await Desk.AmendAsync(Mara, toTell, new WantedAmendment("1.9", "Read again.", null)));
        Assert.NotEmpty(Desk.Tell(Ines, toTell, "Dr. Invented", true, null));
        Assert.NotEmpty(Desk.Waive(Ines, toTell, "It is known."));
        Assert.NotEmpty(Amendments.Untold);

        Assert.Empty(Desk.Tell(Ines, Desk.Find("bench-1", 1, "R06")!, "Dr. Invented", true, null));
        Assert.Empty(await releases.ReleaseAsync(Ines, releases.Find("bench-1", 1, "R06")!, "I saw 1.9."));
        Assert.Empty(Amendments.Untold);
        // Whoever comes back to a page of what is decided is led to its record.
        using var ines = server.ClientAs("ines");
        using var answer = await ines.GetAsync("/record/bench-1/1/release?request=R06", Cancel);
        Assert.EndsWith("record/bench-1/1",
            (answer.Headers.Location ?? answer.RequestMessage!.RequestUri!).ToString(), StringComparison.Ordinal);
    }

    [Fact]
    public async Task Amended_AClosedResult_IsToldHeldAndShownWithBothTimes()
    {
        await CloseABatch();
        var shown = Desk.Find("bench-1", 1, "R06")!;
        Assert.Null(shown.Telling);
        var beyond = Desk.RuleOf(shown).Measuring.To!.Value * 10;

        // A value that cannot be is recorded and held, and read back with its question before.
        var wanted = new WantedAmendment($"<{beyond}", "The sign was missed.", null)
        { Reason = AmendmentReason.Misread };
        Assert.Equal(ValueQuestion.LessThanInside, Desk.Preview(shown, wanted).Preview!.Question);
        Assert.Empty(await Desk.AmendAsync(Ines, shown, wanted));
        var held = Desk.Find("bench-1", 1, "R06")!;
        Assert.Equal(ResultHold.ImpossibleValue, held.Hold);
        Assert.Single(Amendments.Questioned);
        var record = await Page("/record/bench-1/1", "ines");
        Assert.Contains("reader was read wrongly. The sign was missed.", record, StringComparison.Ordinal);
        Assert.Matches("1\\.8 [^<]* at 2", record);

        // A critical one must be told; whoever was told of it is told of the correction.
        Assert.Empty(await Desk.AmendAsync(Ines, held, new WantedAmendment($">{beyond}", "Read again.", null)));
        Assert.Empty(Amendments.Questioned);
        Assert.Equal(TellingCause.Critical, Assert.Single(Amendments.Untold).Due);
        var untold = Desk.Find("bench-1", 1, "R06")!;
        Assert.Contains("/tell?request=R06", await Page("/record/bench-1/1", "ines"), StringComparison.Ordinal);
        Assert.Contains("tell-whom", await Page("/record/bench-1/1/tell?request=R06", "lena"),
            StringComparison.Ordinal);
        Assert.Equal(["told"], Desk.Tell(Ines, untold, " ", true, null).Select(fault => fault.Member));
        Assert.NotEmpty(Desk.Waive(new Actor.Tablet(ATablet, null), untold, "because"));
        Assert.Empty(Desk.Tell(Ines, untold, "Dr. Invented", true, null));
        Assert.Empty(Amendments.Untold);

        var told = Desk.Find("bench-1", 1, "R06")!;
        Assert.Null(told.Telling);
        Assert.Equal(["other-why"], (await Desk.AmendAsync(Ines, told,
            new WantedAmendment("1.9", "Read again.", "Nurse"))).Select(fault => fault.Member));
        Assert.Empty(await Desk.AmendAsync(Ines, told, new WantedAmendment("1.9", "Read again.", null)));
        var corrected = Desk.Find("bench-1", 1, "R06")!;
        Assert.Equal((TellingCause.Correction, "Dr. Invented"),
            (corrected.Telling!.Cause, corrected.Telling.Known!.Whom));
        Assert.Contains("Dr. Invented was told of", await Page("/record/bench-1/1", "ines"),
            StringComparison.Ordinal);
        Assert.Empty(Desk.Waive(Ines, corrected, "The specimen was taken again."));
        Assert.Empty(Amendments.Untold);
        Assert.Contains("because The specimen was taken again.", await Page("/record/bench-1/1", "ines"),
            StringComparison.Ordinal);
    }
}
