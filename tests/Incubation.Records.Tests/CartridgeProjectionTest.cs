using Incubation.Bench;
using Incubation.Clinic.TestKit;
using Incubation.Model;
using Incubation.Planning;
using Incubation.Records.Batches;
using Incubation.Records.Benches;
using Incubation.Simulation;
using Incubation.TestKit;
using NodaTime;
using Xunit;

namespace Incubation.Records.Tests;

/// <summary>Batches and cartridges as the benches' streams tell of them.</summary>
public sealed class CartridgeProjectionTest : IDisposable
{
    private readonly TempFolder folder = new();
    private readonly DataFile file;

    public CartridgeProjectionTest() => file = DataFile.Open(folder.DataFile);

    public void Dispose()
    {
        file.Dispose();
        folder.Dispose();
    }

    [Fact]
    public void Batch_SimulatedDay_TellsEveryCartridgeAsTheBenchKnowsIt()
    {
        var run = Simulate();
        Append(run);
        var state = run.Aggregate((BenchState?)null, LiveBench.Apply)!;

        var batch = new CartridgeProjection(file, CartridgeProjection.AsToldOnBench).Batch(Rows.Bench, 1)!;

        Assert.Null(batch.Closed);
        Assert.Equal(state.Cartridges.Select(cartridge => cartridge.Id), batch.Cartridges.Select(one => one.Request));
        Assert.All(batch.Cartridges, one =>
        {
            var cartridge = state.Find(one.Request)!;
            Assert.Equal(cartridge.Wanted.Request.Specimen, one.Specimen);
            Assert.Equal(cartridge.Wanted.Request.Lot, one.Lot);
            Assert.Equal(CartridgeStatus.Done, one.Standing);
            Assert.True(one.InWindow);
            // Mixed, loaded, read and taken out in this order, the read inside its window.
            Assert.True(one.Mix.From < one.Mix.To && one.Mix.To <= one.Load.From && one.Load.From <= one.Load.To
                && one.Load.To < one.Read.From && one.Read.From < one.Clear.To);
            if (one.Slot is not null)
                Assert.InRange(one.Read.From!.Value, one.WindowOpens!.Value, one.WindowCloses!.Value);
            Assert.NotNull(one.Reader);
            Assert.NotNull(one.Mix.Planned);
            Assert.NotNull(one.Clear.Planned);
            Assert.Equal(cartridge.Result, one.Result);
            Assert.NotNull(one.ResultEntered.Person);
            Assert.NotNull(one.Mix.Person);
        });
    }

    [Theory]
    [InlineData(true)]
    [InlineData(false)]
    public void WentOutNotChecked_ResultOfAFormerVersion_IsListedAndAHeldOneIsNot(bool isHeld)
    {
        Append([.. LockedTabletStory.TellOfASentResult()
            .Where(entry => isHeld || entry.Event is not BenchEvent.ResultNotChecked)]);

        var book = new CartridgeProjection(file, CartridgeProjection.AsToldOnBench);

        Assert.Equal(isHeld ? 0 : 1, book.WentOutNotChecked().Count);
        var told = Assert.Single(book.All());
        Assert.True(told.ResultNotChecked);
        Assert.Equal(PeopleStory.Chief, told.ResultSentBy);
    }

    /// <summary>What was entered anew and undone leaves who entered the first, and when, as it was.</summary>
    [Fact]
    public void Undone_AResultEnteredAnew_LeavesTheFirstAsItWasEntered()
    {
        var entries = LockedTabletStory.TellOfAnUndoneResult();
        Append(entries);

        var told = Assert.Single(new CartridgeProjection(file, CartridgeProjection.AsToldOnBench).All());
        Assert.Equal("5", ((ReadResult.Measured)told.Result!).Value);
        Assert.False(told.ResultNotChecked);
        Assert.Equal((entries.Find(entry => entry.Event is BenchEvent.ResultEntered)!.Provenance.At, PeopleStory.Aide),
            (told.ResultEntered.To, told.ResultEntered.Person));
    }

    [Fact]
    public void Batch_CorrectedAndUndone_ShowsTheStoryAsItStandsAndThatItWasCorrected()
    {
        var story = new Story(file);
        story.Begin("R01", "R02");
        story.Say(60, new BenchCommand.Mixed(RequestId.Of("R01")));
        var load = story.Say(30,
            new BenchCommand.Loaded(RequestId.Of("R01"), new CartridgePlace.InSlot(SlotNumber.Of(1)), false));
        var before = Assert.Single(Cartridges(), one => one.Request == RequestId.Of("R01"));
        Assert.Equal((1, 0), (before.Slot, before.Corrections));

        var stated = story.Now - Duration.FromSeconds(4);
        story.Say(10, new BenchCommand.CorrectReport(load, stated, new CartridgePlace.InSlot(SlotNumber.Of(3)), null,
            "wrong row"));
        var mix = story.Say(60, new BenchCommand.Mixed(RequestId.Of("R02")));
        story.Say(2, new BenchCommand.Undo(mix));

        var after = Cartridges().ToDictionary(one => one.Request.Value);
        Assert.Equal((3, 1), (after["R01"].Slot, after["R01"].Corrections));
        Assert.InRange(stated, after["R01"].Load.From!.Value, after["R01"].Load.To!.Value);
        Assert.Equal((CartridgeStatus.Waiting, 1, null),
            (after["R02"].Standing, after["R02"].Corrections, after["R02"].Mix.From));
        Assert.Contains(new CartridgeProjection(file, CartridgeProjection.AsToldOnBench)
            .Batch(Rows.Bench, 1)!.Happenings, entry =>
            entry.Event is BenchEvent.ReportsRevised { Reason: "wrong row" });
        Assert.Equal(RequestId.Of("R01"), new CartridgeProjection(file, CartridgeProjection.AsToldOnBench)
            .Batch(Rows.Bench, 1)!.SubjectOf(load));
    }

    [Fact]
    public void Find_AfterEachCommand_IsWhatANewBookTells()
    {
        var live = new CartridgeProjection(file, CartridgeProjection.AsToldOnBench);
        var at = 0L;
        foreach (var command in BenchStory.TellOtherwise().GroupBy(entry => entry.Provenance.Id))
        {
            at = new BenchStreams(file).Append(Rows.Bench, at, [.. command]).Sequence;
            live.CatchUp();
        }

        var told = Text(live);
        Assert.NotEmpty(told);
        Assert.Equal(told, Text(new CartridgeProjection(file, CartridgeProjection.AsToldOnBench)));
        MakeAnew();
        Assert.Equal(told, Text(new CartridgeProjection(file, CartridgeProjection.AsToldOnBench)));
    }

    [Fact]
    public void Batch_ClosedOnes_AreToldOneByOneAsIfRunFromTheBeginning()
    {
        Append(BenchStory.Tell());
        var book = new CartridgeProjection(file, CartridgeProjection.AsToldOnBench);
        var closed = book.Batch(Rows.Bench, 1)!;
        var next = book.Batch(Rows.Bench, 2)!;
        Assert.NotNull(closed.Closed);
        Assert.Equal(1, closed.First);
        Assert.Equal(closed.Last + 1, next.First);
        Assert.NotEmpty(closed.Cartridges);
        Assert.Null(book.Batch(Rows.Bench, 77));

        // What the bench knew before the second batch is what a replay from the first row leads to.
        BenchState? state = null;
        foreach (var entry in BenchStory.Tell().Take((int)closed.Last))
            state = LiveBench.Apply(state, entry);
        Assert.Equal(Any.WriteOut(BenchCheckpoint.Of(state!)), Any.WriteOut(next.Before));
        Assert.Equal(
            Any.WriteOut(state! with { Recorded = [], HasUnplanned = true, Run = state!.Run with { Undo = null } }),
            Any.WriteOut(BenchState.From(next.Before!, closed.Last)));
    }

    [Theory]
    [InlineData("sp-r01", null, 1)]
    [InlineData("SP-", null, 8)]
    [InlineData("r01", null, 0)]
    [InlineData(null, "a-l", 6)]
    [InlineData("SP-R03", "A-L1", 0)]
    [InlineData("'; DROP TABLE Cartridges; --", null, 0)]
    [InlineData("%", null, 0)]
    public void Find_ByBeginnings_InLargeLettersOrSmall(string? specimen, string? lot, int expected)
    {
        Append(Simulate());
        Assert.Equal(expected, new CartridgeProjection(file, CartridgeProjection.AsToldOnBench)
            .Find(new CartridgeQuery(specimen, lot)).Total);
    }

    [Fact]
    public void Find_PageByPage_GivesEachOnceInOrder()
    {
        Append(Simulate());
        var book = new CartridgeProjection(file, CartridgeProjection.AsToldOnBench);
        var query = new CartridgeQuery(Order: CartridgeOrder.Specimen, Descending: false, Most: 3);
        var pages = Enumerable.Range(0, 3).SelectMany(page => book.Find(query with { Skip = page * 3 }).Cartridges)
            .ToList();
        Assert.Equal(8, pages.Count);
        Assert.Equal(pages.Select(one => one.Specimen.Value).Order(StringComparer.Ordinal),
            pages.Select(one => one.Specimen.Value));
        Assert.Equal(8, book.All().Count());
    }

    [Fact]
    public void Find_ByTime_TakesTheBeginAndLeavesTheEndOut()
    {
        Append(Simulate());
        var book = new CartridgeProjection(file, CartridgeProjection.AsToldOnBench);
        var all = book.Find(new CartridgeQuery(Descending: false)).Cartridges;
        var third = all[2].At;
        Assert.Equal(6, book.Find(new CartridgeQuery(From: third)).Total);
        Assert.Equal(2, book.Find(new CartridgeQuery(To: third)).Total);
        Assert.Equal(0, book.Find(new CartridgeQuery(Bench: BenchId.Of("bench-9"))).Total);
    }

    private IReadOnlyList<CartridgeRecord> Cartridges() =>
        new CartridgeProjection(file, CartridgeProjection.AsToldOnBench).Find(new CartridgeQuery()).Cartridges;

    private static string Text(CartridgeProjection book) => string.Join('\n', book.All().Select(Any.WriteOut));

    private void MakeAnew() =>
        RawFile.Run(folder.DataFile, "UPDATE Projections SET CodeVersion = 0 WHERE Name LIKE 'cartridges %'",
            "UPDATE Cartridges SET Json = '{}'");

    private static IReadOnlyList<BenchEntry> Simulate()
    {
        IReadOnlyList<BenchRequest> requests = [.. Enumerable.Range(1, 8).Select(number => BenchStory.Request(
            $"R{number:00}", number % 3 == 0 ? "B" : "A", number % 3 == 0 ? 8 : 3, number == 5
                ? IncubationPlace.Either : IncubationPlace.Incubator))];
        return SimulatedDay.Run(BenchStory.Open, requests, Rows.Morning, 1, new RandomStepLengths(),
            () => new IterationBudget(50)).Entries;
    }

    private void Append(IReadOnlyList<BenchEntry> entries) => new BenchStreams(file).Append(Rows.Bench, 0, entries);

    /// <summary>A bench that is told command by command, into the file.</summary>
    private sealed class Story(DataFile file)
    {
        private BenchState? state;
        private int commands;

        public Instant Now { get; private set; } = Rows.Morning;

        public void Begin(params string[] requests)
        {
            Say(0, BenchStory.Open);
            Say(1, new BenchCommand.AddRequests([.. requests.Select(id => BenchStory.Request(id, "A", 3))]));
            Say(1, new BenchCommand.StartBatch());
        }

        public ReportId Say(int seconds, BenchCommand command)
        {
            Now += Duration.FromSeconds(seconds);
            var provenance = Rows.Provenance(++commands) with
            { At = command is BenchCommand.CorrectReport { At: { } at } ? at : Now, Arrived = Now };
            var accepted = Assert.IsType<Decision.Accepted>(LiveBench.Decide(state, command, provenance));
            List<BenchEntry> entries = [.. accepted.Entries(provenance)];
            new BenchStreams(file).Append(Rows.Bench, state?.Revision ?? 0, entries);
            foreach (var entry in entries)
                state = LiveBench.Apply(state, entry);
            return provenance.Id;
        }
    }
}
