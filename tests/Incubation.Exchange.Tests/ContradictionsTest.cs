using System.Text.Json.Nodes;
using Xunit;
using static Incubation.Exchange.Tests.Sample;

namespace Incubation.Exchange.Tests;

/// <summary>Days whose every member can be read, and that contradict themselves: each with its path.</summary>
public sealed class ContradictionsTest
{
    [Fact]
    public void Parse_UnknownAssay_IsAFault() =>
        AssertFault("$.requests[3].assay", Change(root => root["requests"]![3]!["assay"] = "Z9"));

    [Fact]
    public void Parse_NoAssaysAtAll_IsAFaultOfEachRequest()
    {
        var result = BenchDayFile.Parse(Change(MorningDay, root => root["assays"] = new JsonArray()));
        Assert.Equal(Enumerable.Range(0, 6).Select(i => $"$.requests[{i}].assay"),
            result.Faults.Select(fault => fault.Path));
    }

    [Fact]
    public void Parse_DuplicateRequestId_IsAFault()
    {
        var fault = AssertFault("$.requests[5].id", Change(MorningDay, root => root["requests"]![5]!["id"] = "R01"));
        Assert.Contains("$.requests[0].id", fault.What, StringComparison.Ordinal);
    }

    [Fact]
    public void Parse_DuplicateAssayCode_IsAFault() =>
        AssertFault("$.assays[2].code",
            Change(MorningDay, root => (root["assays"]![2]!["code"], root["requests"]![2]!["assay"]) = ("A1", "A1")));

    [Fact]
    public void Parse_AfterItself_IsAFault() =>
        AssertFault("$.requests[5].after[0]", Change(root => root["requests"]![5]!["after"] = new JsonArray("R06")));

    [Fact]
    public void Parse_AfterTwice_IsAFault() =>
        AssertFault("$.requests[5].after[1]",
            Change(root => root["requests"]![5]!["after"] = new JsonArray("R02", "R02")));

    [Fact]
    public void Parse_AfterUnknownRequestBeforeTheDayBegins_IsAFault()
    {
        AssertFault("$.requests[5].after[0]",
            Change(MorningDay, root => root["requests"]![5]!["after"] = new JsonArray("R99")));
        Read(Change(root => root["requests"]![5]!["after"] = new JsonArray("R99")));
    }

    [Fact]
    public void Parse_CycleInAfter_IsAFaultThatNamesIt()
    {
        var fault = AssertFault("$.requests[0].after", Change(MorningDay, root =>
        {
            root["requests"]![0]!["after"] = new JsonArray("R02", "R03");
            root["requests"]![2]!["after"] = new JsonArray("R04");
            root["requests"]![3]!["after"] = new JsonArray("R05", "R01");
        }));
        Assert.Contains("R01 → R03 → R04 → R01", fault.What, StringComparison.Ordinal);
    }

    [Fact]
    public void Parse_CycleThatABeginningLeadsInto_IsAFaultOfTheCycle() =>
        AssertFault("$.requests[1].after", Change(MorningDay, root =>
        {
            root["requests"]![0]!["after"] = new JsonArray("R02");
            root["requests"]![1]!["after"] = new JsonArray("R03");
            root["requests"]![2]!["after"] = new JsonArray("R02");
        }));

    [Fact]
    public void Parse_LongChainInAfter_IsRead() =>
        Read(Change(MorningDay, root =>
        {
            var requests = new JsonArray();
            for (var i = 0; i < 500; i++)
                requests.Add(new JsonObject
                {
                    ["id"] = "R" + i,
                    ["specimen"] = "S",
                    ["assay"] = "A1",
                    ["lot"] = "L",
                    ["ready"] = "2026-03-02T08:00:00Z",
                    ["after"] = i == 499
                    ? new JsonArray() : new JsonArray("R" + (i + 1))
                });
            root["requests"] = requests;
        }));

    [Theory]
    [InlineData("mixShortest", "PT51S")]
    [InlineData("loadShortest", "PT26S")]
    public void Parse_ShortestAboveAllowed_IsAFault(string member, string length) =>
        AssertFault("$.assays[0]." + member, Change(root => root["assays"]![0]![member] = length));

    [Fact]
    public void Parse_StateWithoutNow_IsAFault() =>
        AssertFault("$.state", Change(root =>
        {
            root.Remove("now");
            root["requests"]![5]!.AsObject().Remove("after");
        }));

    [Fact]
    public void Parse_NowBeforeStart_IsAFault() =>
        AssertFault("$.now", Change(MorningDay, root => root["now"] = "2026-03-02T07:59:59Z"));

    [Theory]
    [InlineData("hands", 3)]
    [InlineData("slot", 5)]
    [InlineData("reader", 3)]
    [InlineData("slot", 0)]
    public void Parse_CalendarNumberThatTheBenchLacks_IsAFault(string resource, int number) =>
        AssertFault("$.calendar[0].number",
            Change(root => (root["calendar"]![0]!["resource"], root["calendar"]![0]!["number"]) = (resource, number)));

    [Fact]
    public void Parse_NumberOfTheIncubator_IsAFault() =>
        AssertFault("$.calendar[1].number", Change(root => root["calendar"]![1]!["number"] = 1));

    [Theory]
    [InlineData("2026-03-02T09:00:00Z")]
    [InlineData("2026-03-02T08:59:59Z")]
    public void Parse_CalendarEntryThatDoesNotEndAfterItBegins_IsAFault(string to) =>
        AssertFault("$.calendar[0].to", Change(root => root["calendar"]![0]!["to"] = to));

    [Theory]
    [InlineData("$.state.cartridges[0].loadEnd", "loadEnd", 0)]
    [InlineData("$.state.cartridges[3].mixEnd", "mixEnd", 3)]
    public void Parse_RangeReversedOrAfterNow_IsAFault(string path, string member, int cartridge)
    {
        AssertFault(path,
            State(state =>
                state["cartridges"]![cartridge]![member] = new JsonArray("2026-03-02T08:06:10Z",
                    "2026-03-02T08:06:00Z")));
        AssertFault(path,
            State(state =>
                state["cartridges"]![cartridge]![member] = new JsonArray("2026-03-02T08:06:10Z",
                    "2026-03-02T08:12:31Z")));
    }

    [Fact]
    public void Parse_StartAfterNow_IsAFault()
    {
        AssertFault("$.state.cartridges[1].start",
            State(state => state["cartridges"]![1]!["start"] = "2026-03-02T08:12:31Z"));
        AssertFault("$.state.steps[0].start", State(state => state["steps"]![0]!["start"] = "2026-03-02T08:12:31Z"));
    }

    [Fact]
    public void Parse_NumbersInStateThatTheBenchLacks_AreFaults()
    {
        AssertFault("$.state.cartridges[0].slot", State(state => state["cartridges"]![0]!["slot"] = 5));
        AssertFault("$.state.cartridges[1].reader", State(state => state["cartridges"]![1]!["reader"] = 3));
        AssertFault("$.state.steps[1].slot", State(state => state["steps"]![1]!["slot"] = 5));
        AssertFault("$.state.steps[0].hands", State(state => state["steps"]![0]!["hands"] = 3));
        AssertFault("$.state.readers[0].reader", State(state => state["readers"]![0]!["reader"] = 3));
    }

    [Fact]
    public void Parse_TwoCartridgesInOneSlot_IsAFault()
    {
        AssertFault("$.state.steps[1].slot", State(state => state["steps"]![1]!["slot"] = 3));
        AssertFault("$.state.cartridges[2].slot", State(state =>
        {
            state["cartridges"]![2]!.AsObject().Remove("reader");
            state["cartridges"]![2]!["slot"] = 3;
        }));
    }

    [Fact]
    public void Parse_SlotLeftByAMoveInProgress_IsFree() =>
        Read(State(state =>
        {
            state["cartridges"]!.AsArray().RemoveAt(2);
            state["steps"]![0] = JsonNode.Parse(
                """{ "step": "move", "request": "R01", "hands": 1, "reader": 2, "start": "2026-03-02T08:12:20Z" }""");
            state["steps"]![1]!["slot"] = 3;
        }));

    [Fact]
    public void Parse_TwoThingsInOneReader_IsAFault()
    {
        AssertFault("$.state.cartridges[2].reader",
            State(state => (state["cartridges"]![2]!["reader"], state["readers"]) = (1, new JsonArray())));
        AssertFault("$.state.steps[0].reader", FirstStep(
            """{ "step": "card-change", "hands": 1, "reader": 2, "lot": "A1-L1", "start": "2026-03-02T08:12:20Z" }"""));
        AssertFault("$.state.steps[0].reader", FirstStep(
            """{ "step": "move", "request": "R01", "hands": 1, "reader": 2, "start": "2026-03-02T08:12:20Z" }"""));
    }

    [Fact]
    public void Parse_SameTwice_IsAFault()
    {
        AssertFault("$.state.readers[1].reader", More("readers",
            """{ "reader": 1, "card": "A1-L1" }"""));
        AssertFault("$.state.steps[1].hands", State(state => state["steps"]![1]!["hands"] = 1));
        AssertFault("$.state.cartridges[4].request", More("cartridges",
            """{ "request": "R04", "phase": "mixed", "mixEnd": ["2026-03-02T08:11:30Z", "2026-03-02T08:11:40Z"] }"""));
    }

    [Fact]
    public void Parse_TwoStepsOnOneCartridge_IsAFault()
    {
        var result = BenchDayFile.Parse(FirstStep(
            """{ "step": "load", "request": "R04", "hands": 1, "slot": 2, "start": "2026-03-02T08:12:10Z" }"""));
        AssertFault("$.state.steps[1].request", result);
    }

    [Fact]
    public void Parse_UnknownRequestInState_IsAFault()
    {
        AssertFault("$.state.cartridges[0].request", State(state => state["cartridges"]![0]!["request"] = "R77"));
        AssertFault("$.state.steps[0].request", State(state => state["steps"]![0]!["request"] = "R77"));
    }

    [Theory]
    [InlineData("""{ "step": "mix", "request": "R01", "hands": 1, "start": "2026-03-02T08:12:20Z" }""")]
    [InlineData("""{ "step": "load", "request": "R06", "hands": 1, "slot": 2, "start": "2026-03-02T08:12:20Z" }""")]
    [InlineData("""{ "step": "clear", "request": "R02", "hands": 1, "reader": 1, "start": "2026-03-02T08:12:20Z" }""")]
    [InlineData("""{ "step": "clear", "request": "R01", "hands": 1, "reader": 1, "start": "2026-03-02T08:12:20Z" }""")]
    [InlineData("""{ "step": "discard", "request": "R02", "hands": 1, "start": "2026-03-02T08:12:20Z" }""")]
    [InlineData("""{ "step": "discard", "request": "R05", "hands": 1, "start": "2026-03-02T08:12:20Z" }""")]
    public void Parse_StepOfACartridgeInTheWrongPhase_IsAFault(string step) =>
        AssertFault("$.state.steps[0].request", FirstStep(step));

    [Fact]
    public void Parse_MoveOfACartridgeInsideAReader_IsAFault() =>
        AssertFault("$.state.steps[0].request", State(state =>
        {
            state["cartridges"]!.AsArray().RemoveAt(1);
            state["steps"]![0] = JsonNode.Parse(
                """{ "step": "move", "request": "R03", "hands": 1, "reader": 1, "start": "2026-03-02T08:12:20Z" }""");
            state["readers"] = new JsonArray();
        }));

    [Fact]
    public void Parse_ClearFromAnotherReader_IsAFault() =>
        AssertFault("$.state.steps[0].reader", FirstStep(
            """{ "step": "clear", "request": "R03", "hands": 1, "reader": 1, "start": "2026-03-02T08:12:20Z" }"""));

    [Fact]
    public void Parse_ClearOfACartridgeThatReactedInItsReader_IsRead() =>
        Read(FirstStep(
            """{ "step": "clear", "request": "R03", "hands": 1, "reader": 2, "start": "2026-03-02T08:12:20Z" }"""));

    [Fact]
    public void Parse_PlaceThatTheAssayExcludes_IsAFault()
    {
        AssertFault("$.state.cartridges[2].reader",
            Change(root => (root["requests"]![2]!["assay"], root["requests"]![2]!["lot"]) = ("A1", "A1-L1")));
        AssertFault("$.state.cartridges[0].slot", Change(root => root["requests"]![0]!["assay"] = "B1"));
        AssertFault("$.state.steps[1].slot", Change(root => root["requests"]![3]!["assay"] = "B1"));
    }

    [Fact]
    public void Parse_CardOfAnotherLotUnderACartridge_IsAFault()
    {
        AssertFault("$.state.cartridges[1].reader", State(state => state["readers"]![0]!["card"] = "A1-L2"));
        AssertFault("$.state.cartridges[2].reader", More("readers",
            """{ "reader": 2, "card": "A1-L1" }"""));
    }

    [Fact]
    public void Parse_BrokenRequest_DoesNotAlsoAccuseTheState() =>
        AssertFault("$.requests[0].ready", Change(root => root["requests"]![0]!["ready"] = "soon"));

    private static string State(Action<JsonNode> change) => Change(root => change(root["state"]!));

    private static string FirstStep(string step) => State(state => state["steps"]![0] = JsonNode.Parse(step));

    private static string More(string list, string one) =>
        State(state => state[list]!.AsArray().Add(JsonNode.Parse(one)));
}
