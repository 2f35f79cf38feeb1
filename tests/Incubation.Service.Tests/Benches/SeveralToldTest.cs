using Incubation.Bench;
using Incubation.Model;
using Incubation.Service.Tests.Support;
using NodaTime;

namespace Incubation.Service.Tests.Benches;

/// <summary>What was done in an absence, told together to a running bench.</summary>
public sealed class SeveralToldTest
{
    [Fact]
    public async Task Say_Several_AreWrittenAtOnceAndPlannedOnce()
    {
        await using var rig = await BenchRig.OpenAsync();
        await rig.Begin(BenchRig.Request("R1"), BenchRig.Request("R2"), BenchRig.Request("R3"));
        rig.Advance(Duration.FromMinutes(20));
        await rig.UntilPlanned(PlanCause.MeansChanged);
        var before = rig.State;

        await rig.Must(Several((50, new BenchCommand.Mixed(new RequestId("R1"))), (80, Load("R1", 1)),
            (140, new BenchCommand.Mixed(new RequestId("R2"))), (170, Load("R2", 2))));
        var shown = await rig.Until(view => !view.State.HasUnplanned && view.State.Revision > before.Revision);

        var since = rig.Log.Entries.Skip((int)before.Revision).Select(entry => entry.Event.GetType().Name).ToList();
        Assert.Equal(["Mixed", "Loaded", "Mixed", "Loaded", "PlanAdopted"], since);
        Assert.Equal(["R1", "R2"], shown.State.Cartridges.Where(cartridge => cartridge.Phase is not null)
            .Select(cartridge => cartridge.Id.Value));
    }

    [Fact]
    public async Task Say_SeveralOfWhichOneCannotBe_RecordsNothingAndSaysWhich()
    {
        await using var rig = await BenchRig.OpenAsync();
        await rig.Begin(BenchRig.Request("R1"));
        var before = rig.State.Revision;

        var answer = await rig.Say(Several((-50, new BenchCommand.Mixed(new RequestId("R1"))), (-10, Load("R1", 1))));

        Assert.False(answer.Recorded);
        Assert.StartsWith("Nothing is recorded yet. SP-R1 mixed: That time is not possible", answer.Sentence,
            StringComparison.Ordinal);
        Assert.Equal(before, rig.State.Revision);
    }

    [Fact]
    public async Task Say_SeveralAgain_IsAnsweredTheSame()
    {
        await using var rig = await BenchRig.OpenAsync();
        await rig.Begin(BenchRig.Request("R1"));
        rig.Advance(Duration.FromMinutes(2));
        var told = Several((50, new BenchCommand.Mixed(new RequestId("R1"))), (80, Load("R1", 1)));

        Assert.True((await rig.Say(told, id: "T9")).Recorded);
        Assert.True((await rig.Say(told, id: "T9")).Recorded);
        Assert.Equal(2, rig.State.Story.Count(step => step.Event.IsReport));
    }

    private static BenchCommand.Several Several(params (double At, BenchCommand What)[] told) =>
        new([.. told.Select(one => new Told(BenchRig.Start + Duration.FromSeconds(one.At), one.What))]);

    private static BenchCommand.Loaded Load(string request, int slot) =>
        new(new RequestId(request), new CartridgePlace.InSlot(new SlotNumber(slot)), false);
}
