using Incubation.Service.Connections;
using Incubation.Service.Tests.Support;

namespace Incubation.Service.Tests.Connections;

/// <summary>An answer without an end is hung up on, after a bounded time and so many bytes.</summary>
public sealed class EndlessAnswerTest
{
    /// <summary>
    /// What this machine keeps for a reader that has stopped reading is megabytes, and not ours: far more is without
    /// an end.
    /// </summary>
    private const long Bounded = 64 * 1024 * 1024;

    /// <summary>No time passes here: it is hung up on for its length.</summary>
    [Fact]
    public async Task Send_AHeadThatGrows_IsNoAnswer_AndTheMessageWaits()
    {
        await using var house = await OutboxHouse.OpenAsync();
        await using var receiver = new EndlessReceiver(Endless.Head, house.House.Time);
        await StartAsync(house, receiver);
        await OutboxHouse.Until(() => house.Figures.Failures > 0 && receiver.HungUp > 0);
        Assert.Equal(1, house.Figures.Waiting);
        Assert.InRange(receiver.Most, 16 * 1024, Bounded);
    }

    [Fact]
    public async Task Send_AHeadThatDrips_IsGivenUpAfterAWhile_AndTheMessageWaits()
    {
        await using var house = await OutboxHouse.OpenAsync();
        await using var receiver = new EndlessReceiver(Endless.HeadDrips, house.House.Time);
        await StartAsync(house, receiver);
        await house.UntilLater(() => house.Figures.Failures > 0 && receiver is { HungUp: > 0, Most: > 0 });
        Assert.Equal(1, house.Figures.Waiting);
        Assert.Contains($"{WebhookKind.Patience.TotalSeconds} s", house.Figures.Trouble, StringComparison.Ordinal);
    }

    /// <summary>The answer is its status; what follows is not waited for.</summary>
    [Theory]
    [InlineData(Endless.Body)]
    [InlineData(Endless.BodyStalls)]
    public async Task Send_ABodyWithoutEnd_TheStatusCounts_AndTheRestIsNotRead(Endless how)
    {
        await using var house = await OutboxHouse.OpenAsync();
        await using var receiver = new EndlessReceiver(how, house.House.Time);
        await StartAsync(house, receiver);
        await OutboxHouse.Until(() => house.Figures is { Waiting: 0, FailingSince: null } && receiver.HungUp > 0);
        Assert.Equal(1, receiver.HungUp);
        Assert.InRange(receiver.Most, 1, Bounded);
    }

    private static async Task StartAsync(OutboxHouse house, EndlessReceiver receiver)
    {
        var form = ConnectionForm.Of(house.Connection.Destination);
        form.Address = receiver.Address.ToString();
        Assert.Empty(house.Desk.Set(ControlsHouse.Ines, OutboxHouse.To, form).Faults);
        await house.StartAsync();
        await house.ResultAsync("T-1");
    }
}
