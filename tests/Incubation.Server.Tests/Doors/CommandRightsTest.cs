using System.Runtime.CompilerServices;
using Incubation.Bench;
using Incubation.Clinic.People;
using Incubation.Model;
using Incubation.Records.Benches;
using Incubation.Service.Tests.Support;

namespace Incubation.Server.Tests.Doors;

/// <summary>Which right each command needs: none is forgotten, and none that is not known is allowed.</summary>
public sealed class CommandRightsTest
{
    /// <summary>What a kind of command needs, whatever it says.</summary>
    public static Right? NeededOf(Type command) =>
        CommandRights.Needed((BenchCommand)RuntimeHelpers.GetUninitializedObject(command));

    [Fact]
    public void Needed_OfEveryCommand_IsSaid()
    {
        var said = CommandJson.Kinds.Values.ToDictionary(type => type.Name, NeededOf);
        Assert.Equal(
            ["AdoptPlan", "KeepCheckpoint", "NoteClock", "NotePlanning", "NoteRestart", "NoteStepNotKnown", "OpenBench",
                "ProposeAmendment", "SetLotGate"],
            said.Where(pair => pair.Value is null).Select(pair => pair.Key).Order(StringComparer.Ordinal));
        Assert.Equal(["AskForLabels", "ConfirmAmendment", "DeclineAmendment", "ExpectProbe", "ReleaseResult",
                "SetIncubator", "WaiveTelling"],
            Of(Right.Supervise));
        Assert.Equal(["AddRequests"], Of(Right.AddRequests));
        Assert.Equal(
            [
                "AcknowledgeAlarm", "AnswerQuestion", "CardChanged", "CardSeen", "Cleared", "CorrectReport",
                    "Discarded", "Loaded", "Mixed", "NotBegun",
                "ReadStarted", "Several", "TemperatureMeasured",
            ],
            Of(Right.Report));

        IEnumerable<string> Of(Right right) => said.Where(pair => pair.Value == right).Select(pair => pair.Key)
            .Order(StringComparer.Ordinal);
    }

    [Fact]
    public void May_SeveralToldTogether_NeedsTheRightToEachOfThem()
    {
        Assert.True(CommandRights.May(AnAide.Lena, Several(new BenchCommand.Mixed(new RequestId("R1"))), "bench-1"));
        Assert.False(CommandRights.May(AnAide.Lena, Several(new BenchCommand.NoteClock(null)), "bench-1"));
        Assert.False(CommandRights.May(AnAide.Lena, Several(Several(new BenchCommand.NoteClock(null))), "bench-1"));

        static BenchCommand.Several Several(BenchCommand what) => new([new Told(default, what)]);
    }

    [Fact]
    public void May_CommandOfTheServersOwn_IsNobodys() =>
        Assert.False(CommandRights.May(AnAide.Lena, new BenchCommand.NoteClock(null), "bench-1"));
}
