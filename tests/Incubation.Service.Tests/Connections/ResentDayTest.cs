using System.Text.Json;
using Incubation.Bench;
using Incubation.Clinic.Connections;
using Incubation.Clinic.People;
using Incubation.Model;
using Incubation.Service.Connections;
using Incubation.Service.Tests.Support;
using Incubation.Service.Text;

namespace Incubation.Service.Tests.Connections;

/// <summary>The results of a day are sent to a destination that was not there on it, or lost what it took.</summary>
public sealed class ResentDayTest
{
    private static DestinationId New => Connection.IdOf(2);

    [Fact]
    public async Task ResendDay_ToANewDestination_SendsWhatWasBeforeIt_OfThatDayAlone_EachRequestInItsOrder()
    {
        await using var house = await OutboxHouse.OpenAsync();
        await using var other = new WebhookReceiver();
        await house.ResultAsync("T-0");
        house.House.Time.Advance(TimeSpan.FromDays(1));
        var request = await house.ResultAsync("T-1");
        await house.House.Must(new BenchCommand.AmendResult(request, new ShownResult.Value("12.5"), "Typed."));
        await house.House.Must(new BenchCommand.CloseBatch());
        var day = Today(house);
        house.House.Time.Advance(TimeSpan.FromDays(1));
        await house.StartAsync();
        Add(house, other);
        await OutboxHouse.Until(() => house.Receiver.All.Count == 3 && house.Figures.Waiting == 0);
        Assert.Equal((2, null), await house.Desk.CountOfDayAsync(ControlsHouse.Ines, New, day));
        Assert.Empty(other.All);

        Assert.Null((await house.Desk.ResendDayAsync(ControlsHouse.Ines, New, day)).Fault);
        await OutboxHouse.Until(() => other.All.Count == 2);
        Assert.Equal([("result.ready", 1, "T-1"), ("result.amended", 2, "T-1")], other.All.Select(Said));
        // Again, for it lost them: under the same ids.
        await OutboxHouse.Until(() => house.Sender.FiguresOf(New).Waiting == 0);
        Assert.Equal((2, null), await house.Desk.CountOfDayAsync(ControlsHouse.Ines, New, day));
        Assert.Null((await house.Desk.ResendDayAsync(ControlsHouse.Ines, New, day)).Fault);
        await OutboxHouse.Until(() => other.All.Count == 4);
        Assert.Equal(2, other.All.Select(one => one.Id).Distinct().Count());
        // The other destination was told once.
        Assert.Equal(3, house.Receiver.All.Count);
        Assert.Empty(house.House.File.Log.VerifyAll().Faults);
    }

    /// <summary>It stands on the disk: a server that is killed after the press loses none of it.</summary>
    [Fact]
    public async Task ResendDay_KilledBeforeAnythingWent_TheNextServerSendsIt()
    {
        await using var house = await OutboxHouse.OpenAsync();
        await using var other = new WebhookReceiver { Status = 503 };
        await house.ResultAsync("T-1");
        await house.StartAsync();
        Add(house, other);
        await OutboxHouse.Until(() => house.Receiver.All.Count == 1 && house.Figures.Waiting == 0);
        Assert.Null((await house.Desk.ResendDayAsync(ControlsHouse.Ines, New, Today(house))).Fault);
        await OutboxHouse.Until(() => house.Sender.FiguresOf(New) is { Waiting: 1, Failures: > 0 });
        // What waits is not counted twice.
        Assert.NotNull((await house.Desk.CountOfDayAsync(ControlsHouse.Ines, New, Today(house))).Fault);
        await house.StopAsync();
        other.Status = 204;
        await house.StartAsync();
        await house.UntilLater(() => house.Sender.FiguresOf(New) is { Waiting: 0, FailingSince: null }
            && other.All.Count >= 2);
        Assert.Single(other.All.Select(one => one.Id).Distinct());
        Assert.Single(house.Receiver.All);
    }

    [Fact]
    public async Task ResendDay_AnAide_ADayToCome_NoDay_NoResults_AreRefusedWithASentence()
    {
        await using var house = await OutboxHouse.OpenAsync();
        await house.StartAsync();
        await house.ResultAsync("T-1");
        await OutboxHouse.Until(() => house.Receiver.All.Count == 1 && house.Figures.Waiting == 0);
        var day = Today(house);
        var tomorrow = Say.Day(house.House.Clock.Now.Plus(NodaTime.Duration.FromDays(1)),
            house.House.Clinic.Facts.Zone);
        foreach (var (actor, to, text, sentence) in new[]
        {
            (ControlsHouse.Lena, OutboxHouse.To, day, Words.NotAllowed),
            (ControlsHouse.Ines, OutboxHouse.To, tomorrow, ConnectionsWords.DayFault),
            (ControlsHouse.Ines, OutboxHouse.To, "", ConnectionsWords.DayFault),
            (ControlsHouse.Ines, OutboxHouse.To, "2026-02-30", ConnectionsWords.DayFault),
            (ControlsHouse.Ines, New, day, Say.Of(ConnectionsWords.RefusedUnknown, New)),
        })
        {
            Assert.Equal((0, sentence), await house.Desk.CountOfDayAsync(actor, to, text));
            Assert.Equal(sentence, (await house.Desk.ResendDayAsync(actor, to, text)).Fault);
        }

        Assert.Equal((0, Say.Of(ConnectionsWords.DayEmpty, "2020-01-01")),
            await house.Desk.CountOfDayAsync(ControlsHouse.Ines, OutboxHouse.To, "2020-01-01"));
        Assert.Single(house.Receiver.All);
    }

    private static string Today(OutboxHouse house) => Say.Day(house.House.Clock.Now, house.House.Clinic.Facts.Zone);

    private static void Add(OutboxHouse house, WebhookReceiver other) =>
        Assert.Empty(house.Desk.Set(ControlsHouse.Person("mara", Role.Administrator), null, new ConnectionForm
        {
            Name = "Archive",
            Address = other.Address.ToString(),
            Topics = [NoticeTopic.Results],
            Fields = [NoticeField.Specimen],
            Named = "127.0.0.1",
        }).Faults);

    private static (string, int, string) Said(ReceivedMessage message)
    {
        var root = JsonDocument.Parse(message.Body).RootElement;
        var data = root.GetProperty("data");
        return (root.GetProperty("type").GetString()!, data.GetProperty("revision").GetInt32(),
            data.GetProperty("specimen").GetString()!);
    }
}
