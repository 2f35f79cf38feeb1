using Incubation.Clinic.TestKit;
using Incubation.Records.Clinic;
using Incubation.TestKit;
using Xunit;

namespace Incubation.Records.Tests;

/// <summary>What a clinic's log knows is in its file: opened again, it knows the same.</summary>
public sealed class ClinicReopenedTest : IDisposable
{
    private readonly TempFolder folder = new();
    private readonly DataFile file;
    private readonly ClinicLog log;

    public ClinicReopenedTest()
    {
        file = DataFile.Open(folder.DataFile);
        log = ClinicLog.Open(file);
    }

    public void Dispose()
    {
        file.Dispose();
        folder.Dispose();
    }

    [Fact]
    public void Reopened_SameControls()
    {
        Assert.Empty(log.Tell(ControlsStory.Commands));
        var again = ClinicLog.Open(file).Controls;
        Assert.Equal(Any.WriteOut(log.Controls.Targets), Any.WriteOut(again.Targets));
        Assert.Equal(Any.WriteOut(log.Controls.Of(ControlsStory.Kit).Runs),
            Any.WriteOut(again.Of(ControlsStory.Kit).Runs));
        Assert.Equal(log.Controls.Of(ControlsStory.Kit).Actions, again.Of(ControlsStory.Kit).Actions);
    }

    [Fact]
    public void Reopened_SamePeople()
    {
        Assert.Empty(log.Tell(PeopleStory.Commands));
        var again = ClinicLog.Open(file).People;
        Assert.Equal(log.People.Persons, again.Persons);
        Assert.Equal(log.People.Devices, again.Devices);
    }

    [Fact]
    public void Reopened_SameStock()
    {
        Assert.Empty(log.Tell(StockStory.Commands));
        Assert.Equal(Written(log), Written(ClinicLog.Open(file)));
    }

    private static IEnumerable<string> Written(ClinicLog log) =>
        log.Stock.Items.Values.Select(Any.WriteOut).Order(StringComparer.Ordinal);
}
