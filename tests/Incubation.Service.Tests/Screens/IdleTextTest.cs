using Incubation.Bench;
using Incubation.Model;
using Incubation.Service.Snapshots;
using Incubation.Service.Tests.Support;
using Incubation.Service.Text;
using NodaTime;

namespace Incubation.Service.Tests.Screens;

/// <summary>What the card says while no step is offered.</summary>
public sealed class IdleTextTest
{
    [Theory]
    [InlineData(1)]
    [InlineData(2)]
    public async Task Write_NextMixOfAnyHandsIsKeptBackByItsLot_NamesTheLot(int hands)
    {
        await using var rig = await BenchRig.OpenAsync(hands: 2);
        var state = (await rig.Begin(BenchRig.Request("R1"))).State;
        var adopted = state.Adopted!;
        var kept = state with
        {
            Run = state.Run with
            {
                Adopted = adopted with
                {
                    Remaining = [.. adopted.Remaining.Where(row => row.Step.Action is not StepAction.CardChange)
                        .Select(row => row with { Step = row.Step with { Hands = new HandsNumber(hands) } })],
                },
            },
            Checkpoint = state.Checkpoint with
            {
                LotGates = [new GatedLot(new LotCode("DA-L1"), LotGate.Failed, rig.Now)],
            },
        };

        var idle = IdleText.Write(new BenchMoment(kept, LiveBench.View(kept, rig.Now)), DateTimeZone.Utc);

        Assert.Contains("DA-L1", idle!.Title, StringComparison.Ordinal);
    }

    [Fact]
    public async Task Write_ReaderOutOfUse_SaysWhatStandsStillAndWhatCanBeDone()
    {
        await using var rig = await BenchRig.OpenAsync();
        await rig.Begin(BenchRig.Request("R1"), BenchRig.Request("R2"));
        await rig.Must(new BenchCommand.PutOutOfUse(new BenchResource.Reader(new ReaderNumber(1)), null, "lamp",
            Anyway: true));
        await rig.UntilPlanned(PlanCause.MeansChanged);

        var idle = IdleText.Write(rig.Present, DateTimeZone.Utc)!;

        Assert.Equal("Nothing can go on: the reader is out of use", idle.Title);
        Assert.Contains("2 requests wait.", idle.Detail, StringComparison.Ordinal);
        Assert.Contains("Out of use, or back", idle.Detail, StringComparison.Ordinal);
    }

    [Fact]
    public async Task Write_ReaderOutOfUseWithACartridgeReacting_NamesTheFirstWindow()
    {
        await using var rig = await BenchRig.OpenAsync();
        await Reacting(rig);
        await rig.Must(new BenchCommand.PutOutOfUse(new BenchResource.Reader(new ReaderNumber(1)), null, "lamp",
            Anyway: true));
        await rig.UntilPlanned(PlanCause.MeansChanged);
        // Whatever the plan still asks for at the window's close: nothing can be done now.
        var state = WithoutRows(rig.State);

        var idle = IdleText.Write(new BenchMoment(state, LiveBench.View(state, rig.Now)), DateTimeZone.Utc)!;

        Assert.Equal("Nothing can go on: the reader is out of use", idle.Title);
        Assert.Contains("1 cartridge is in progress. The first read window closes at ", idle.Detail,
            StringComparison.Ordinal);
        Assert.Contains("(slot 1)", idle.Detail, StringComparison.Ordinal);
    }

    [Fact]
    public async Task Write_QuestionStands_AsksForItFirst()
    {
        await using var rig = await BenchRig.OpenAsync();
        await Reacting(rig);
        await rig.Must(new BenchCommand.CardChanged(new ReaderNumber(1), new LotCode("DA-L1")));
        await rig.Must(new BenchCommand.PutOutOfUse(new BenchResource.Reader(new ReaderNumber(1)), null, "lamp",
            Anyway: true));
        rig.Advance(Duration.FromMinutes(1));
        await rig.Must(new BenchCommand.PutBackInUse(new BenchResource.Reader(new ReaderNumber(1))));
        Assert.NotEmpty(rig.Present.View.Questions);
        var state = WithoutRows(rig.State);

        var idle = IdleText.Write(new BenchMoment(state, LiveBench.View(state, rig.Now)), DateTimeZone.Utc)!;

        Assert.Equal("Settle the question first", idle.Title);
        Assert.Contains("Which card is in", idle.Detail, StringComparison.Ordinal);
    }

    [Theory]
    [InlineData(0, "incubating in slot 1")]
    [InlineData(485, "in slot 1, read window open")]
    [InlineData(600, "in slot 1, window closed")]
    public async Task Stage_OfACartridgeInASlot_IsAsItIsNow(int seconds, string stage)
    {
        await using var rig = await BenchRig.OpenAsync();
        await Reacting(rig);
        rig.Advance(Duration.FromSeconds(seconds));
        var view = rig.Present;
        var cartridge = view.State.Cartridges[0];

        Assert.StartsWith(stage, BatchText.Stage(view, cartridge, DateTimeZone.Utc), StringComparison.Ordinal);
        Assert.Equal(seconds < 600 ? 1 : 0, view.View.Totals.Reacting);
        var sheet = Assert.Single(Incubation.Service.Batches.RunSheet.Cartridges(view, DateTimeZone.Utc));
        Assert.Equal(seconds >= 600, sheet.Opens.Contains("window closed", StringComparison.Ordinal));
        // Nobody has moved it: what is still to be done ends no sooner than now.
        Assert.True(view.View.Totals.Finish >= view.View.At);
    }

    private static BenchState WithoutRows(BenchState state) => state with
    {
        Run = state.Run with { Adopted = state.Adopted! with { Remaining = [] } },
    };

    /// <summary>R1 in slot 1 since its load ended now.</summary>
    private static async Task Reacting(BenchRig rig)
    {
        await rig.Begin(BenchRig.Request("R1"));
        rig.Advance(Duration.FromSeconds(50));
        await rig.Must(new BenchCommand.Mixed(new RequestId("R1")));
        rig.Advance(Duration.FromSeconds(25));
        await rig.Must(new BenchCommand.Loaded(new RequestId("R1"), new CartridgePlace.InSlot(new SlotNumber(1)),
            false));
        await rig.Until(view => view.State.Cartridges[0].Phase is CartridgePhase.Reacting);
    }
}
