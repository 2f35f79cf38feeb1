using Incubation.Bench;
using Incubation.Clinic;
using Incubation.Clinic.Stock;
using Incubation.Service.Stock;
using Incubation.Service.Tests.Support;

namespace Incubation.Service.Tests.Stock;

/// <summary>A box that is scanned at the bench, held against the cartridge that is due.</summary>
public sealed class BoxJudgeTest : IAsyncLifetime
{
    private StockHouse? opened;

    private StockHouse House => opened!;

    private BoxJudge Judge => new(House.Clinic, House.Rig.Book, House.Clock);

    public async ValueTask InitializeAsync()
    {
        opened = await StockHouse.OpenAsync();
        House.Receive("DA-L1", StockHouse.Today.PlusDays(100), 10);
        House.Receive("DA-L2", StockHouse.Today.PlusDays(100), 10);
        House.Receive("DA-OLD", StockHouse.Today.PlusDays(-1), 10);
        House.Receive("DA-SHUT", StockHouse.Today.PlusDays(100), 10);
        House.Clinic.Log.Record(new ClinicEvent.StockQuarantined(StockKind.Kit,
            new Incubation.Model.LotCode("DA-SHUT"), "damp"), House.Rig.Provenance());
        await House.Rig.Runner.SendAsync(new BenchCommand.AddRequests([BenchRig.Request("R01", "DA", 8)]),
            House.Rig.Provenance());
    }

    public ValueTask DisposeAsync() => House.DisposeAsync();

    [Theory]
    [InlineData("(01)00844588003288(10)DA-L1", true, "Right: kit DA-L1")]
    [InlineData("]d2010084458800328810DA-L1", true, "Right: kit DA-L1")]
    [InlineData("(01)00844588003288(10)DA-L2", false, "Wrong lot: this is kit DA-L2")]
    [InlineData("(01)00844588003288(10)DA-OLD", false, "expired on 2026-03-01")]
    [InlineData("(01)00844588003288(10)DA-SHUT", false, "is in quarantine: damp")]
    [InlineData("(01)00844588003288(10)NEVER", false, "Lot NEVER was not received")]
    [InlineData("(01)00844588003288(17)270101", false, "has no lot")]
    public void Judge_BoxWhileACartridgeIsDue_SaysWhetherItIsIts(string scanned, bool isRight, string sentence)
    {
        var answer = Judge.Judge(BenchRig.Id.Value, "R01", scanned);
        Assert.Equal(isRight, answer!.IsRight);
        Assert.Contains(sentence, answer.Sentence, StringComparison.Ordinal);
    }

    [Theory]
    [InlineData("CR.bench-1.R01")]
    [InlineData("hello")]
    [InlineData("")]
    public void Judge_NoCodeOfABox_Null(string scanned) => Assert.Null(Judge.Judge(BenchRig.Id.Value, "R01", scanned));

    [Fact]
    public void Judge_NothingDue_SaysWhetherItMayBeUsed()
    {
        Assert.True(Judge.Judge(BenchRig.Id.Value, null, "(01)00844588003288(10)DA-L2")!.IsRight);
        Assert.False(Judge.Judge(BenchRig.Id.Value, null, "(01)00844588003288(10)DA-OLD")!.IsRight);
    }
}
