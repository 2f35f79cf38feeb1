using System.Text.Json.Nodes;
using Xunit;
using static Incubation.Exchange.Tests.Sample;

namespace Incubation.Exchange.Tests;

/// <summary>What cannot be understood, or is out of all bounds: each with its path.</summary>
public sealed class BenchDayFaultsTest
{
    [Theory]
    [InlineData("", 1)]
    [InlineData("nonsense", 1)]
    [InlineData("{\n\"start\": \"2026-03-02T08:00:00Z\",\n}", 3)]
    [InlineData("{\n  // a note\n}", 2)]
    [InlineData("{ \"bench\": { \"waitWeight\": NaN } }", 1)]
    [InlineData("{} {}", 1)]
    [InlineData("{\"start\":\n\"\\ud800\"}", 2)]
    public void Parse_BrokenJson_SaysWhichLine(string text, int line)
    {
        var fault = Assert.Single(BenchDayFile.Parse(text).Faults);
        Assert.Equal(line, fault.Line);
        Assert.StartsWith("$", fault.Path, StringComparison.Ordinal);
    }

    [Fact]
    public void Parse_BrokenJsonDeepInside_SaysWhere() =>
        AssertFault("$.bench", "{ \"bench\": { \"hands\": 1 \"slots\": 8 } }");

    [Theory]
    [InlineData("[]")]
    [InlineData("null")]
    [InlineData("\"a day\"")]
    public void Parse_RootThatIsNoObject_IsAFault(string text) => AssertFault("$", text);

    [Fact]
    public void Parse_MemberTwice_IsAFault()
    {
        var fault =
            AssertFault("$.start",
                MorningDay.Replace("\"start\":", "\"start\":\"2026-03-02T08:00:00Z\",\"start\":",
                    StringComparison.Ordinal));
        Assert.Contains("twice", fault.What, StringComparison.Ordinal);
    }

    [Fact]
    public void Parse_FaultOnALaterLine_SaysWhichLine()
    {
        var fault = AssertFault("$.requests[1].assay",
            MidRunDay.Replace("\"SP-002\", \"assay\": \"A1\"", "\"SP-002\", \"assay\": \"A7\"",
                StringComparison.Ordinal));
        Assert.Equal(1 + MidRunDay.Split('\n').ToList()
            .FindIndex(line => line.Contains("R02", StringComparison.Ordinal)), fault.Line);
        Assert.Contains("A7", fault.What, StringComparison.Ordinal);
        Assert.Contains("A1, B1, E1", fault.Allowed, StringComparison.Ordinal);
    }

    [Theory]
    [InlineData("$.colour", "")]
    [InlineData("$.bench.colour", "bench")]
    [InlineData("$.assays[1].colour", "assays", 1)]
    [InlineData("$.requests[2].colour", "requests", 2)]
    [InlineData("$.calendar[0].colour", "calendar", 0)]
    [InlineData("$.state.colour", "state")]
    [InlineData("$.state.readers[0].colour", "state", "readers", 0)]
    [InlineData("$.state.steps[1].colour", "state", "steps", 1)]
    [InlineData("$.state.cartridges[3].colour", "state", "cartridges", 3)]
    public void Parse_UnknownMember_IsAFault(string path, params object[] steps)
    {
        var fault = AssertFault(path, Change(root => At(root, steps).AsObject().Add("colour", "blue")));
        Assert.StartsWith("only ", fault.Allowed, StringComparison.Ordinal);
    }

    [Fact]
    public void Parse_UnknownMemberOfOddName_QuotesItInThePath() =>
        AssertFault("$['the  colour']", Change(root => root.Add("the \ncolour", 1)));

    [Theory]
    [InlineData("$.state.cartridges[1].slot", 1, "slot")]
    [InlineData("$.state.cartridges[1].loadEnd", 1, "loadEnd")]
    [InlineData("$.state.cartridges[3].reader", 3, "reader")]
    public void Parse_MemberOfAnotherPhase_IsAFault(string path, int cartridge, string member) =>
        AssertFault(path, Change(root => At(root, "state", "cartridges", cartridge)[member] = 2));

    [Fact]
    public void Parse_ReactingInSlotAndReader_IsAFault() =>
        AssertFault("$.state.cartridges[0]", Change(root => At(root, "state", "cartridges", 0)["reader"] = 2));

    [Theory]
    [InlineData("$", "start", "")]
    [InlineData("$", "bench", "")]
    [InlineData("$", "assays", "")]
    [InlineData("$", "requests", "")]
    [InlineData("$.bench", "hands", "bench")]
    [InlineData("$.bench", "slots", "bench")]
    [InlineData("$.bench", "readers", "bench")]
    [InlineData("$.bench", "cardChange", "bench")]
    [InlineData("$.bench", "readGuard", "bench")]
    [InlineData("$.assays[0]", "code", "assays", 0)]
    [InlineData("$.assays[0]", "name", "assays", 0)]
    [InlineData("$.assays[0]", "place", "assays", 0)]
    [InlineData("$.assays[0]", "mix", "assays", 0)]
    [InlineData("$.assays[0]", "mixToLoad", "assays", 0)]
    [InlineData("$.assays[0]", "load", "assays", 0)]
    [InlineData("$.assays[0]", "incubation", "assays", 0)]
    [InlineData("$.assays[0]", "readWindow", "assays", 0)]
    [InlineData("$.assays[0]", "move", "assays", 0)]
    [InlineData("$.assays[0]", "read", "assays", 0)]
    [InlineData("$.assays[0]", "clear", "assays", 0)]
    [InlineData("$.requests[0]", "id", "requests", 0)]
    [InlineData("$.requests[0]", "specimen", "requests", 0)]
    [InlineData("$.requests[0]", "assay", "requests", 0)]
    [InlineData("$.requests[0]", "lot", "requests", 0)]
    [InlineData("$.requests[0]", "ready", "requests", 0)]
    [InlineData("$.calendar[0]", "resource", "calendar", 0)]
    [InlineData("$.calendar[0]", "number", "calendar", 0)]
    [InlineData("$.calendar[0]", "from", "calendar", 0)]
    [InlineData("$.calendar[0]", "to", "calendar", 0)]
    [InlineData("$.state.readers[0]", "card", "state", "readers", 0)]
    [InlineData("$.state.steps[0]", "step", "state", "steps", 0)]
    [InlineData("$.state.steps[0]", "hands", "state", "steps", 0)]
    [InlineData("$.state.steps[0]", "start", "state", "steps", 0)]
    [InlineData("$.state.steps[1]", "slot", "state", "steps", 1)]
    [InlineData("$.state.cartridges[0]", "phase", "state", "cartridges", 0)]
    [InlineData("$.state.cartridges[0]", "loadEnd", "state", "cartridges", 0)]
    [InlineData("$.state.cartridges[0]", "slot", "state", "cartridges", 0)]
    [InlineData("$.state.cartridges[1]", "start", "state", "cartridges", 1)]
    [InlineData("$.state.cartridges[3]", "mixEnd", "state", "cartridges", 3)]
    public void Parse_MemberMissing_IsAFaultOfItsObject(string path, string member, params object[] steps) =>
        AssertFault(path, Change(root => At(root, steps).AsObject().Remove(member)));

    [Theory]
    [InlineData("-PT5S")]
    [InlineData("PT-5S")]
    [InlineData("PT24H1S")] // longer than a day
    [InlineData("P2D")]
    [InlineData("PT1.5S")]
    [InlineData("PT")]
    [InlineData("P")]
    [InlineData("P1DT")]
    [InlineData("P1M")]
    [InlineData("90")]
    [InlineData("pt5s")]
    [InlineData("PT5S ")]
    [InlineData("PT99999999999999S")]
    [InlineData("PT٥S")] // a digit, but not of ASCII
    public void Parse_LengthNegativeAbsurdOrNone_IsAFault(string length)
    {
        var fault = AssertFault("$.assays[0].incubation", Change(root => root["assays"]![0]!["incubation"] = length));
        Assert.Contains(length, fault.What, StringComparison.Ordinal);
        Assert.Contains("PT24H", fault.Allowed, StringComparison.Ordinal);
    }

    [Theory]
    [InlineData("PT0S")]
    [InlineData("PT24H")]
    [InlineData("P1D")]
    [InlineData("PT90S")]
    [InlineData("PT1H")]
    [InlineData("P0DT0H1M0S")]
    public void Parse_LengthOfWholeSeconds_IsRead(string length) =>
        Read(Change(root => root["assays"]![0]!["incubation"] = length));

    [Theory]
    [InlineData("2026-03-02T08:00:00")]
    [InlineData("2026-03-02T08:00:00+01:00")]
    [InlineData("2026-03-02T08:00Z")]
    [InlineData("2026-03-02 08:00:00Z")]
    [InlineData("2026-02-30T08:00:00Z")]
    [InlineData("2026-03-02T24:00:01Z")]
    [InlineData("2026-03-02T08:00:00.0001Z")]
    [InlineData("1999-12-31T23:59:59Z")]
    [InlineData("2200-01-01T00:00:00Z")]
    [InlineData("yesterday")]
    [InlineData("")]
    public void Parse_InstantThatIsNone_IsAFault(string instant) =>
        AssertFault("$.requests[0].ready", Change(root => root["requests"]![0]!["ready"] = instant));

    [Theory]
    [InlineData("hands", "0")]
    [InlineData("hands", "21")]
    [InlineData("hands", "1.5")]
    [InlineData("hands", "\"1\"")]
    [InlineData("hands", "null")]
    [InlineData("hands", "99999999999")]
    [InlineData("slots", "-1")]
    [InlineData("slots", "201")]
    [InlineData("readers", "0")]
    [InlineData("readers", "51")]
    [InlineData("waitWeight", "-0.1")]
    [InlineData("waitWeight", "1e999")]
    [InlineData("waitWeight", "\"NaN\"")]
    [InlineData("waitWeight", "1001")]
    [InlineData("readGuard", "15")]
    [InlineData("cardChange", "\"-PT1S\"")]
    public void Parse_BenchThatCannotBe_IsAFault(string member, string value) =>
        AssertFault("$.bench." + member, Change(MorningDay, root =>
        {
            root["bench"]![member] = JsonNode.Parse(value);
            root.Remove("calendar");
        }));

    [Theory]
    [InlineData("\"\"")]
    [InlineData("\" R01\"")]
    [InlineData("\"R\\u000701\"")]
    [InlineData("12")]
    [InlineData("null")]
    public void Parse_IdThatIsNone_IsAFault(string id) =>
        AssertFault("$.requests[5].id", Change(root => root["requests"]![5]!["id"] = JsonNode.Parse(id)));

    [Fact]
    public void Parse_IdTooLong_IsAFaultThatQuotesItsBeginning()
    {
        var fault = AssertFault("$.requests[5].id",
            Change(root => root["requests"]![5]!["id"] = new string('x', 10_000)));
        Assert.InRange(fault.What.Length, 1, 100);
    }

    [Theory]
    [InlineData("$.assays[0].place", "fridge", "assays", 0, "place")]
    [InlineData("$.assays[0].name", "", "assays", 0, "name")]
    [InlineData("$.requests[5].kind", "Patient", "requests", 5, "kind")]
    [InlineData("$.requests[5].priority", "stat", "requests", 5, "priority")]
    [InlineData("$.requests[5].repeatLeft", "yes", "requests", 5, "repeatLeft")]
    [InlineData("$.requests[5].after", "R02", "requests", 5, "after")]
    [InlineData("$.calendar[0].resource", "table", "calendar", 0, "resource")]
    [InlineData("$.calendar[0].why", "\u0007", "calendar", 0, "why")]
    [InlineData("$.state.steps[0].step", "read", "state", "steps", 0, "step")]
    [InlineData("$.state.steps[0].step", "shake", "state", "steps", 0, "step")]
    [InlineData("$.state.cartridges[0].phase", "cleared", "state", "cartridges", 0, "phase")]
    [InlineData("$.state.cartridges[0].loadEnd", "2026-03-02T08:06:00Z", "state", "cartridges", 0, "loadEnd")]
    [InlineData("$.state", "running", "state")]
    [InlineData("$.assays", "none", "assays")]
    [InlineData("$.calendar", "none", "calendar")]
    public void Parse_ValueOutsideItsList_IsAFault(string path, string value, params object[] steps)
    {
        var result = BenchDayFile.Parse(Change(root => Set(root, steps, value)));
        Assert.Contains(result.Faults, fault => fault.Path == path);
    }

    [Fact]
    public void Parse_SeveralFaults_ReportsThemAllInTheOrderOfTheText()
    {
        var text = MidRunDay
            .Replace("\"hands\": 2, \"slots\": 4", "\"hands\": 0, \"slots\": 4", StringComparison.Ordinal)
            .Replace("\"place\": \"either\"", "\"place\": \"shelf\"", StringComparison.Ordinal)
            .Replace("\"why\": \"away\"", "\"reason\": \"away\"", StringComparison.Ordinal);
        Assert.Equal(["$.bench.hands", "$.assays[2].place", "$.calendar[0].reason"],
            BenchDayFile.Parse(text).Faults.Select(fault => fault.Path));
    }

    [Fact]
    public void Parse_EndlessFaults_StopsAtTheLimit()
    {
        var text = Change(root =>
        {
            for (var i = 0; i < 100; i++)
                root.Add("member" + i, i);
        });
        Assert.Equal(ParseResult<object>.MaximumFaults, BenchDayFile.Parse(text).Faults.Count);
    }

    [Fact]
    public void Parse_FivehundredRequests_AreTheMost()
    {
        string With(int count) => Change(MorningDay, root =>
        {
            var requests = new JsonArray();
            for (var i = 0; i < count; i++)
                requests.Add(new JsonObject
                {
                    ["id"] = "R" + i,
                    ["specimen"] = "S",
                    ["assay"] = "A1",
                    ["lot"] = "L",
                    ["ready"] = "2026-03-02T08:00:00Z"
                });
            root["requests"] = requests;
        });
        Assert.Equal(500, Read(With(500)).Requests.Count);
        var fault = AssertFault("$.requests", With(501));
        Assert.Contains("501", fault.What, StringComparison.Ordinal);
        Assert.Contains("500", fault.Allowed, StringComparison.Ordinal);
    }

    private static JsonNode At(JsonNode root, params object[] steps) =>
        steps.Where(step => step is not "").Aggregate(root, (node, step) => step is int index
            ? node[index]! : node[(string)step]!);

    private static void Set(JsonNode root, object[] steps, string value) =>
        At(root, steps[..^1])[(string)steps[^1]] = value;
}
