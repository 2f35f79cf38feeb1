using Incubation.Bench;
using Incubation.Clinic.TestKit;
using Incubation.Model;
using Incubation.Records.Benches;
using Incubation.Records.Clinic;
using Incubation.Records.Stock;
using Xunit;

namespace Incubation.Records.Tests;

/// <summary>Cartridges counted as used, by what the bench reported.</summary>
public sealed class CartridgeUseTest : IDisposable
{
    private static readonly LotCode A = LotCode.Of("A-L1");
    private static readonly LotCode B = LotCode.Of("B-L1");

    private readonly TempFolder folder = new();
    private readonly DataFile file;
    private readonly CartridgeUse use;

    public CartridgeUseTest()
    {
        file = DataFile.Open(folder.DataFile);
        ClinicLog.Open(file).Tell(ClinicStory.Commands);
        use = new CartridgeUse(file);
    }

    public void Dispose()
    {
        file.Dispose();
        folder.Dispose();
    }

    /// <summary>
    /// R01 and R02 of lot A-L1 and A-L2, R04 of B-L1; what the bench said of requests that the clinic does not know
    /// counts for nothing.
    /// </summary>
    [Fact]
    public void Of_MixedAndLoaded_CountsEachCartridgeOnce()
    {
        Append(Mixed("R01", 1), Loaded("R01", 2), Mixed("R99", 3));
        Assert.Equal((1, 0), (use.Of(A, null), use.Of(B, null)));
        // Its mix was never reported.
        Append(Loaded("R04", 4));
        Assert.Equal((1, 1), (use.Of(A, null), use.Of(B, null)));
    }

    [Fact]
    public void Of_AfterACount_LeavesOutWhatWasUsedBefore()
    {
        Append(Mixed("R01", 1), Loaded("R01", 5));
        Assert.Equal(0, use.Of(A, Rows.Provenance(1).At));
        Assert.Equal(1, use.Of(A, Rows.Provenance(0).At));
    }

    [Fact]
    public void Of_ReportTakenBack_WasNeverSo()
    {
        Append(Mixed("R01", 1), Of(2, new BenchEvent.ReportUndone(Rows.Provenance(1).Id)));
        Assert.Equal(0, use.Of(A, null));
        Append(Mixed("R01", 3), Of(4, new BenchEvent.ReportsRevised([Rows.Provenance(3).Id], [], [], null)));
        Assert.Equal(0, use.Of(A, null));
        Append(Mixed("R01", 5));
        Assert.Equal(1, use.Of(A, null));
    }

    /// <summary>
    /// A file of before there was the table, or of another version of the code: it is made from the streams.
    /// </summary>
    [Theory]
    [InlineData("DELETE FROM Uses; DELETE FROM Projections WHERE Name = 'uses'")]
    [InlineData("UPDATE Uses SET Request = 'R04'; UPDATE Projections SET CodeVersion = 0 WHERE Name = 'uses'")]
    public void Open_TableOfAnotherVersion_IsMadeAnew(string damage)
    {
        Append(Mixed("R01", 1), Mixed("R04", 2), Of(3, new BenchEvent.ReportUndone(Rows.Provenance(2).Id)));
        RawFile.Run(folder.DataFile, damage);
        Assert.NotEqual((1, 0), (use.Of(A, null), use.Of(B, null)));
        _ = ClinicLog.Open(file);
        Assert.Equal((1, 0), (use.Of(A, null), use.Of(B, null)));
    }

    private void Append(params BenchEntry[] entries)
    {
        var streams = new BenchStreams(file);
        streams.Append(Rows.Bench, streams.Load(Rows.Bench).Count(), entries);
    }

    private static BenchEntry Mixed(string request, int number) => Of(number, new BenchEvent.Mixed(
        RequestId.Of(request), HandsNumber.Of(1), Rows.Provenance(number).At,
            new InstantRange(Rows.Provenance(number).At, Rows.Provenance(number).At), []));

    private static BenchEntry Loaded(string request, int number) => Of(number, new BenchEvent.Loaded(
        RequestId.Of(request), HandsNumber.Of(1), new CartridgePlace.InSlot(SlotNumber.Of(1)),
            Rows.Provenance(number).At, new InstantRange(Rows.Provenance(number).At, Rows.Provenance(number).At), []));

    private static BenchEntry Of(int number, BenchEvent happened) => new(happened, Rows.Provenance(number));
}
