using System.Text;
using System.Text.Json;
using Incubation.Bench;
using Incubation.Clinic.Connections;
using Incubation.Exchange.Webhooks;
using Incubation.Model;
using Incubation.Service.Connections;
using Incubation.Service.Tests.Support;

namespace Incubation.Service.Tests.Connections;

/// <summary>What is sent to a webhook that takes it, fails, hangs, points elsewhere or wants no more.</summary>
public sealed class OutboxSenderTest
{
    [Fact]
    public async Task Send_AResult_IsSigned_AndHoldsIdentifiersAlone()
    {
        await using var house = await OutboxHouse.OpenAsync();
        await house.StartAsync();
        var request = await house.ResultAsync("T-1");
        await OutboxHouse.Until(() => !house.Receiver.All.IsEmpty);
        var came = Assert.Single(house.Receiver.All);
        Assert.Equal(WebhookSecret.Read(house.Secret)!.Sign(came.Id, came.Timestamp,
            Encoding.UTF8.GetBytes(came.Body)), came.Signature);
        Assert.Contains("\"type\":\"result.ready\"", came.Body, StringComparison.Ordinal);
        Assert.Contains($"\"data\":{{\"request\":\"{request}\",\"revision\":1,\"isLatest\":true,\"specimen\":\"T-1\"}}",
            came.Body, StringComparison.Ordinal);
        Assert.DoesNotContain("12.4", came.Body, StringComparison.Ordinal);
    }

    [Fact]
    public async Task Send_AHeldResult_NeverLeaves_UntilItIsReleased_AndAnAmendedOneGoesLater()
    {
        await using var house = await OutboxHouse.OpenAsync(form => form.Fields.Clear());
        await house.StartAsync();
        await house.House.AddPatient("T-1");
        var cartridge = house.House.State.Cartridges[^1];
        await house.House.RunThrough(cartridge);
        await house.House.Must(new BenchCommand.ResultEntered(cartridge.Id, new ShownResult.Value("12.4"),
            new ShownIdentity("another")));
        var other = await house.ResultAsync("T-2");
        await OutboxHouse.Until(() => house.Receiver.All.Count == 1);
        Assert.Contains($"\"{other}\"", house.Receiver.All.Single().Body, StringComparison.Ordinal);
        await house.House.Must(new BenchCommand.ReleaseResult(cartridge.Id, "It was that one."));
        await house.House.Must(new BenchCommand.AmendResult(cartridge.Id, new ShownResult.Value("12.5"), "Typed."));
        await OutboxHouse.Until(() => house.Receiver.All.Count == 3);
        Assert.Equal(["result.ready", "result.amended"], house.Receiver.All.Skip(1).Select(TypeOf));
        Assert.DoesNotContain("specimen", house.Receiver.All.Last().Body, StringComparison.Ordinal);
    }

    [Fact]
    public async Task Send_ResultsOfAClosedBatch_EachHasItsOwnSpecimenAndAssay()
    {
        await using var house = await OutboxHouse.OpenAsync(form => form.Fields.Add(NoticeField.Assay));
        await house.ResultAsync("T-1");
        await house.ResultAsync("T-2");
        await house.House.Must(new BenchCommand.CloseBatch());
        Assert.Empty(house.House.State.Cartridges);
        await house.StartAsync();
        await OutboxHouse.Until(() => house.Receiver.All.Count == 2);
        Assert.Equal([("T-1", "DA"), ("T-2", "DA")], house.Receiver.All.Select(DataOf).Select(one =>
            (one.GetProperty("specimen").GetString()!, one.GetProperty("assay").GetString()!)).Order());
    }

    [Fact]
    public async Task Send_DownForThreeDays_ThenAllOfItGoes_EachRequestInItsOrder()
    {
        await using var house = await OutboxHouse.OpenAsync();
        house.Receiver.Status = 503;
        await house.StartAsync();
        RequestId[] requests = [await house.ResultAsync("T-1"), await house.ResultAsync("T-2")];
        foreach (var value in new[] { "12.5", "12.6" })
            foreach (var request in requests)
                await house.House.Must(new BenchCommand.AmendResult(request, new ShownResult.Value(value), "Typed."));
        await OutboxHouse.Until(() => house.Figures is { Failures: >= 1, Waiting: 6 });
        for (var day = 1; day <= 3; day++)
        {
            house.House.Time.Advance(TimeSpan.FromDays(1));
            await house.UntilLater(() => house.Figures.Failures > day);
        }

        Assert.Equal(6, house.Figures.Waiting);
        house.Receiver.Status = 204;
        await house.UntilLater(() => house.Figures is { Waiting: 0, FailingSince: null });
        // A message that came may come again, under its id; never does one come before what was before it.
        var came = house.Receiver.All.DistinctBy(one => one.Id).ToList();
        Assert.Equal(6, came.Count);
        foreach (var request in requests)
            Assert.Equal([1, 2, 3], came.Select(DataOf).Where(one => one.GetProperty("request").GetString()
                == request.Value).Select(one => one.GetProperty("revision").GetInt32()));
    }

    [Fact]
    public async Task Send_NoAnswerEver_IsGivenUpAfterAWhile_AndTriedAgainUnderTheSameId()
    {
        await using var house = await OutboxHouse.OpenAsync();
        house.Receiver.Status = WebhookReceiver.Never;
        await house.StartAsync();
        await house.ResultAsync("T-1");
        await OutboxHouse.Until(() => house.Receiver.All.Count == 1);
        await house.UntilLater(() => house.Figures.Failures > 0);
        house.Receiver.Status = 200;
        await house.UntilLater(() => house.Figures.Waiting == 0);
        Assert.Single(house.Receiver.All.Select(one => one.Id).Distinct());
    }

    [Fact]
    public async Task Send_ARedirect_IsNotFollowed_AndTheMessageWaits()
    {
        await using var elsewhere = new WebhookReceiver();
        await using var house = await OutboxHouse.OpenAsync();
        house.Receiver.Status = 307;
        house.Receiver.Header = $"Location: {elsewhere.Address}\r\n";
        await house.StartAsync();
        await house.ResultAsync("T-1");
        await OutboxHouse.Until(() => house.Figures.Failures == 1);
        Assert.Equal((1, 0), (house.Figures.Waiting, elsewhere.Connections));
        Assert.Contains("points elsewhere", house.Figures.Trouble, StringComparison.Ordinal);
    }

    [Fact]
    public async Task Send_Gone_SwitchesTheDestinationOff_AndKeepsTheMessage_UntilAPersonSwitchesItOn()
    {
        await using var house = await OutboxHouse.OpenAsync();
        house.Receiver.Status = 410;
        await house.StartAsync();
        await house.ResultAsync("T-1");
        await OutboxHouse.Until(() => house.Connection.WhyOff is not null);
        Assert.Contains("410", house.Connection.WhyOff, StringComparison.Ordinal);
        house.House.Time.Advance(TimeSpan.FromDays(1));
        Assert.Single(house.Receiver.All);
        house.Receiver.Status = 204;
        Assert.True(house.Desk.Switch(ControlsHouse.Ines, OutboxHouse.To, on: true, "They are back.").IsDone);
        await OutboxHouse.Until(() => house.Receiver.All.Count == 2 && house.Figures.Waiting == 0);
    }

    [Fact]
    public async Task Send_RefusedForGood_WaitsForAPerson_WhoGivesItUpWithAReason_AndWhatIsBehindGoes()
    {
        await using var house = await OutboxHouse.OpenAsync();
        house.Receiver.Status = 422;
        await house.StartAsync();
        var request = await house.ResultAsync("T-1");
        await OutboxHouse.Until(() => house.Figures.ParkedCount == 1);
        house.Receiver.Status = 204;
        await house.House.Must(new BenchCommand.AmendResult(request, new ShownResult.Value("12.5"), "Typed."));
        await house.ResultAsync("T-2");
        await OutboxHouse.Until(() => house.Receiver.All.Count == 2);
        var parked = Assert.Single(house.Figures.Parked);
        Assert.NotNull((await house.Desk.GiveUpAsync(ControlsHouse.Lena, OutboxHouse.To, parked.Id, "No.")).Fault);
        Assert.NotNull((await house.Desk.GiveUpAsync(ControlsHouse.Ines, OutboxHouse.To, parked.Id, " ")).Fault);
        Assert.True((await house.Desk.GiveUpAsync(ControlsHouse.Ines, OutboxHouse.To, parked.Id, "On paper.")).IsDone);
        await OutboxHouse.Until(() => house.Receiver.All.Count == 3 && house.Figures is { Waiting: 0, ParkedCount: 0 });
        Assert.Equal("result.amended", TypeOf(house.Receiver.All.Last()));
    }

    [Fact]
    public async Task Send_RefusedForGood_IsSentAgainByAPress()
    {
        await using var house = await OutboxHouse.OpenAsync();
        house.Receiver.Status = 422;
        await house.StartAsync();
        await house.ResultAsync("T-1");
        await OutboxHouse.Until(() => house.Figures.ParkedCount == 1);
        house.Receiver.Status = 204;
        Assert.True((await house.Desk.ResendAsync(ControlsHouse.Ines, OutboxHouse.To, house.Figures.Parked[0].Id))
            .IsDone);
        await OutboxHouse.Until(() => house.Figures is { Waiting: 0, ParkedCount: 0 });
        Assert.Single(house.Receiver.All.Select(one => one.Id).Distinct());
    }

    [Fact]
    public async Task Send_KilledBetweenSendingAndMarking_NothingIsLost_AndTheRepeatBearsTheSameId()
    {
        await using var house = await OutboxHouse.OpenAsync();
        using var kill = new CancellationTokenSource();
        await house.ResultAsync("T-1");
        house.Unmarked(kill.Token);
        await OutboxHouse.Until(() => !house.Receiver.All.IsEmpty);
        await kill.CancelAsync();
        await house.StartAsync();
        await OutboxHouse.Until(() => house.Receiver.All.Count == 2 && house.Figures.Waiting == 0);
        Assert.Single(house.Receiver.All.Select(one => one.Id).Distinct());
        // And what was marked is not sent once more.
        await house.StopAsync();
        await house.StartAsync();
        await house.ResultAsync("T-2");
        await OutboxHouse.Until(() => house.Receiver.All.Count == 3 && house.Figures.Waiting == 0);
        Assert.Equal(2, house.Receiver.All.Select(one => one.Id).Distinct().Count());
    }

    [Fact]
    public async Task Send_ToThisMachine_WhereNobodyNamedIt_ConnectsToNothing()
    {
        await using var house = await OutboxHouse.OpenAsync(form =>
        {
            form.Named = "";
            form.Address = form.Address!.Replace("http:", "https:", StringComparison.Ordinal)
                .Replace("127.0.0.1", "localhost", StringComparison.Ordinal);
        });
        await house.StartAsync();
        await house.ResultAsync("T-1");
        await OutboxHouse.Until(() => house.Figures.Failures == 1);
        Assert.Equal(0, house.Receiver.Connections);
        Assert.Contains("An administrator must name", house.Figures.Trouble, StringComparison.Ordinal);
    }

    [Fact]
    public async Task Set_NamedAddresses_AreAnAdministratorsAlone()
    {
        await using var house = await OutboxHouse.OpenAsync();
        var form = ConnectionForm.Of(house.Connection.Destination);
        form.Named = "127.0.0.1, 169.254.169.254";
        Assert.Equal(nameof(ConnectionForm.Named), Assert.Single(
            house.Desk.Set(ControlsHouse.Ines, OutboxHouse.To, form).Faults).Member);
        form.Named = "127.0.0.1";
        form.Name = "Records 2";
        Assert.Empty(house.Desk.Set(ControlsHouse.Ines, OutboxHouse.To, form).Faults);
    }

    [Fact]
    public async Task ReplaceSecret_ForADay_MessagesBearBothSignatures()
    {
        await using var house = await OutboxHouse.OpenAsync();
        await house.StartAsync();
        var next = house.Desk.ReplaceSecret(ControlsHouse.Ines, OutboxHouse.To).Shown!;
        await house.ResultAsync("T-1");
        // Answered too: time that goes on meanwhile would end its patience, and it would be sent once more.
        await OutboxHouse.Until(() => house.Receiver.All.Count == 1 && house.Figures.Waiting == 0);
        house.House.Time.Advance(TimeSpan.FromDays(1));
        await house.ResultAsync("T-2");
        await OutboxHouse.Until(() => house.Receiver.All.Count == 2);
        var came = house.Receiver.All.ToList();
        string Signed(string secret, ReceivedMessage one) => WebhookSecret.Read(secret)!.Sign(one.Id, one.Timestamp,
            Encoding.UTF8.GetBytes(one.Body));
        Assert.Equal([Signed(next, came[0]), Signed(house.Secret, came[0])], came[0].Signature.Split(' '));
        Assert.Equal(Signed(next, came[1]), came[1].Signature);
        Assert.Empty(house.House.File.Log.VerifyAll().Faults);
    }

    private static JsonElement DataOf(ReceivedMessage message) =>
        JsonDocument.Parse(message.Body).RootElement.GetProperty("data");

    private static string TypeOf(ReceivedMessage message) => message.Body.Split('"')[3];
}
