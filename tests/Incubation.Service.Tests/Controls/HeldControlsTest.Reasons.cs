using Incubation.Bench;
using Incubation.Service.Decisions;
using Incubation.Service.Text;
using static Incubation.Service.Tests.Support.ControlsHouse;

namespace Incubation.Service.Tests.Controls;

/// <content>What is said of a result that is held for several reasons.</content>
public sealed partial class HeldControlsTest
{
    /// <summary>
    /// All that holds a result is said of it, in the same words while its batch is open and once it is closed; also
    /// beside a question about its value, and where an amendment waits.
    /// </summary>
    [Theory]
    [InlineData("200", "the reader showed no specimen id · read late")]
    [InlineData("1,234",
        "the reader showed no specimen id · it can be read as more than one number · read late")]
    public async Task HeldForSeveralReasons_AllAreSaid_WhileItsBatchIsOpenAndAfter(string value, string reasons)
    {
        var list = Decisions();
        var late = House.State.Find(Control(1))!;
        await House.RunThrough(late, readAfter: TimeSpan.FromMinutes(60));
        await House.Must(new BenchCommand.ResultEntered(late.Id, new ShownResult.Value(value), ShownIdentity.None));
        await House.RunControl(2, "250");
        var open = Assert.Single(list.For(Ines), line => line.Kind == DecisionKind.HeldResult);
        Assert.EndsWith(reasons, open.What, StringComparison.Ordinal);

        await Close();
        var closed = Assert.Single(list.For(Ines), line => line.Kind == DecisionKind.HeldResult);
        Assert.EndsWith(reasons, closed.What, StringComparison.Ordinal);
        Assert.Equal(reasons, ResultHoldText.Of(Book().Batch(BenchOne, 1)!.Cartridges
            .Single(one => one.Request == late.Id), House.Clinic.Facts.Zone));
    }

    /// <summary>What only a correction would let out says so, with both times, also once its batch is closed.</summary>
    [Fact]
    public async Task HeldSinceItsTimeWasCorrected_IsSaid_WhileItsBatchIsOpenAndAfter()
    {
        var list = Decisions();
        var early = House.State.Find(Control(1))!;
        await House.RunThrough(early, readAfter: TimeSpan.FromMinutes(5));
        await House.Must(new BenchCommand.ResultEntered(early.Id, new ShownResult.Value("200")));
        await House.RunControl(2, "250");
        var read = House.State.Story.First(told => told.Event is BenchEvent.ReadStarted one && one.Request == early.Id);
        var to = read.At + NodaTime.Duration.FromSeconds((3 * 60) + 40);
        await House.Must(new BenchCommand.CorrectReport(read.Id, to, null, null, "The clock on the wall."));
        await House.Gates.SettleAsync();

        var zone = House.Clinic.Facts.Zone;
        var reason = "200 mg/L · its time was corrected, from "
            + $"{Say.ClockWithSeconds(read.At, zone)} to {Say.ClockWithSeconds(to, zone)}";
        Assert.EndsWith(reason, Assert.Single(list.For(Ines), line => line.Kind == DecisionKind.HeldResult).What,
            StringComparison.Ordinal);
        Assert.Equal(2, Assert.Single(History.Standing).Control.Level);
        await Close();
        Assert.EndsWith(reason, Assert.Single(list.For(Ines), line => line.Kind == DecisionKind.HeldResult).What,
            StringComparison.Ordinal);
    }
}
