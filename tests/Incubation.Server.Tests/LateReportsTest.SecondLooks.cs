using System.Net.Http.Json;
using System.Text.Json;
using Incubation.Bench;
using Incubation.Clinic.People;
using Incubation.Model;
using Incubation.Records.Batches;
using Incubation.Service.Decisions;
using Incubation.Service.Record;
using Microsoft.Extensions.DependencyInjection;

namespace Incubation.Server.Tests;

/// <content>
/// Where the clinic asks for a second look, an amendment waits for another supervisor, however it is entered.
/// </content>
public sealed partial class LateReportsTest
{
    private SecondLookService Second => server.Services.GetRequiredService<SecondLookService>();

    private DecisionList Decisions => server.Services.GetRequiredService<DecisionList>();

    private Actor.Person Mara => Of("mara");

    [Fact]
    public void Rule_IsOffAtFirst_AndAnAdministrators()
    {
        Assert.False(Second.IsOn);
        Assert.Equal(["Ines", "Mara"], Second.Supervisors.Select(one => one.Name));
        Assert.False(Second.Set(Ines, true).IsDone);
        Assert.True(Second.Set(Mara, true).IsDone);
        Assert.True(Second.IsOn);
        Assert.True(Second.Set(Mara, false).IsDone);
        Assert.False(Second.IsOn);
    }

    [Fact]
    public async Task Amended_AClosedResult_WaitsForAnotherSupervisor()
    {
        await CloseABatch();
        Assert.True(Second.Set(Mara, true).IsDone);
        var shown = Desk.Find("bench-1", 1, "R06")!;
        var critical = new WantedAmendment($">{Desk.RuleOf(shown).Measuring.To!.Value * 10}", "Read again.", null);
        // Nobody is told of a value that may be wrong.
        Assert.Equal(["told"], (await Desk.AmendAsync(Ines, shown, critical with { Told = "Dr. Invented" }))
            .Select(fault => fault.Member));
        Assert.Empty(await Desk.AmendAsync(Ines, shown, critical));

        var waits = Desk.Find("bench-1", 1, "R06")!;
        Assert.Equal((CartridgeStatus.ResultHeld, ResultHold.AmendmentWaits, "1.8"),
            (waits.Standing, waits.Hold, ((ReadResult.Measured)waits.Result!).Value));
        Assert.Empty(Amendments.Untold);
        // The correction that must be told comes before everything else, and is not its writer's to decide.
        var line = Decisions.For(Ines)[0];
        Assert.Equal((DecisionKind.AmendmentToDecide, true, false, true, false),
            (line.Kind, line.IsFirst, line.MayDecide(Ines), line.MayDecide(Mara), line.MayDecide(Of("lena"))));
        Assert.Equal("record/bench-1/1/second?request=R06", line.Address);
        var record = await Page("/record/bench-1/1", "ines");
        Assert.Contains("not confirmed yet", record, StringComparison.Ordinal);
        Assert.Contains("waits for a supervisor", record, StringComparison.Ordinal);
        Assert.DoesNotContain("/amend?request=R06", record, StringComparison.Ordinal);
        Assert.DoesNotContain("/release?request=R06", record, StringComparison.Ordinal);
        Assert.Contains("a supervisor other than who entered it", await Page("/decisions", "mara"),
            StringComparison.Ordinal);
        Assert.Contains("You entered this amendment", await Page("/" + line.Address, "ines"),
            StringComparison.Ordinal);
        Assert.Contains("second-confirm", await Page("/" + line.Address, "mara"), StringComparison.Ordinal);
        Assert.NotEmpty(await Desk.AmendAsync(Mara, waits, new WantedAmendment("1.9", "Read again.", null)));

        Assert.NotEmpty(await Second.DecideAsync(Ines, waits, true, "Compared."));
        Assert.Equal(["why"], (await Second.DecideAsync(Mara, waits, true, " ")).Select(fault => fault.Member));
        Assert.Empty(await Second.DecideAsync(Mara, waits, true, "The memory of the reader says so."));
        var confirmed = Desk.Find("bench-1", 1, "R06")!;
        Assert.Equal(("ines", "mara"), (confirmed.Values!.Last.By.Value, confirmed.Values.Last.Second!.By.Value));
        Assert.Equal(TellingCause.Critical, Assert.Single(Amendments.Untold).Due);
        record = await Page("/record/bench-1/1", "ines");
        Assert.Matches("entered by Ines, confirmed by Mara at 2", record);
        Assert.Contains("The memory of the reader says so.", record, StringComparison.Ordinal);
        Assert.DoesNotContain(Decisions.For(Ines), one => one.Kind == DecisionKind.AmendmentToDecide);
        Assert.NotEmpty(await Second.DecideAsync(Mara, waits, false, "Once more."));
        Assert.Contains(",\"ines\",\"Read again.\",", await Csv(), StringComparison.Ordinal);
        Assert.Contains(",\"mara\",\"The memory of the reader says so.\",", await Csv(), StringComparison.Ordinal);
    }

    /// <summary>Entered on the bench by an aide, as an amendment or by typing the result once more.</summary>
    [Theory]
    [InlineData("amend-result")]
    [InlineData("result")]
    public async Task Amended_OnTheBench_WaitsAndOutlivesTheClose(string kind)
    {
        Assert.True(Second.Set(Mara, true).IsDone);
        await RunOne();
        await Must(Flat(kind) with { Request = "R06", Value = "1.9", Shown = "SP-005", Words = "Typing" });
        Assert.Equal(ResultHold.AmendmentWaits, State.Find(new RequestId("R06"))!.Use.Hold);
        Assert.Equal("refused", await Kind(Flat("confirm-amendment") with { Request = "R06", Words = "Compared" }));
        var open = Assert.Single(Decisions.For(Mara), one => one.Kind == DecisionKind.AmendmentToDecide);
        Assert.Equal(("batch/bench-1#result-R06", false), (open.Address, open.IsFirst));

        await CloseTheRest();
        var line = Assert.Single(Decisions.For(Mara), one => one.Kind == DecisionKind.AmendmentToDecide);
        Assert.Equal("record/bench-1/1/second?request=R06", line.Address);
        var waits = Second.Find("bench-1", 1, "R06")!;
        Assert.Empty(await Second.DecideAsync(Ines, waits, false, "It was 1.8."));
        var declined = Desk.Find("bench-1", 1, "R06")!;
        // It was read early: that holds it as before.
        Assert.Equal((ResultHold.Deviation, "1.8", null),
            (declined.Hold, ((ReadResult.Measured)declined.Result!).Value, declined.Proposal));
        Assert.Contains("declined by Ines", await Page("/record/bench-1/1", "ines"), StringComparison.Ordinal);
        Assert.DoesNotContain(Decisions.For(Mara), one => one.Kind == DecisionKind.AmendmentToDecide);
    }

    [Fact]
    public async Task Confirmed_OnTheBench_ByAnotherSupervisor_IsTheResult()
    {
        Assert.True(Second.Set(Mara, true).IsDone);
        await RunOne();
        await Must(Flat("amend-result") with { Request = "R06", Value = "1.9", Words = "Typing" });
        using var ines = server.ClientAs("ines");
        using var answer = await ines.PostAsJsonAsync("/api/v1/benches/bench-1/commands",
            Flat("confirm-amendment") with { Request = "R06", Words = "Compared", Person = null }, Cancel);
        var said = await answer.Content.ReadFromJsonAsync<JsonElement>(Cancel);
        Assert.Equal("recorded", said.GetProperty("kind").GetString());
        var cartridge = State.Find(new RequestId("R06"))!;
        // It was read early: that holds it as before.
        Assert.Equal((ResultHold.Deviation, "1.9"),
            (cartridge.Use.Hold, ((ReadResult.Measured)cartridge.Result!).Value));
        Assert.Equal(("lena", "ines"),
            (cartridge.Status!.Earlier[0].By.Value, cartridge.Status.Earlier[0].Second!.By.Value));
    }

    /// <summary>
    /// Without a second look too: an aide amends nothing that a supervisor has released or is to release, however it is
    /// entered.
    /// </summary>
    [Theory]
    [InlineData("amend-result", false)]
    [InlineData("amend-result", true)]
    [InlineData("result", true)]
    public async Task Amended_ByAnAide_WhereASupervisorDecides_Waits(string kind, bool isReleased)
    {
        await RunOne();
        using var ines = server.ClientAs("ines");
        if (isReleased)
            await Say("release-result");
        Assert.Equal(isReleased, State.Find(new RequestId("R06"))!.Use.IsReported);

        await Must(Flat(kind) with { Request = "R06", Value = "450", Shown = "SP-005", Words = "Typing" });
        Assert.Equal(ResultHold.AmendmentWaits, State.Find(new RequestId("R06"))!.Use.Hold);
        Assert.Single(Decisions.For(Ines), one => one.Kind == DecisionKind.AmendmentToDecide && one.MayDecide(Ines));
        Assert.Equal("refused", await Kind(Flat("confirm-amendment") with { Request = "R06", Words = "Compared" }));
        // Entered once more while it waits, it is refused: the first is decided.
        Assert.Equal(isReleased ? "refused" : "recorded",
            await Kind(Flat("result") with { Request = "R06", Value = "451", Shown = "SP-005" }));
        await Say("decline-amendment");
        var declined = State.Find(new RequestId("R06"))!;
        Assert.Equal((isReleased ? "1.8" : "451", isReleased),
            (((ReadResult.Measured)declined.Result!).Value, declined.Use.IsReported));

        async Task Say(string what)
        {
            using var answer = await ines.PostAsJsonAsync("/api/v1/benches/bench-1/commands",
                Flat(what) with { Request = "R06", Words = "Compared", Person = null }, Cancel);
            var said = await answer.Content.ReadFromJsonAsync<JsonElement>(Cancel);
            Assert.Equal("recorded", said.GetProperty("kind").GetString());
        }
    }

    private async Task<string> Csv()
    {
        using var client = server.ClientAs("ines");
        return await client.GetStringAsync(new Uri("/api/v1/record/cartridges.csv", UriKind.Relative), Cancel);
    }
}
