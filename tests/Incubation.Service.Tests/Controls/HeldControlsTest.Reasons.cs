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
            .Single(one => one.Request == late.Id)));
    }
}
