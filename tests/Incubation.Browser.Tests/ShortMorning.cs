using System.Text.Json.Nodes;

namespace Incubation.Browser.Tests;

/// <summary>The demo clinic with a batch short enough to be walked by a test.</summary>
internal static class ShortMorning
{
    /// <summary>
    /// Writes a copy of the demo with only these requests, all ready at the start; gives back its folder.
    /// </summary>
    public static string Write(string folder, params string[] requests)
    {
        Directory.CreateDirectory(folder);
        foreach (var name in (string[])["clinic.json", "assays.json"])
            File.Copy(Path.Combine(Repository.Demo, name), Path.Combine(folder, name));
        var day = JsonNode.Parse(File.ReadAllText(Path.Combine(Repository.Demo, "morning.json")))!;
        var kept = day["requests"]!.AsArray().Where(r => requests.Contains(r!["id"]!.GetValue<string>()))
            .Select(r => r!.DeepClone()).ToArray();
        foreach (var request in kept)
            request["ready"] = day["start"]!.DeepClone();
        day["requests"] = new JsonArray(kept);
        File.WriteAllText(Path.Combine(folder, "morning.json"), day.ToJsonString());
        return folder;
    }
}
