using Incubation.Bench;
using Incubation.Clinic;
using Incubation.Clinic.Connections;
using Incubation.Model;
using Incubation.Records.Clinic;
using Incubation.Records.Connections;
using Incubation.Service.Connections;
using Incubation.Service.Tests.Support;

namespace Incubation.Service.Tests.Connections;

/// <summary>
/// A lot's control is found wrong after results of the lot went out: destinations are told of each of them, once.
/// </summary>
public sealed class DoubtNoticesTest : IAsyncLifetime
{
    private ControlsHouse? opened;
    private OutboxStore? store;

    private ControlsHouse House => opened!;

    private static DestinationId To => Connection.IdOf(1);

    public async ValueTask InitializeAsync()
    {
        opened = await ControlsHouse.OpenAsync();
        store = new OutboxStore(House.File, House.Clinic.Log);
        await House.SetTargets();
        await House.AddControls();
        await House.RunControl(1, "200");
        await House.RunControl(2, "250");
    }

    public ValueTask DisposeAsync() => House.DisposeAsync();

    [Fact]
    public async Task Put_WhenAControlProvesWrong_TellsOfWhatWentOut_Once_AlsoOverARestart()
    {
        Connect(NoticeTopic.Results);
        var went = await ResultAsync("T-1");
        var held = await ResultAsync("T-2", new ShownIdentity("another"));
        await AmendControlAsync("400");
        Assert.Equal([went], InDoubt());
        Assert.Equal([(ControlsHouse.BenchOne, went)], House.Clinic.Log.Connections.InDoubt);
        Assert.DoesNotContain(held, InDoubt());

        var said = House.Clinic.Log.Revision;
        Doubts().Put();
        await House.Crash();
        store = new OutboxStore(House.File, House.Clinic.Log);
        Doubts().Put();
        await House.Gates.SettleAsync();
        Assert.Equal(said, House.Clinic.Log.Revision);
        Assert.Equal([went], InDoubt());
    }

    /// <summary>What was reviewed is not told again; what goes wrong afterwards is.</summary>
    [Fact]
    public async Task Put_AfterTheReview_TellsNothing()
    {
        Connect(NoticeTopic.Results);
        await ResultAsync("T-1");
        await AmendControlAsync("400");
        var outcome = await House.Desk.ReviewAsync(ControlsHouse.Ines, ControlsHouse.Kit,
            House.Desk.ToReview(ControlsHouse.Kit).Select(line => line.Result), "Looked at.");
        Assert.True(outcome.IsDone, outcome.Fault);
        Assert.Empty(House.Clinic.Log.Connections.InDoubt);
        Doubts().Put();
        Assert.Single(InDoubt());
    }

    [Fact]
    public async Task Put_WhereNobodyIsToldOfResults_WritesNothing_UntilADestinationIs()
    {
        Connect(NoticeTopic.Alarms);
        var went = await ResultAsync("T-1");
        await AmendControlAsync("400");
        Assert.Empty(House.Clinic.Log.Connections.InDoubt);
        Connect(NoticeTopic.Results, 2);
        Doubts().Put();
        Assert.Equal([(ControlsHouse.BenchOne, went)], House.Clinic.Log.Connections.InDoubt);
    }

    [Fact]
    public async Task Put_WhereNothingIsWrong_WritesNothing()
    {
        Connect(NoticeTopic.Results);
        await ResultAsync("T-1");
        var said = House.Clinic.Log.Revision;
        Doubts().Put();
        Assert.Equal(said, House.Clinic.Log.Revision);
    }

    private DoubtNotices Doubts() =>
        ControlsHouse.Doubts(House.File, House.Clinic, House.Clock);

    private IEnumerable<RequestId> InDoubt() => store!.Open(House.Clinic.Log.Connections.Find(To)!, 0, 100, out _)
        .Where(one => one.Kind == NoticeKind.InDoubt).Select(one => one.Id.Request!.Value);

    private void Connect(NoticeTopic topic, int number = 1) => Assert.IsType<ClinicOutcome.Recorded>(
        House.Clinic.Log.Record(new ClinicEvent.DestinationAdded(Connection.IdOf(number),
            new Destination("Records", new DestinationWay.Webhook("https://records.test/in"), [topic], [], []),
            store!.Ends()), House.Provenance()));

    private async Task<RequestId> ResultAsync(string specimen, ShownIdentity? shown = null)
    {
        await House.AddPatient(specimen);
        var cartridge = House.State.Cartridges.Last(one => one.Wanted.Request.Specimen.Value == specimen);
        await House.RunThrough(cartridge);
        await House.Must(new BenchCommand.ResultEntered(cartridge.Id, new ShownResult.Value("4.2"),
            shown ?? new ShownIdentity(specimen)));
        return cartridge.Id;
    }

    private async Task AmendControlAsync(string value)
    {
        var control = House.State.Cartridges.First(one => one.Wanted.Facts?.Control?.Level == 1);
        await House.Must(new BenchCommand.AmendResult(control.Id, new ShownResult.Value(value), "Read again."));
        await House.Gates.SettleAsync();
    }
}
