using System.Text.Json;
using Incubation.Bench;
using Incubation.Clinic.Connections;
using Incubation.Clinic.People;
using Incubation.Model;
using Incubation.Service.Alarms;
using Incubation.Service.Connections;
using Incubation.Service.Tests.Support;
using Microsoft.Extensions.Logging.Abstractions;

namespace Incubation.Service.Tests.Connections;

/// <summary>Alarms through the outbox, and what is said where they cannot be sent.</summary>
public sealed class OutboxAlarmsTest
{
    [Fact]
    public async Task Send_AnAlarm_GoesOnce_AlsoOverARestart_AndLeadsToNoPatient()
    {
        await using var house = await OpenAsync();
        await house.StartAsync();
        var request = await house.ResultAsync("T-1");
        var alarm = AlarmOf(house, request);
        Put(house, alarm);
        // Another server knows nothing of what the first did but what is on the disk.
        Put(house, alarm);
        await OutboxHouse.Until(() => house.Receiver.All.Count == 1);
        Put(house, AlarmOf(house, new RequestId("other")));
        await OutboxHouse.Until(() => house.Receiver.All.Count == 2);
        Assert.Equal(2, house.Receiver.All.Select(one => one.Id).Distinct().Count());
        var message = JsonDocument.Parse(house.Receiver.All.First().Body).RootElement;
        Assert.Equal("alarm.raised", message.GetProperty("type").GetString());
        Assert.Equal(["bench", "benchName", "condition", "priority", "text", "place", "since"],
            message.GetProperty("data").EnumerateObject().Select(member => member.Name));
        Assert.DoesNotContain(request.Value, house.Receiver.All.First().Body, StringComparison.Ordinal);
        Assert.DoesNotContain("T-1", house.Receiver.All.First().Body, StringComparison.Ordinal);
    }

    [Fact]
    public async Task Alarm_WhereAlarmsCannotBeSentForMinutes_StandsAtTheBenches_UntilTheyCan()
    {
        await using var house = await OpenAsync();
        house.Receiver.Status = 503;
        await house.StartAsync();
        var notSent = new AlarmsNotSent(house.House.Clinic, house.Sender, house.House.Clock, house.House.Time);
        Put(house, AlarmOf(house, new RequestId("R1")));
        await OutboxHouse.Until(() => house.Figures.Failures == 1);
        Assert.Null(notSent.Alarm);
        await house.UntilLater(() => notSent.Alarm is not null);
        Assert.True(house.House.Time.GetUtcNow() - house.Figures.FailingSince!.Value.ToDateTimeOffset()
            > AlarmsNotSent.Patience.ToTimeSpan());
        Assert.Contains("Records", notSent.Alarm!.Text, StringComparison.Ordinal);
        house.Receiver.Status = 204;
        await house.UntilLater(() => notSent.Alarm is null);
    }

    [Fact]
    public async Task Send_OneDestinationFails_TheOtherIsToldAllTheSame()
    {
        await using var other = new WebhookReceiver();
        await using var house = await OutboxHouse.OpenAsync();
        house.Receiver.Status = 503;
        var form = ConnectionForm.Of(house.Connection.Destination);
        form.Address = other.Address.ToString();
        Assert.Empty(house.Desk.Set(ControlsHouse.Person("mara", Role.Administrator), null, form).Faults);
        await house.StartAsync();
        await house.ResultAsync("T-1");
        await house.ResultAsync("T-2");
        await OutboxHouse.Until(() => other.All.Count == 2 && house.Figures is { Failures: > 0, Waiting: 2 });
        // No receiver of both takes one for the other.
        Assert.Empty(other.All.Select(one => one.Id).Intersect(house.Receiver.All.Select(one => one.Id)));
    }

    private static Task<OutboxHouse> OpenAsync() => OutboxHouse.OpenAsync(form =>
    {
        form.Topics.Clear();
        form.Topics.Add(NoticeTopic.Alarms);
    });

    private static Alarm AlarmOf(OutboxHouse house, RequestId request) =>
        new(new AlarmKey(AlarmKind.WindowInDanger, request), house.House.Clock.Now, null, null, Acknowledged: false);

    private static void Put(OutboxHouse house, Alarm alarm) => Assert.True(new AlarmNotices(house.House.Clinic,
        house.House.Clock, NullLogger<AlarmNotices>.Instance).Put(ControlsHouse.BenchOne, alarm, "slot 3"));
}
