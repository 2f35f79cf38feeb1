using System.Text.Json;
using System.Text.Json.Nodes;
using Incubation.Model;
using Incubation.Records.Events;

namespace Incubation.Records.Assays;

/// <summary>Sheets as they stand in events and columns.</summary>
internal static class SheetJson
{
    /// <summary>The sheet as JSON.</summary>
    public static string Write(AssaySheet sheet) => JsonSerializer.Serialize(sheet, EventJson.Options);

    /// <summary>The JSON read back.</summary>
    public static AssaySheet Read(string json) => JsonSerializer.Deserialize<AssaySheet>(json, EventJson.Options)!;

    /// <summary>An approval from before there were sheets: times and unit, nothing else was ever said.</summary>
    public static JsonObject OfTimesAndUnit(JsonObject payload)
    {
        var assay = payload["assay"]!.Deserialize<Assay>(EventJson.Options)!;
        return new JsonObject
        {
            ["sheet"] = JsonNode.Parse(Write(AssaySheet.Plain(assay, payload["unit"]!.GetValue<string>()))),
            ["version"] = payload["version"]!.DeepClone(),
        };
    }
}
