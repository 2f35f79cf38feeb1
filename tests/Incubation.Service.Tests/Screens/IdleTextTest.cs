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
}
