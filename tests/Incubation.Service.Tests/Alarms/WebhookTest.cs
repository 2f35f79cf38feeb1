using System.Net;
using System.Text.Json;
using Incubation.Bench;
using Incubation.Model;
using Incubation.Service.Alarms;
using Incubation.Service.Tests.Support;
using Incubation.TestKit;
using NodaTime;

namespace Incubation.Service.Tests.Alarms;

/// <summary>
/// Alarms that nobody acknowledges go on to others: each once, tried again, and never with a patient in them.
/// </summary>
public sealed class WebhookTest
{
    private static readonly RequestId R1 = new("R1");
    private static readonly WebhookMessage Message = new("bench-1", "Bench 1", "window-closed", "high",
        "Read window closed", "slot 3", "2026-03-02T08:00:00Z", null);

    private static CancellationToken Cancel => TestContext.Current.CancellationToken;

    [Fact]
    public async Task Send_AddressRefusesTwice_ThirdTryArrives()
    {
        using var beside = new Beside();
        beside.Wire.Then(() => Beside.FakeWire.Status(HttpStatusCode.BadGateway),
            () => throw new HttpRequestException("no route"));
        await beside.Webhook.StartAsync(Cancel);

        beside.Webhook.Send(Message);
        await beside.Wire.TriedAsync();
        await Until(beside, () => beside.Wire.Sent.Count == 3);

        Assert.Null(beside.Webhook.Alarm);
        Assert.All(beside.Wire.Sent, sent => Assert.Equal("window-closed", sent.GetProperty("condition").GetString()));
        await beside.Webhook.StopAsync(Cancel);
    }

    [Fact]
    public async Task Send_EveryTryFails_IsAnAlarmUntilOneArrives()
    {
        using var beside = new Beside();
        var changes = 0;
        beside.Webhook.Changed += () => Interlocked.Increment(ref changes);
        beside.Wire.Then(
            [.. Enumerable.Repeat(() => Beside.FakeWire.Status(HttpStatusCode.NotFound), Webhook.Waits.Count + 1)]);
        await beside.Webhook.StartAsync(Cancel);

        beside.Webhook.Send(Message);
        await Until(beside, () => beside.Webhook.Alarm is not null);

        Assert.Equal(Webhook.Waits.Count + 1, beside.Wire.Sent.Count);
        Assert.Equal(AlarmKind.NotSentOn, beside.Webhook.Alarm!.Alarm.Key.Kind);
        Assert.Contains("404", beside.Webhook.Alarm.Text, StringComparison.Ordinal);

        beside.Webhook.Send(Message);
        await Until(beside, () => beside.Webhook.Alarm is null);
        Assert.Equal(2, changes);
        await beside.Webhook.StopAsync(Cancel);
    }

    [Fact]
    public void Send_NoAddressSet_NothingHappens()
    {
        using var beside = new Beside(hasAddress: false);
        for (var number = 0; number < Webhook.QueueLimit + 1; number++)
            beside.Webhook.Send(Message);
        Assert.Null(beside.Webhook.Alarm);
    }

    [Fact]
    public void Send_MoreThanMayWait_SaysSo()
    {
        using var beside = new Beside();
        for (var number = 0; number < Webhook.QueueLimit; number++)
            beside.Webhook.Send(Message);
        Assert.Null(beside.Webhook.Alarm);
        beside.Webhook.Send(Message);
        Assert.Equal(AlarmKind.NotSentOn, beside.Webhook.Alarm!.Alarm.Key.Kind);
    }

    [Fact]
    public async Task SendOn_WindowClosedUnseen_OnceAfterHalfAMinuteWithoutPatientOrPerson()
    {
        await using var rig = await WindowOf8MinutesIn(new SlotNumber(3));
        using var beside = new Beside(rig: rig);
        await beside.Webhook.StartAsync(Cancel);
        var closed = rig.Runner.Present.View.Alarms.Single(alarm => alarm.Key.Kind == AlarmKind.WindowClosed);
        rig.Advance(closed.EscalatesAt - rig.Now - Duration.FromSeconds(1));
        await rig.Until(view => view.View.At > closed.From);
        beside.Watch.SendOn();
        rig.Advance(Duration.FromSeconds(1));
        beside.Watch.SendOn();
        beside.Watch.SendOn();
        await beside.Wire.TriedAsync();

        var sent = Assert.Single(beside.Wire.Sent.Select(one => one.GetRawText()),
            text => text.Contains("window-closed", StringComparison.Ordinal));
        Assert.DoesNotContain("R1", sent, StringComparison.Ordinal);
        Assert.DoesNotContain("SP-", sent, StringComparison.Ordinal);
        Assert.DoesNotContain("aide", sent, StringComparison.Ordinal);
        var body = JsonDocument.Parse(sent).RootElement;
        Assert.Equal(("bench-1", "high", "slot 3"),
            (body.GetProperty("bench").GetString(), body.GetProperty("priority").GetString(), body.GetProperty("place")
                .GetString()));
        await beside.Webhook.StopAsync(Cancel);
    }

    [Fact]
    public async Task SendOn_WindowClosedAndSeenInTime_NothingSent()
    {
        await using var rig = await WindowOf8MinutesIn(new SlotNumber(3));
        using var beside = new Beside(rig: rig);
        await beside.Webhook.StartAsync(Cancel);
        var closed = rig.Runner.Present.View.Alarms.Single(alarm => alarm.Key.Kind == AlarmKind.WindowClosed);
        rig.Advance(closed.From - rig.Now + Duration.FromSeconds(5));
        await rig.Must(new BenchCommand.AcknowledgeAlarm(closed.Key));
        await rig.Must(new BenchCommand.AcknowledgeAlarm(new AlarmKey(AlarmKind.CannotBeSaved, R1)));
        rig.Advance(Duration.FromMinutes(1));
        beside.Watch.SendOn();
        // What is sent comes in order: had the alarm been sent, it would be before this.
        beside.Webhook.Send(Message with { Condition = "last" });
        await beside.Wire.TriedAsync();
        Assert.Equal("last", Assert.Single(beside.Wire.Sent).GetProperty("condition").GetString());
        await beside.Webhook.StopAsync(Cancel);
    }

    /// <summary>
    /// Time goes on until something holds: the retries wait on virtual time, on a thread of their own.
    /// </summary>
    private static async Task Until(Beside beside, Func<bool> holds)
    {
        using var limit = new CancellationTokenSource(Patience.Usual);
        while (!holds())
        {
            limit.Token.ThrowIfCancellationRequested();
            beside.Real.Advance(TimeSpan.FromSeconds(1));
            await Task.Yield();
        }
    }

    private static async Task<BenchRig> WindowOf8MinutesIn(SlotNumber slot)
    {
        var rig = await BenchRig.OpenAsync();
        await rig.Begin(BenchRig.Request("R1"));
        rig.Advance(Duration.FromSeconds(50));
        await rig.Must(new BenchCommand.Mixed(R1));
        rig.Advance(Duration.FromSeconds(25));
        await rig.Must(new BenchCommand.Loaded(R1, new CartridgePlace.InSlot(slot), false));
        await rig.Until(view => view.View.Alarms.Any(alarm => alarm.Key.Kind == AlarmKind.WindowClosed));
        return rig;
    }
}
