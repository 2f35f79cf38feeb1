using System.Text.Json.Nodes;
using Incubation.Model;
using Xunit;

namespace Incubation.Exchange.Tests;

/// <summary>A bench day with every member, as text, for tests to break in one place each.</summary>
internal static class Sample
{
    public const string MidRunDay = """
        {
          "start": "2026-03-02T08:00:00Z",
          "bench": { "hands": 2, "slots": 4, "readers": 2, "cardChange": "PT25S", "readGuard": "PT15S", "waitWeight": 0.5 },
          "assays": [
            { "code": "A1", "name": "Demo assay A", "place": "incubator",
              "mix": "PT50S", "mixToLoad": "PT2M", "load": "PT25S", "incubation": "PT8M", "readWindow": "PT1M30S",
              "move": "PT15S", "read": "PT40S", "clear": "PT10S", "mixShortest": "PT35S", "loadShortest": "PT15S" },
            { "code": "B1", "name": "Demo assay B", "place": "reader",
              "mix": "PT50S", "mixToLoad": "PT2M", "load": "PT25S", "incubation": "PT3M", "readWindow": "PT1M",
              "move": "PT0S", "read": "PT40S", "clear": "PT10S" },
            { "code": "E1", "name": "Demo assay E", "place": "either",
              "mix": "PT50S", "mixToLoad": "PT2M", "load": "PT25S", "incubation": "PT3M", "readWindow": "PT1M",
              "move": "PT15S", "read": "PT40S", "clear": "PT10S" } ],
          "requests": [
            { "id": "R01", "specimen": "SP-001", "assay": "A1", "lot": "A1-L1", "ready": "2026-03-02T08:00:00Z" },
            { "id": "R02", "specimen": "SP-002", "assay": "A1", "lot": "A1-L1", "ready": "2026-03-02T08:00:00Z" },
            { "id": "R03", "specimen": "SP-003", "assay": "E1", "lot": "E1-L1", "ready": "2026-03-02T08:00:00Z" },
            { "id": "R04", "specimen": "SP-004", "assay": "A1", "lot": "A1-L1", "ready": "2026-03-02T08:00:00Z" },
            { "id": "R05", "specimen": "SP-005", "assay": "B1", "lot": "B1-L1", "ready": "2026-03-02T08:00:00Z" },
            { "id": "R06", "specimen": "SP-006", "assay": "A1", "lot": "A1-L1", "ready": "2026-03-02T08:20:00.250Z",
              "kind": "control", "repeatLeft": false, "priority": "urgent", "due": "2026-03-02T09:00:00Z",
              "loadBy": "2026-03-02T10:00:00Z", "after": ["R02", "R99"] } ],
          "calendar": [
            { "resource": "hands", "number": 1, "from": "2026-03-02T09:00:00Z", "to": "2026-03-02T09:10:00Z", "why": "away" },
            { "resource": "incubator", "from": "2026-03-02T11:00:00Z", "to": "2026-03-02T12:00:00Z" } ],
          "now": "2026-03-02T08:12:30Z",
          "state": {
            "readers": [ { "reader": 1, "card": "A1-L1" } ],
            "steps": [
              { "step": "mix", "request": "R05", "hands": 1, "start": "2026-03-02T08:12:10Z" },
              { "step": "load", "request": "R04", "hands": 2, "slot": 1, "start": "2026-03-02T08:12:20Z" } ],
            "cartridges": [
              { "request": "R01", "phase": "reacting", "loadEnd": ["2026-03-02T08:06:00Z", "2026-03-02T08:06:10.500Z"], "slot": 3 },
              { "request": "R02", "phase": "reading", "reader": 1, "start": "2026-03-02T08:12:00Z" },
              { "request": "R03", "phase": "reacting", "loadEnd": ["2026-03-02T08:11:00Z", "2026-03-02T08:11:10Z"], "reader": 2 },
              { "request": "R04", "phase": "mixed", "mixEnd": ["2026-03-02T08:11:30Z", "2026-03-02T08:11:40Z"] } ]
          }
        }
        """;

    /// <summary>The same bench before anything has begun.</summary>
    public static string MorningDay => Change(root =>
    {
        root.Remove("now");
        root.Remove("state");
        root["requests"]![5]!["after"] = new JsonArray("R02");
    });

    public const string Plan = """
        {
          "steps": [
            { "step": "mix", "request": "R01", "hands": 1, "start": "2026-03-02T08:00:00Z", "end": "2026-03-02T08:00:50Z" },
            { "step": "load", "request": "R01", "hands": 1, "slot": 3, "start": "2026-03-02T08:00:50Z", "end": "2026-03-02T08:01:15Z" },
            { "step": "load", "request": "R02", "hands": 1, "reader": 2, "start": "2026-03-02T08:01:15Z", "end": "2026-03-02T08:01:40Z" },
            { "step": "card-change", "hands": 1, "reader": 1, "lot": "A1-L1", "start": "2026-03-02T08:02:00.125Z", "end": "2026-03-02T08:02:25.125Z" },
            { "step": "move", "request": "R01", "hands": 1, "reader": 1, "start": "2026-03-02T08:09:15Z", "end": "2026-03-02T08:09:30Z" },
            { "step": "read", "request": "R01", "reader": 1, "start": "2026-03-02T08:09:30Z", "end": "2026-03-02T08:10:10Z" },
            { "step": "clear", "request": "R01", "hands": 1, "reader": 1, "start": "2026-03-02T08:10:10Z", "end": "2026-03-02T08:10:20Z" },
            { "step": "discard", "request": "R03", "hands": 1, "start": "2026-03-02T08:11:00Z", "end": "2026-03-02T08:11:10Z" } ],
          "cost": 1877.125, "finish": "PT31M17.125S", "late": "PT0S", "bound": 1785, "proved": false, "guardUsed": [ "R07" ],
          "unplaced": [ { "request": "R09", "why": "its read window is empty" } ], "lost": [ { "request": "R03", "why": "its window has closed" } ]
        }
        """;

    /// <summary>The day as text, changed in one place.</summary>
    public static string Change(Action<JsonObject> change) => Change(MidRunDay, change);

    public static string Change(string text, Action<JsonObject> change)
    {
        var root = JsonNode.Parse(text)!.AsObject();
        change(root);
        return root.ToJsonString();
    }

    public static BenchDay Read(string text)
    {
        var result = BenchDayFile.Parse(text);
        Assert.Empty(result.Faults);
        return Assert.IsType<BenchDay>(result.Value);
    }

    /// <summary>The text has just one fault, at this path.</summary>
    public static InputFault AssertFault(string path, string text) => AssertFault(path, BenchDayFile.Parse(text));

    public static InputFault AssertFault<T>(string path, ParseResult<T> result)
        where T : class
    {
        Assert.Null(result.Value);
        var fault = Assert.Single(result.Faults);
        Assert.Equal(path, fault.Path);
        Assert.False(string.IsNullOrWhiteSpace(fault.What) || string.IsNullOrWhiteSpace(fault.Allowed));
        Assert.DoesNotMatch(@"\{\d\}", fault.What + fault.Allowed);
        return fault;
    }
}
