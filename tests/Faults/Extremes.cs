using Incubation.TestKit;
using NodaTime;

namespace Incubation.Faults;

/// <summary>How a tablet's own clock is wrong for a while: it stands at an instant, or is ahead by so much.</summary>
/// <param name="From">From then on, in true time.</param>
/// <param name="Until">Until then.</param>
/// <param name="Stands">The instant at which it stands, or null.</param>
/// <param name="Ahead">Else how far it is ahead; negative where it is behind.</param>
internal sealed record BrokenClock(Instant From, Instant Until, Instant? Stands, Duration Ahead)
{
    /// <summary>What it shows when a right clock shows this.</summary>
    public Instant Shows(Instant right) => Stands ?? right + Ahead;
}

/// <summary>
/// What a day holds beside its recipe, drawn from a stream of its own: with or without it, the rest of the day is drawn
/// the same.
/// </summary>
internal sealed record Extremes
{
    private static readonly Instant[] Standing =
        [Instant.FromUnixTimeTicks(0), Instant.FromUtc(2262, 4, 12, 0, 0), Instant.FromUtc(9999, 12, 31, 0, 0)];

    /// <summary>Nothing beside the recipe.</summary>
    public static Extremes None { get; } = new();

    /// <summary>Whether the whole state is compared with a replay after every event.</summary>
    public bool ComparesAlways { get; init; }

    /// <summary>Benches of the clinic beside this one, in the same process.</summary>
    public int MoreBenches { get; init; }

    /// <summary>The clocks of tablets that are broken for a while, by their number.</summary>
    public IReadOnlyDictionary<int, BrokenClock> Clocks { get; init; } = new Dictionary<int, BrokenClock>();

    /// <summary>Chance for a card change to put in the card of another lot.</summary>
    public double WrongCard { get; init; }

    /// <summary>Requests whose times or lengths lie far outside of what is usual.</summary>
    public int Wishes { get; init; }

    /// <summary>Draws what a day holds beside its recipe; on days that are not disturbed nothing befalls it.</summary>
    public static Extremes Draw(ulong seed, Recipe recipe)
    {
        var random = new SeededRandom(seed);
        var always = random.Chance(0.1);
        if (recipe.Kind != DayKind.Disturbed || random.Chance(0.4))
            return new Extremes { ComparesAlways = always };
        var clocks = new Dictionary<int, BrokenClock>();
        for (var tablet = 1; tablet <= recipe.Day.Bench.Hands; tablet++)
            if (random.Chance(0.35))
                clocks[tablet] = DrawClock(random);
        return new Extremes
        {
            ComparesAlways = always,
            MoreBenches = random.Chance(0.15) ? random.Between(1, 2) : 0,
            Clocks = clocks,
            WrongCard = random.Chance(0.35) ? random.Between(5, 40) / 100.0 : 0,
            Wishes = random.Chance(0.35) ? random.Between(1, 3) : 0,
        };
    }

    private static BrokenClock DrawClock(SeededRandom random)
    {
        var from = RandomDays.Start + Duration.FromSeconds(random.Between(0, 1800));
        var until = from + Duration.FromSeconds(random.Between(60, 3600));
        var sign = random.Chance(0.5) ? 1 : -1;
        return random.Between(0, 5) switch
        {
            < 3 and var which => new BrokenClock(from, until, Standing[which], Duration.Zero),
            3 => new BrokenClock(from, until, null, sign * Duration.FromDays(random.Between(1, 4000))),
            4 => new BrokenClock(from, until, null, sign * Duration.FromHours(random.Between(1, 23))),
            _ => new BrokenClock(from, until, null, sign * Duration.FromSeconds(random.Between(6, 3600))),
        };
    }
}
