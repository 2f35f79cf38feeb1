using Incubation.Exchange.Json;
using Incubation.Model;
using NodaTime;

namespace Incubation.Exchange;

/// <summary>Reads the members of an assay.</summary>
internal static class AssayReader
{
    private static readonly string[] LengthNames = ["mix", "mixToLoad", "load", "incubation", "readWindow", "move",
        "read", "clear"];

    public static Located<Assay>? Read(JsonItem item, FaultList faults)
    {
        if (Members.Of(item, faults) is not { } row)
            return null;
        row.Only(["code", "name", "place", .. LengthNames, "mixShortest", "loadShortest"]);
        var code = row.Required<AssayCode>("code", Values.Id<AssayCode>);
        var name = row.RequiredText("name", BenchLimits.NameLength);
        var place = row.Required("place", Values.OneOf(Wordlists.Places));
        Duration?[] lengths = [.. LengthNames.Select(length => row.Required<Duration>(length, Values.Length))];
        var mixShortest = Shortest(row, "mixShortest", "mix", lengths[0], faults);
        var loadShortest = Shortest(row, "loadShortest", "load", lengths[2], faults);
        if (code is null || name is null || place is null || lengths.Contains(null) || mixShortest is null
            || loadShortest is null)
            return null;
        return new(new Assay(
            code.Value, name, place.Value, lengths[0]!.Value, lengths[1]!.Value, lengths[2]!.Value, lengths[3]!.Value,
            lengths[4]!.Value, lengths[5]!.Value, lengths[6]!.Value, lengths[7]!.Value, mixShortest.Value,
                loadShortest.Value), row);
    }

    private static Duration? Shortest(Members row, string name, string of, Duration? allowed, FaultList faults)
    {
        if (!row.Has(name))
            return allowed;
        var shortest = row.Required<Duration>(name, Values.Length);
        if (shortest > allowed)
            faults.Add(row.At(name), FaultList.Text(Words.ShortestTooLong, IsoDuration.Format(shortest.Value), of),
                FaultList.Text(Words.AllowedShortest, IsoDuration.Format(allowed.Value)));
        return shortest;
    }
}
