using Incubation.Bench;
using Incubation.Clinic;
using Incubation.Clinic.People;
using Incubation.Clinic.Stock;
using Incubation.Model;
using Incubation.Service.Gates;
using Incubation.Service.Requests;
using Incubation.Service.Stock;
using Incubation.Service.Tests.Support;
using Microsoft.Extensions.Logging.Abstractions;
using NodaTime;

namespace Incubation.Service.Tests.Stock;

/// <summary>Lots from the box to the bench.</summary>
public sealed class StockServiceTest : IAsyncLifetime
{
    private const string Gs = "\u001d";
    private StockHouse? opened;

    private StockHouse House => opened!;

    public async ValueTask InitializeAsync() => opened = await StockHouse.OpenAsync();

    public ValueTask DisposeAsync() => House.DisposeAsync();

    [Fact]
    public void Fill_KitBox_FillsTheForm()
    {
        var form = new ReceiveForm();
        var (fault, news) = House.Desk.Fill(form, "]d2010084458800328817270400" + "10DA-7" + Gs + "21S-1" + Gs
            + "3025");
        Assert.Null(fault);
        Assert.Equal(("DA-7", "2027-04-30", "00844588003288", "S-1", "25"),
            (form.Lot, form.Expiry, form.Item, form.Serial, form.Count));
        Assert.Contains("no day of the month", news, StringComparison.Ordinal);
        Assert.Contains("is new", news, StringComparison.Ordinal);
    }

    [Fact]
    public void Fill_ItemThatCameInBefore_KnowsWhatItIs()
    {
        var form = Form();
        form.Item = "00844588003288";
        Assert.Empty(House.Desk.Receive(StockHouse.Somebody(Role.Aide), form).Faults);
        var next = new ReceiveForm { Kind = nameof(StockKind.Control) };
        Assert.Null(House.Desk.Fill(next, "(01)00844588003288(17)280101(10)DA-8").Fault);
        Assert.Equal((nameof(StockKind.Kit), "DA", "DA-8"), (next.Kind, next.Assay, next.Lot));
    }

    [Theory]
    [InlineData("5901234123457")]
    [InlineData("(01)00844588003289(10)X")]
    [InlineData("<script>alert(1)</script>")]
    [InlineData("'; DROP TABLE Lots; --")]
    public void Fill_Garbage_SaysSoAndLosesNothing(string scanned)
    {
        var form = Form();
        Assert.NotNull(House.Desk.Fill(form, scanned).Fault);
        Assert.Equal(("DA-L7", "2027-01-31", "20"), (form.Lot, form.Expiry, form.Count));
    }

    [Fact]
    public void Receive_KitWithItsBox_IsUsableAndCounted()
    {
        var (faults, news) = House.Desk.Receive(StockHouse.Somebody(Role.Aide), Form());
        Assert.Empty(faults);
        Assert.Equal("Received: kit DA-L7, 20, until 2027-01-31. Also received: buffer, reader card of the same lot.",
            news);
        Assert.Equal(["DA-L7, until 2027-01-31 · 20 left"], House.Room.ChoicesFor(StockHouse.Assay)
            .Select(choice => choice.Text));
        Assert.StartsWith("Another delivery", House.Desk.Receive(StockHouse.Somebody(Role.Aide), Form()).News,
            StringComparison.Ordinal);
        Assert.Equal(40, House.Room.LeftOf(House.Clinic.Log.Stock.Find(StockKind.Kit, new LotCode("DA-L7"))!));
    }

    [Fact]
    public void Receive_ExpiredKit_IsRecordedAndOfferedForNothing()
    {
        var form = Form();
        form.Expiry = "2026-03-01";
        Assert.Contains("cannot be used", House.Desk.Receive(StockHouse.Somebody(Role.Aide), form).News,
            StringComparison.Ordinal);
        Assert.Empty(House.Room.ChoicesFor(StockHouse.Assay));
        Assert.Equal("Not offered: DA-L7 expired on 2026-03-01.", House.Room.NotOffered(StockHouse.Assay));
        Assert.Equal(["The kit DA-L7 expired on 2026-03-01. Never run an expired lot. Choose another."],
            House.Room.StopsFor(StockHouse.Assay));
    }

    [Fact]
    public void Receive_NothingFilledIn_SaysWhatIsMissingBesideEachField()
    {
        var faults = House.Desk.Receive(StockHouse.Somebody(Role.Aide),
            new ReceiveForm { Item = "00844588003289" }).Faults;
        Assert.Equal(["Lot", "Assay", "Expiry", "Count", "Item"], faults.Select(fault => fault.Member));
        Assert.Contains("its check digit is 9 and should be 8", faults[^1].Sentence, StringComparison.Ordinal);
        Assert.Empty(House.Clinic.Log.Stock.Items);
    }

    [Fact]
    public void Receive_ItemOfAnotherAssay_IsStopped()
    {
        House.Clinic.Log.Record([Sheet("DB")], House.Rig.Provenance());
        House.Clinic.Log.Record(new ClinicEvent.AssayApproved(Sheet("DB").Sheet, 1),
            House.Rig.Provenance() with { Person = new PersonId("second") });
        var form = Form();
        form.Item = "00844588003288";
        House.Desk.Receive(StockHouse.Somebody(Role.Aide), form);
        var other = Form();
        (other.Lot, other.Assay, other.Item) = ("DB-L1", "DB", "00844588003288");
        Assert.Equal(
            "This item number was received before as kit of DA. Choose that, or compare the number with the box.",
            Assert.Single(House.Desk.Receive(StockHouse.Somebody(Role.Aide), other).Faults).Sentence);
    }

    [Fact]
    public async Task Quarantine_WithRequestsWaiting_HoldsThemBackAndStopsTheLot()
    {
        House.Receive("DA-L1", StockHouse.Today.PlusDays(90), 5);
        await House.Rig.Must(new BenchCommand.AddRequests([BenchRig.Request("R1"), BenchRig.Request("R2")]));
        var key = new StockKey(StockKind.Buffer, new LotCode("DA-L1"));

        var (fault, news) = await House.Desk.DoAsync(StockHouse.Somebody(Role.Aide), key, StockAction.Quarantine, null,
            "cloudy");

        Assert.Null(fault);
        Assert.Contains("Held back, because they need this lot: R1, R2.", news, StringComparison.Ordinal);
        Assert.All(House.Rig.State.Cartridges, cartridge => Assert.True(cartridge.HeldBack));
        Assert.Equal(["The buffer DA-L1 is in quarantine: cloudy. Choose another lot, or ask a supervisor."],
            House.Room.NotesOn(House.Rig.State));
    }

    [Fact]
    public async Task LetOut_ByAnAide_IsRefused()
    {
        House.Receive("DA-L1", StockHouse.Today.PlusDays(90), 5);
        var key = new StockKey(StockKind.Kit, new LotCode("DA-L1"));
        await House.Desk.DoAsync(StockHouse.Somebody(Role.Aide), key, StockAction.Quarantine, null, "wet");
        Assert.Equal("Only a supervisor may release a lot from quarantine.",
            (await House.Desk.DoAsync(StockHouse.Somebody(Role.Aide), key, StockAction.LetOut, null,
                "dry")).Fault!.Sentence);
        Assert.Null(
            (await House.Desk.DoAsync(StockHouse.Somebody(Role.Supervisor), key, StockAction.LetOut, null,
                "dry")).Fault);
    }

    [Theory]
    [InlineData(StockAction.Quarantine, null, " ", "why")]
    [InlineData(StockAction.Count, "-1", "x", "count")]
    [InlineData(StockAction.Count, "many", "x", "count")]
    [InlineData(StockAction.Count, "3", null, "why")]
    public async Task Do_SomethingMissing_SaysItBesideItsField(StockAction deed, string? count, string? why,
        string member)
    {
        House.Receive("DA-L1", StockHouse.Today.PlusDays(90), 5);
        Assert.Equal(member,
            (await House.Desk.DoAsync(StockHouse.Somebody(Role.Aide),
                new StockKey(StockKind.Kit, new LotCode("DA-L1")), deed, count, why)).Fault!.Member);
    }

    [Fact]
    public async Task NotesOn_WaitingRequests_WarnOfExpiryAndOfTooFew()
    {
        House.Receive("DA-L1", StockHouse.Today.PlusDays(9), 1);
        await House.Rig.Must(new BenchCommand.AddRequests([BenchRig.Request("R1"), BenchRig.Request("R2")]));
        var notes = House.Room.NotesOn(House.Rig.State);
        Assert.Equal("Lot DA-L1 expires on 2026-03-11, in 9 days.", notes[0]);
        Assert.StartsWith("Of kit DA-L1 only 1 left by the count, and 2 to be run", notes[1],
            StringComparison.Ordinal);
        Assert.StartsWith("Of buffer DA-L1", notes[2], StringComparison.Ordinal);
    }

    [Fact]
    public async Task NotesOn_OneRequestOfAnEmptyLot_IsSaidOfOne()
    {
        House.Receive("DA-L1", StockHouse.Today.PlusDays(90), 1);
        Assert.Null((await House.Desk.DoAsync(StockHouse.Somebody(Role.Aide),
            new StockKey(StockKind.Kit, new LotCode("DA-L1")), StockAction.Count, "0", "The box is empty.")).Fault);
        await House.Rig.Must(new BenchCommand.AddRequests([BenchRig.Request("R1")]));
        Assert.Equal("Of kit DA-L1 only 0 left by the count, and 1 to be run. Count the box, receive more, "
            + "or use another lot.", House.Room.NotesOn(House.Rig.State)[0]);
    }

    [Fact]
    public void Page_ManyLots_FiltersSortsAndPagesOnTheServer()
    {
        for (var number = 1; number <= 30; number++)
            House.Receive($"L{number:00}", StockHouse.Today.PlusDays(100 - number), number);
        var first = House.Room.Page(StockQuery.First);
        Assert.Equal((90, 4, 25), (first.Total, first.Pages, first.Lines.Count));
        Assert.Equal("L30", first.Lines[0].Item.Lot.Value);
        var kits = StockQuery.First with { Kind = StockKind.Kit, Order = StockOrder.Lot, IsDown = true, Page = 1 };
        Assert.Equal(["L05", "L04", "L03", "L02", "L01"],
            House.Room.Page(kits).Lines.Select(line => line.Item.Lot.Value));
        Assert.Equal(["L07"],
            House.Room.Page(kits with { Text = "l07", Page = 9 }).Lines.Select(line => line.Item.Lot.Value));
        Assert.Equal(0, House.Room.Page(StockQuery.First with { Shown = StockShown.Expired }).Total);
        Assert.All(Enum.GetValues<StockOrder>(), order =>
            Assert.Equal(25, House.Room.Page(StockQuery.First with { Order = order }).Lines.Count));
    }

    [Fact]
    public async Task Intake_LotNotNamed_TakesTheOneThatExpiresFirstAndGivesThePlannerItsEnd()
    {
        House.Receive("DA-L2", StockHouse.Today.PlusDays(9), 5);
        House.Receive("DA-L1", StockHouse.Today.PlusDays(90), 5);
        Assert.True((await Add(new WantedRequest("SP-1", "DA", null))).Taken);
        var request = House.Rig.State.Cartridges[0].Wanted.Request;
        Assert.Equal("DA-L2", request.Lot.Value);
        // The day ends at midnight in Berlin, an hour before midnight in UTC.
        Assert.Equal(Instant.FromUtc(2026, 3, 11, 23, 0), request.LoadBy);
    }

    [Fact]
    public async Task Intake_LoadByStated_TheEarlierOfBothCounts()
    {
        House.Receive("DA-L1", StockHouse.Today, 5);
        Assert.True(
            (await Add(new WantedRequest("SP-1", "DA", "DA-L1", LoadBy: Instant.FromUtc(2026, 3, 2, 12, 0)))).Taken);
        Assert.True(
            (await Add(new WantedRequest("SP-2", "DA", "DA-L1", LoadBy: Instant.FromUtc(2026, 3, 4, 12, 0)))).Taken);
        Assert.Equal([Instant.FromUtc(2026, 3, 2, 12, 0), Instant.FromUtc(2026, 3, 2, 23, 0)],
            House.Rig.State.Cartridges.Select(cartridge => cartridge.Wanted.Request.LoadBy!.Value));
    }

    [Fact]
    public async Task Intake_LotEndsBeforeTheSpecimenIsReady_IsStopped()
    {
        House.Receive("DA-L1", StockHouse.Today, 5);
        var outcome = await Add(new WantedRequest("SP-1", "DA", "DA-L1", Ready: Instant.FromUtc(2026, 3, 2, 23, 0)));
        Assert.Equal("Lot DA-L1 expires on 2026-03-02, before the specimen is ready. Choose another.",
            Assert.Single(outcome.Faults).Sentence);
    }

    [Fact]
    public async Task Intake_BufferOfAnotherLot_SaysWhatToDo()
    {
        House.Clinic.Log.Record(
            [
                new ClinicEvent.StockReceived(StockKind.Kit, new LotCode("DA-L1"), StockHouse.Assay, StockHouse.Today,
                    5, null, null),
                new ClinicEvent.StockReceived(StockKind.Buffer, new LotCode("DA-L2"), StockHouse.Assay,
                    StockHouse.Today, 5, null, null),
            ], House.Rig.Provenance());
        var outcome = await Add(new WantedRequest("SP-1", "DA", "DA-L1"));
        Assert.Equal(
            "The buffer of lot DA-L1 was not received; the one in stock is of lot DA-L2. Never mix parts of different "
            + "lots: receive the right one, or choose another lot.",
            Assert.Single(outcome.Faults).Sentence);
        Assert.Equal("requests[0].lot", outcome.Faults[0].Member);
        Assert.Empty(House.Rig.State.Cartridges);
    }

    private static ClinicEvent.AssayDrafted Sheet(string code) =>
        new(AssaySheet.Plain(BenchRig.Assay(code, 8), "mg/L"), 1);

    private async Task<IntakeOutcome> Add(WantedRequest wanted)
    {
        using var gates = new LotGateService(House.Clinic, House.Rig.Book,
            ControlsHouse.Closed(House.File, House.Clinic, House.Clock),
            ControlsHouse.Doubts(House.File, House.Clinic, House.Clock), House.Clock,
            NullLogger<LotGateService>.Instance);
        using var intake = new Intake(House.Clinic, House.Rig.Book, House.Clock, gates);
        return await intake.AddAsync(BenchRig.Id.Value, [wanted], null, new PersonId("lena"), new DeviceId("test"));
    }

    private static ReceiveForm Form() => new() { Lot = "DA-L7", Assay = "DA", Expiry = "2027-01-31", Count = "20" };
}
