using System.Collections.Immutable;
using System.Globalization;
using System.Text;
using System.Text.Json;
using Incubation.Service.Commands;
using Incubation.TestKit;
using NodaTime;
using NodaTime.Text;

namespace Incubation.Hostile;

/// <summary>One request to the server: to which address, from whom, with which members at an extreme.</summary>
/// <param name="Number">Which.</param>
/// <param name="To">The address.</param>
/// <param name="Caller">From whom.</param>
/// <param name="Choices">Chooses the plausible rest.</param>
/// <param name="Extreme">Members of route, query and body, and the JSON that stands in them.</param>
internal sealed record HttpCase(int Number, Address To, string Caller, ulong Choices,
    ImmutableArray<(string Member, string Json)> Extreme)
{
    /// <summary>Draws a case.</summary>
    public static HttpCase Draw(int number, ulong seed, IReadOnlyList<Address> addresses,
        IReadOnlyList<string> callers, Instant now)
    {
        var random = new SeededRandom(new SeededRandom(seed ^ ((ulong)number * 0x9E3779B97F4A7C15UL)).NextBits());
        // What changes something is tried more often than what only looks.
        var bodies = addresses.Where(address => address.Body is not null).ToList();
        var to = random.Chance(0.4) ? addresses.First(address => address.Body == typeof(ScreenCommand))
            : random.Chance(0.7) ? random.Pick(bodies) : random.Pick(addresses);
        var members = to.Route.Concat(to.Query).Select(name => (name, MemberKind.Text))
            .Concat(Address.MembersOf(to.Body).Select(path => (path, KindOf(to.Body!, path)))).ToList();
        // Those who may do most are tried most: what is refused at the door goes no further.
        var caller = random.Chance(0.6) ? random.Pick([Callers.Aide, Callers.Supervisor, Callers.Administrator])
            : random.Pick(callers);
        return new HttpCase(number, to, caller, random.NextBits(),
            [.. random.Shuffled(members.Where(member => member.Item1 != "kind" || random.Chance(0.1)))
                .Take(random.Pick([1, 2, 2, 2, 3]))
                .Select(member => (member.Item1, Extremes.Pick(member.Item2, now, random)))]);
    }

    /// <summary>The path with its query.</summary>
    public string Path(Known known)
    {
        var random = new SeededRandom(Choices);
        var path = To.Pattern;
        foreach (var name in To.Route)
        {
            var from = path.IndexOf("{" + name, StringComparison.Ordinal);
            var until = path.IndexOf('}', from);
            path = path[..from] + Escaped(name, known, random) + path[(until + 1)..];
        }

        var query = To.Query.Where(name => Extreme.Any(one => one.Member == name) || random.Chance(0.3))
            .Select(name => Uri.EscapeDataString(name) + "=" + Escaped(name, known, random)).ToList();
        return query.Count == 0 ? path : path + "?" + string.Join('&', query);
    }

    /// <summary>The body, or null.</summary>
    public string? Body(Known known)
    {
        if (To.Body is null)
            return null;
        var text = new StringBuilder();
        Write(text, To.Body, "", known, new SeededRandom(Choices ^ 77));
        return text.ToString();
    }

    /// <inheritdoc/>
    public override string ToString() => string.Create(CultureInfo.InvariantCulture,
        $"case {Number}: {Caller} {To.Method} {To.Pattern} ")
        + string.Join(", ", Extreme.Select(one => one.Member + "=" + one.Json[..Math.Min(one.Json.Length, 60)]));

    private static MemberKind KindOf(Type body, string path)
    {
        var type = body;
        foreach (var part in path.Split('.'))
        {
            type = Address.Own(type).First(member => member.Name == part.Replace("[0]", "", StringComparison.Ordinal))
                .Type;
            if (part.EndsWith("[0]", StringComparison.Ordinal))
                type = Address.ItemOf(type)!;
        }

        return path.Split('.')[^1] is "at" or "then" ? MemberKind.Time
            : Address.KindOf(type);
    }

    private void Write(StringBuilder text, Type type, string before, Known known, SeededRandom random)
    {
        text.Append('{');
        var empty = true;
        foreach (var (name, memberType) in Address.Own(type))
        {
            var path = before + name;
            var at = Extreme.FirstOrDefault(one => one.Member == path);
            var json = at.Member is not null ? at.Json : Plausible(name, memberType, path, known, random);
            if (json.Length == 0)
                continue;
            text.Append(empty ? "" : ",").Append('"').Append(name).Append("\":").Append(json);
            empty = false;
        }

        text.Append('}');
    }

    private string Plausible(string name, Type type, string path, Known known, SeededRandom random)
    {
        if (IsExtremeInside(path))
            return "[" + Inner(Address.ItemOf(type)!, path + "[0].", known, random) + "]";
        if (To.Body == typeof(ScreenCommand) && !path.Contains('.', StringComparison.Ordinal))
            return FlatPlausible.Of(name,
                IsExtremeInside("told") ? "several" : FlatForm.Kinds[(int)(Choices % (ulong)FlatForm.Kinds.Count)],
                new FlatThing(known.Requests.Count == 0 ? "R01" : random.Pick(known.Requests), "DA-L1", "SP-1", "DA",
                    known.LastReport), "H" + Choices.ToString(CultureInfo.InvariantCulture), known.Now, random);
        if (Address.IsShape(type))
            return Inner(type, path + ".", known, random);
        if (Address.ItemOf(type) is { } item)
            return Address.IsShape(item) && item != To.Body
                ? "[" + Inner(item, path + "[0].", known, random) + "]" : Extremes.Absent;
        return path == "requests[0].kind" ? "\"patient\"" : path == "requests[0].id" ? Extremes.Absent
            : known.Plausible(name, Address.KindOf(type), Choices, random);
    }

    private bool IsExtremeInside(string list) =>
        Extreme.Any(one => one.Member.StartsWith(list + "[0].", StringComparison.Ordinal));

    private string Inner(Type type, string before, Known known, SeededRandom random)
    {
        var text = new StringBuilder();
        Write(text, type, before, known, random);
        return text.ToString();
    }

    private string Escaped(string name, Known known, SeededRandom random)
    {
        var at = Extreme.FirstOrDefault(one => one.Member == name);
        var json = at.Member is not null ? at.Json : known.Plausible(name, MemberKind.Text, Choices, random);
        if (!json.StartsWith('"'))
            return Uri.EscapeDataString(json[..Math.Min(json.Length, 4000)]);
        try
        {
            var text = JsonSerializer.Deserialize<string>(json)!;
            return Uri.EscapeDataString(text[..Math.Min(text.Length, 4000)]);
        }
        catch (Exception fault) when (fault is JsonException or InvalidOperationException)
        {
            return "%ff%fe%00%c0%af";
        }
    }
}

/// <summary>What there is in the clinic, for the plausible part of a request.</summary>
/// <param name="Requests">Requests on the bench.</param>
/// <param name="Now">The server's time.</param>
/// <param name="LastReport">A report that was recorded.</param>
internal sealed record Known(IReadOnlyList<string> Requests, Instant Now, string LastReport = "x")
{
    /// <summary>A plausible value of a member, as JSON.</summary>
    public string Plausible(string name, MemberKind kind, ulong choices, SeededRandom random) => name switch
    {
        "id" or "report" => Quoted("H" + (choices % 1_000_000_000).ToString(CultureInfo.InvariantCulture)),
        "kind" => Quoted(random.Pick(FlatForm.Kinds)),
        "bench" or "Bench" => Quoted("bench-1"),
        "Batch" or "batch" or "index" or "slot" or "number" or "hands" or "levels" or "controlLevel" => "1",
        "reader" => random.Chance(0.5) ? "1" : Extremes.Absent,
        "at" => Quoted(InstantPattern.ExtendedIso.Format(Now - Duration.FromSeconds(random.Between(0, 30)))),
        "then" or "ready" or "due" or "loadBy" or "collected" or "takenOut" => random.Chance(0.5) ? Extremes.Absent
            : Quoted(InstantPattern.ExtendedIso.Format(Now + Duration.FromMinutes(random.Between(-20, 40)))),
        "request" or "Request" or "of" => Quoted(Requests.Count == 0 ? "R01" : random.Pick(Requests)),
        "assay" or "Code" => Quoted(random.Pick(["DA", "DB", "DC", "DD"])),
        "lot" => random.Chance(0.5) ? Extremes.Absent : Quoted("DA-L1"),
        "specimen" or "shown" => Quoted("SP-" + random.Between(1, 99).ToString(CultureInfo.InvariantCulture)),
        "layout" => Quoted(random.Pick(["wide", "portrait", "narrow", "wall"])),
        "priority" => Quoted(random.Pick(["routine", "urgent"])),
        "value" => Quoted("3.20"),
        "noValue" or "controlLot" or "specimenType" => Extremes.Absent,
        "device" => Quoted("tablet-1"),
        "person" => Quoted(random.Pick(["lena", "ines", "nobody"])),
        "table" => Quoted("time-by-assay"),
        "documentName" => Quoted("v1"),
        "after" => "0",
        "limit" => "100",
        "shows" => Extremes.Number(Now.ToUnixTimeMilliseconds()),
        _ => kind switch
        {
            MemberKind.Number => "1",
            MemberKind.Truth => "false",
            MemberKind.Time => Quoted(InstantPattern.ExtendedIso.Format(Now)),
            MemberKind.List => Extremes.Absent,
            _ => Quoted("as seen"),
        },
    };

    private static string Quoted(string text) => "\"" + JsonEncodedText.Encode(text) + "\"";
}
