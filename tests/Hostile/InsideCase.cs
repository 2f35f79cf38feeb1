using System.Collections.Immutable;
using System.Globalization;
using System.Text;
using Incubation.Bench;
using Incubation.TestKit;
using NodaTime;

namespace Incubation.Hostile;

/// <summary>One hostile command: what kind, from whom, with which members at an extreme.</summary>
/// <param name="Kind">Its kind.</param>
/// <param name="Caller">Which of the callers.</param>
/// <param name="Choices">Chooses the plausible rest.</param>
/// <param name="Extreme">Members and the JSON that stands in them.</param>
/// <param name="Later">How long after it the bench is looked at again.</param>
internal sealed record HostileCommand(
    string Kind, int Caller, ulong Choices, ImmutableArray<(string Member, string Json)> Extreme, Duration Later)
{
    /// <summary>The command as JSON, at a bench at an instant.</summary>
    public string Write(BenchState state, Instant now, int number)
    {
        var random = new SeededRandom(Choices);
        var id = string.Create(CultureInfo.InvariantCulture, $"H{number}-{Choices % 1_000_000_000}");
        var thing = ThingOf(state, random);
        var text = new StringBuilder("{");
        foreach (var (name, _) in FlatForm.Members)
        {
            var plausible = FlatPlausible.Of(name, Kind, thing, id, now, random);
            var at = Extreme.FirstOrDefault(one => one.Member == name);
            var json = at.Member is null ? plausible : at.Json;
            if (json.Length == 0)
                continue;
            if (text.Length > 1)
                text.Append(',');
            text.Append('"').Append(name).Append("\":").Append(json);
        }

        return text.Append('}').ToString();
    }

    /// <summary>A cartridge and a report of the bench.</summary>
    private static FlatThing ThingOf(BenchState state, SeededRandom random)
    {
        var report = state.Recorded.IsEmpty ? "x" : random.Pick([.. state.Recorded.Select(id => id.Value).Order()]);
        if (state.Cartridges.IsEmpty)
            return new FlatThing("R01", "DA-L1", "SP-1", "DA", report);
        var wanted = random.Pick(state.Cartridges).Wanted.Request;
        return new FlatThing(wanted.Id.Value, wanted.Lot.Value, wanted.Specimen.Value, wanted.Assay.Value, report);
    }
}

/// <summary>One case: where it begins, and what is said. A number and a seed give the same case for ever.</summary>
internal sealed record InsideCase(int Number, ulong Seed, int Base, ImmutableArray<HostileCommand> Commands)
{
    private static readonly Duration[] Waits = [Duration.Zero, Duration.FromMinutes(1), Duration.FromMinutes(25),
        Duration.FromHours(3), Duration.FromDays(2)];

    /// <summary>Draws a case.</summary>
    public static InsideCase Draw(int number, ulong seed, int bases, int callers, Instant around)
    {
        var random = new SeededRandom(Seeds(seed, (ulong)number));
        var commands = Enumerable.Range(0, random.Between(1, 3)).Select(_ =>
        {
            var kind = random.Pick(FlatForm.Kinds);
            // In pairs: two members that are wrong together, now and then three or one.
            var members = random.Shuffled(FlatForm.Members.Where(member => member.Name != "kind" || random.Chance(0.1)))
                .Take(random.Pick([1, 2, 2, 2, 3]))
                .Select(member => (member.Name, Extremes.Pick(member.Kind, around, random))).ToImmutableArray();
            return new HostileCommand(kind, random.Between(0, callers - 1), random.NextBits(), members,
                random.Pick(Waits));
        }).ToImmutableArray();
        return new InsideCase(number, seed, random.Between(0, bases - 1), commands);
    }

    /// <summary>The same with only these commands and members: "0" a command, "0.at" one of its extremes.</summary>
    public InsideCase Keep(IReadOnlyCollection<string> kept) => this with
    {
        Commands = [.. Commands.Select((command, index) => (command, index))
            .Where(one => kept.Any(name => name.Split('.')[0] == Text(one.index)))
            .Select(one => one.command with
            {
                Extreme = [.. one.command.Extreme
                    .Where(member => kept.Contains(Text(one.index) + "." + member.Member))],
            })],
    };

    /// <summary>Everything that <see cref="Keep"/> can be asked to keep.</summary>
    public IEnumerable<string> Parts => Commands.SelectMany((command, index) => command.Extreme
        .Select(member => Text(index) + "." + member.Member).Prepend(Text(index)));

    private static string Text(int number) => number.ToString(CultureInfo.InvariantCulture);

    private static ulong Seeds(ulong seed, ulong number) =>
        new SeededRandom(seed ^ (number * 0x9E3779B97F4A7C15UL)).NextBits();
}
