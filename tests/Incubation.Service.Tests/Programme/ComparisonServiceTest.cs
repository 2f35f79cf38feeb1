using Incubation.Bench;
using Incubation.Clinic.Programme;
using Incubation.Model.Controls;
using Incubation.Service.Decisions;
using Incubation.Service.Programme;
using Incubation.Service.Record;
using Incubation.Service.Tests.Support;
using Incubation.Service.Text;
using static Incubation.Service.Tests.Support.ControlsHouse;
using static Incubation.Service.Tests.Support.ProgrammeHouse;

namespace Incubation.Service.Tests.Programme;

/// <summary>A new lot beside the old one, end to end without a screen.</summary>
public sealed class ComparisonServiceTest : IAsyncLifetime
{
    private ProgrammeHouse? programme;

    private ProgrammeHouse Programme => programme!;

    private ControlsHouse House => Programme.House;

    private ComparisonService Desk => Programme.Comparisons;

    public async ValueTask InitializeAsync() => programme = await ProgrammeHouse.OpenAsync();

    public async ValueTask DisposeAsync()
    {
        if (programme is not null)
            await programme.DisposeAsync();
    }

    [Fact]
    public async Task ANewLot_RunsAndItsResultsAreHeld_UntilItsComparisonIsAccepted()
    {
        Assert.True((await Desk.RequireAsync(Ines, true)).IsDone);
        Programme.ReceiveNew();
        Assert.Equal("DA, lot DA-L2 with lot DA-L1", Assert.Single(Programme.Decisions()).What);
        foreach (var (specimen, old, now) in new[] { ("SP-1", "10", "10.5"), ("SP-2", "40", "41") })
        {
            await Programme.Run(specimen, Kit, old);
            await Programme.Run(specimen, NewKit, now);
        }

        Assert.Equal(LotGate.AwaitingComparison, House.State.GateOf(NewKit)!.Gate);
        Assert.Equal([false, true, false, true], House.State.Cartridges.Select(one => one.IsHeld));
        var number = await Begin();
        Assert.Equal(DecisionKind.ComparisonOpen, Assert.Single(Programme.Decisions()).Kind);
        Assert.Equal(ClinicTooFew(2), (await Desk.SettleAsync(Ines, number, LotDecision.Accepted, "Seen.")).Fault);
        foreach (var pair in Desk.Offered(Desk.Find(number)!))
            Assert.True((await Desk.AddAsync(Ines, number, pair)).IsDone);
        Assert.Empty(Desk.Offered(Desk.Find(number)!));
        Assert.Equal([("SP-2", 2.5m), ("SP-1", 5m)],
            Desk.Lines(Desk.Find(number)!).Select(line => (line.Specimen, line.Difference)));
        Assert.Equal(StockWords.WhyMissing, (await Desk.SettleAsync(Ines, number, LotDecision.Accepted, " ")).Fault);
        Assert.Equal(Words.NotAllowed, (await Desk.SettleAsync(Lena, number, LotDecision.Accepted, "Seen.")).Fault);
        Assert.True((await Desk.SettleAsync(Ines, number, LotDecision.Accepted, "Mean 3.75 %.")).IsDone);

        Assert.Null(House.State.GateOf(NewKit));
        Assert.All(House.State.Cartridges, one => Assert.False(one.IsHeld));
        Assert.Empty(Programme.Decisions());
    }

    /// <summary>
    /// Results of a new lot that wait in a closed batch are compared like those on the bench, and whoever would release
    /// one is told what its lot still waits for.
    /// </summary>
    [Fact]
    public async Task ABatchClosedBeforeTheComparison_ItsResultsAreComparedAndNotReleasedUnawares()
    {
        Assert.True((await Desk.RequireAsync(Ines, true)).IsDone);
        Programme.ReceiveNew();
        await Programme.Run("SP-1", Kit, "10");
        var held = await Programme.Run("SP-1", NewKit, "10.5");
        var open = await Programme.Run("SP-2", Kit, "40");
        await House.Must(new BenchCommand.CloseBatch());

        var release = new ReleaseService(Programme.Book, House.Clinic, House.Gates, House.Clock);
        var shown = release.Find("bench-1", 1, held.Id.Value)!;
        Assert.Equal("Results of lot DA-L2 are held until its comparison is accepted", release.StillWaits(shown));
        Assert.Null(release.StillWaits(Programme.Book.Batch(BenchOne, 1)!.Cartridges
            .Single(one => one.Request == open.Id)));
        var number = await Begin();
        Assert.Equal(["SP-1"], Desk.Offered(Desk.Find(number)!).Select(pair => pair.New.Specimen.Value));
        Assert.True((await Desk.SettleAsync(Ines, number, LotDecision.Refused, "Not enough of it.")).IsDone);
        Assert.NotNull(release.StillWaits(shown));
    }

    [Fact]
    public async Task ARefusedLot_HoldsItsResults_AlsoWhereNoComparisonIsAskedFor()
    {
        Programme.ReceiveNew();
        Assert.False((await Programme.Run("SP-1", NewKit, "10")).IsHeld);
        var number = await Begin();
        Assert.True((await Desk.SettleAsync(Ines, number, LotDecision.Refused, "The maker called it back.")).IsDone);
        Assert.Equal(LotGate.AwaitingComparison, House.State.GateOf(NewKit)!.Gate);
        Assert.True((await Programme.Run("SP-2", NewKit, "10")).IsHeld);
    }

    [Fact]
    public async Task AValueThatWasAmendedSince_IsSaid_AndNotAcceptedBefore()
    {
        Programme.ReceiveNew();
        var old = await Programme.Run("SP-1", Kit, "10");
        await Programme.Run("SP-1", NewKit, "10.5");
        var number = await Begin(specimens: "1");
        Assert.True((await Desk.AddAsync(Ines, number, Desk.Offered(Desk.Find(number)!).Single())).IsDone);
        await House.Must(new BenchCommand.AmendResult(old.Id, new ShownResult.Value("16"), "Read again."));

        Assert.Equal("16", Desk.Lines(Desk.Find(number)!).Single().Changed);
        Assert.Contains("pair 1", (await Desk.SettleAsync(Ines, number, LotDecision.Accepted, "Seen.")).Fault!,
            StringComparison.Ordinal);
        Assert.True((await Desk.RemoveAsync(Ines, number, 1, "Amended.")).IsDone);
        var now = Assert.Single(Desk.Offered(Desk.Find(number)!));
        Assert.Equal((16m, 10.5m), (now.Old.Value, now.New.Value));
        Assert.True((await Desk.AddAsync(Ines, number, now)).IsDone);
        Assert.Equal(LotVerdict.Beyond, Desk.Find(number)!.Outcome.Verdict);
    }

    [Fact]
    public async Task HeldForAnotherReason_OrBeyondTheRange_IsNotOffered()
    {
        Programme.ReceiveNew();
        await Programme.Run("SP-1", Kit, "10");
        var held = await Programme.Run("SP-1", NewKit, "10.5");
        var number = await Begin();
        await House.Must(new BenchCommand.AmendResult(held.Id, new ShownResult.Value("<0.5"), "Read again."));
        Assert.Empty(Desk.Offered(Desk.Find(number)!));
    }

    [Fact]
    public async Task TypedValues_AreReadLikeEverywhere_AndStandInTheFile()
    {
        Programme.ReceiveNew();
        var number = await Begin(specimens: "1");
        Assert.Equal(["Label", "Old", "New"], (await Desk.EnterAsync(Ines, number,
            new PairForm { Label = " ", Old = "0", New = "one" })).Select(fault => fault.Member));
        Assert.Empty(await Desk.EnterAsync(Ines, number,
            new PairForm { Label = "=stored 7", Old = "10,0", New = "11" }));
        Assert.Equal(2, Desk.File(Desk.Find(number)!).Count());
        Assert.Contains("\"'=stored 7\",,,10.0,11,10,\"percent\"", Desk.File(Desk.Find(number)!).Last(),
            StringComparison.Ordinal);
        Assert.Contains("\"DA-L1\",\"DA-L2\",10,\"percent\",1,1,10,\"within\"", Desk.File().Last(),
            StringComparison.Ordinal);
    }

    [Fact]
    public async Task ACriterionThatCannotBe_IsSaidBesideItsField()
    {
        Programme.ReceiveNew();
        var (number, faults) = await Desk.BeginAsync(Ines, new ComparisonForm
        {
            Assay = "DA",
            New = "DA-L2",
            Old = "DA-L1",
            Largest = "101",
            Specimens = "0",
        });
        Assert.Null(number);
        Assert.Equal(["Largest", "Specimens"], faults.Select(fault => fault.Member));
    }

    private async Task<int> Begin(string specimens = "2")
    {
        var (number, faults) = await Desk.BeginAsync(Ines, new ComparisonForm
        {
            Assay = "DA",
            New = "DA-L2",
            Old = "DA-L1",
            Largest = "10",
            Specimens = specimens,
        });
        Assert.Empty(faults);
        return number!.Value;
    }

    private static string ClinicTooFew(int specimens) =>
        Say.Of(ClinicRefusalWords.ComparisonTooFew, specimens);
}
