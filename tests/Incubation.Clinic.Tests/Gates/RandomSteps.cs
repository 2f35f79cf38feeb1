using System.Globalization;
using Incubation.TestKit;
using NodaTime;
using Stage = Incubation.Clinic.Tests.Gates.GateOracle.Stage;

namespace Incubation.Clinic.Tests.Gates;

/// <summary>
/// Steps of an invented clinic by chance: two benches, three kit lots of two assays, days and nights. What comes next
/// mostly fits what is there, so that much comes to its end, and sometimes does not.
/// </summary>
internal sealed class RandomSteps
{
    private static readonly string[] Zones = ["Europe/Berlin", "Etc/UTC", "America/New_York", "Asia/Kolkata"];
    private static readonly Instant[] Starts =
    [
        Instant.FromUtc(2026, 3, 2, 8, 0), Instant.FromUtc(2026, 3, 28, 15, 0), Instant.FromUtc(2026, 10, 24, 16, 0),
        Instant.FromUtc(2026, 12, 31, 20, 0),
    ];

    private readonly SeededRandom random;
    private readonly Queue<Step> coming = [];
    private readonly List<string> lots = ["A-L1", "A-L2", "B-L1"];
    private readonly int weary;
    private int count;

    public RandomSteps(ulong seed)
    {
        Seed = seed;
        random = new SeededRandom(seed);
        (Zone, Start) = (DateTimeZoneProviders.Tzdb[random.Pick(Zones)], random.Pick(Starts));
        weary = random.Between(0, 3);
        if (random.Chance(0.5))
            lots.RemoveRange(1, 2);
        foreach (var assay in new[] { "A", "B" })
        {
            coming.Enqueue(Sheet(assay));
            for (var level = 1; level <= 3; level++)
                if (random.Chance(0.9))
                    coming.Enqueue(new Step.TargetSet(1, assay, level, 100 * level, 5));
        }
    }

    /// <summary>From which number they are made.</summary>
    public ulong Seed { get; }

    /// <summary>The clinic's zone.</summary>
    public DateTimeZone Zone { get; }

    /// <summary>When it opens.</summary>
    public Instant Start { get; }

    /// <summary>Its kit lots, each with its assay.</summary>
    public static IReadOnlyDictionary<string, string> Lots { get; } =
        new SortedDictionary<string, string>(StringComparer.Ordinal) { ["A-L1"] = "A", ["A-L2"] = "A", ["B-L1"] = "B" };

    /// <summary>The next step, in a clinic as it stands.</summary>
    public Step Next(GateOracle clinic)
    {
        var step = coming.TryDequeue(out var planned) ? planned : Made(clinic);
        return random.Between(0, 19) switch
        {
            0 or 1 => step with { After = After.Nothing },
            2 => step with { After = After.Stopped, Writes = random.Between(0, 3) },
            _ => step,
        };
    }

    private Step Made(GateOracle clinic)
    {
        var lot = random.Pick(lots);
        var bench = random.Chance(0.75) ? 0 : 1;
        var wait = Wait();
        switch (random.Between(0, 80))
        {
            case < 5:
                return Come(bench, lot, 0);
            case < 7:
                return Come(bench, lot, random.Between(1, 3));
            case < 11:
                Plan(Come(bench, lot, 0), "12");
                return coming.Dequeue();
            case < 17:
                for (var level = 1; level <= Math.Max(1, clinic.LevelsOf(lot)); level++)
                    Plan(Come(bench, lot, level), Control(level, good: weary > 0 && random.Chance(0.8)));
                return coming.Dequeue();
            case < 21:
                return Of(clinic, cart => cart.Stage == Stage.Waiting, cart => new Step.Begun(wait, cart.Id));
            case < 25:
                return Of(clinic, cart => cart.IsInWork, cart => new Step.Read(wait, cart.Id, random.Chance(0.2))
                {
                    IsUntimed = random.Chance(0.2),
                });
            case < 31:
                return Of(clinic, cart => cart.Stage == Stage.Read && cart.Result is null,
                    cart => Entered(wait, cart, isSeconded: false));
            case < 32:
                return Of(clinic, cart => cart.Stage is Stage.Reading or Stage.Read,
                    cart => Entered(wait, cart, clinic.NeedsSecond));
            case < 37:
                return Of(clinic, cart => cart.Waits || random.Chance(0.05),
                    cart => new Step.Released(wait, cart.Id));
            case < 42:
                var isAide = random.Chance(0.5);
                return Of(clinic, cart => cart.Result is not null,
                    cart => new Step.Amended(wait, cart.Id, Amended(cart, isAide || clinic.NeedsSecond))
                    {
                        IsAide = isAide,
                    }, closedToo: true);
            case < 44:
                return Of(clinic, cart => cart.Stage is not Stage.Waiting,
                    cart => new Step.LoadWas(wait, cart.Id, random.Pick([1, 5, 20, 25, 40])));
            case < 46:
                return Of(clinic, cart => cart.Stage is not Stage.Waiting,
                    cart => new Step.Never(wait, cart.Id, cart.Stage == Stage.Gone ? "discard"
                        : random.Pick(["clear", "read", "mix"])));
            case < 48:
                return Of(clinic, cart => cart.Result is not null, cart => new Step.TakenBack(random.Between(1, 9),
                    cart.Id));
            case < 49:
                return Of(clinic, cart => cart.Stage is not Stage.Waiting, cart =>
                {
                    var control = clinic.Carts.FirstOrDefault(one => one.Level > 0 && one.Lot == cart.Lot
                        && one is { IsClosed: false, Result: not null } && one != cart);
                    if (control is not null && random.Chance(0.5))
                        coming.Enqueue(new Step.Amended(Wait(), control.Id, Control(control.Level, good: false)));
                    if (random.Chance(0.6))
                        coming.Enqueue(new Step.Never(Wait(), cart.Id, "discard"));
                    return new Step.Discarded(wait, cart.Id);
                });
            case < 50:
                return Of(clinic, cart => cart.Stage is Stage.Waiting, cart => new Step.Withdrawn(wait, cart.Id));
            case < 53:
                var carries = random.Chance(0.5);
                foreach (var open in clinic.Carts.Where(cart => cart.Bench == bench && !cart.IsClosed))
                    Finish(open);
                coming.Enqueue(new Step.Closed(Wait(), bench, carries));
                return coming.Dequeue();
            case < 56:
                return new Step.ActionTaken(wait, lot);
            case < 58:
                return new Step.Reviewed(wait, lot);
            case < 59:
                return new Step.Serviced(wait, bench);
            case < 60:
                return new Step.MoreCame(wait, lot);
            case < 61:
                return random.Chance(0.5) ? Sheet(Lots[lot])
                    : new Step.TargetSet(wait, Lots[lot], random.Between(1, 3), random.Pick([100m, 108m, 200m]), 5);
            case < 64:
                return Of(clinic, cart => cart.Result is not null,
                    cart => new Step.Proposed(wait, cart.Id, Value(cart.Level)), closedToo: true);
            case < 67:
                return Of(clinic, cart => cart.Proposal is not null || random.Chance(0.05),
                    cart => new Step.Looked(wait, cart.Id, random.Chance(0.6), random.Chance(0.2)), closedToo: true);
            case < 71:
                return Of(clinic, cart => cart.Result is not null && (cart.Duty.Length > 0 || random.Chance(0.1)),
                    cart => random.Chance(0.7) ? new Step.Told(wait, cart.Id) : new Step.Waived(wait, cart.Id));
            case < 72:
                return new Step.Ruled(wait, random.Chance(0.5));
            case < 73:
                return new Step.Required(wait, random.Chance(0.6));
            case < 75:
                return new Step.MoreCame(wait, "A-L2");
            case < 76:
                return new Step.Compared(wait, random.Chance(0.9) ? "A-L2" : "A-L1", random.Chance(0.6));
            case < 78:
                return Of(clinic, cart => cart.IsUntimed || random.Chance(0.02),
                    cart => new Step.Answered(wait, cart.Id));
            case < 80:
                return Of(clinic, cart => cart.Stage == Stage.Read && cart.Result is { IsReleased: false }
                    && (cart.Deviates || random.Chance(0.2)), cart =>
                {
                    foreach (var step in Denied(wait, cart.Id, Value(cart.Level)))
                        coming.Enqueue(step);
                    return coming.Dequeue();
                });
            default:
                return new Step.Waited(random.Between(3, 30) * 3600);
        }
    }

    private int Wait() => random.Between(0, 9) switch
    {
        0 => random.Between(600, 7200),
        < 5 => random.Between(60, 900),
        _ => random.Between(1, 60),
    };

    private Step.Came Come(int bench, string lot, int level) => new(Wait(), bench,
        string.Create(CultureInfo.InvariantCulture, $"{(level == 0 ? "P" : "C")}{++count}"), lot, level);

    /// <summary>A cartridge that comes and is seen through.</summary>
    private void Plan(Step.Came came, string value)
    {
        coming.Enqueue(came);
        coming.Enqueue(new Step.Begun(Wait(), came.Cart));
        coming.Enqueue(new Step.Read(Wait(), came.Cart, random.Chance(0.05)) { IsUntimed = random.Chance(0.1) });
        if (random.Chance(0.9))
            coming.Enqueue(new Step.Entered(Wait(), came.Cart, value, "own", random.Chance(0.95)));
        if (random.Chance(0.1))
            foreach (var step in Denied(Wait(), came.Cart, value))
                coming.Enqueue(step);
    }

    private void Finish(GateOracle.Cart cart)
    {
        if (random.Chance(0.05))
            return;
        if (cart.IsInWork && random.Chance(0.3))
            coming.Enqueue(new Step.Discarded(1, cart.Id));
        else if (cart.IsInWork)
            coming.Enqueue(new Step.Read(1, cart.Id, false));
        if (cart.Result is null)
            coming.Enqueue(Entered(1, cart, isSeconded: false));
    }

    /// <summary>A read that is said never to have been, and is told anew.</summary>
    private Step[] Denied(int wait, string cart, string value) =>
    [
        new Step.Never(wait, cart, "read"),
        random.Chance(0.3) ? new Step.LoadWas(Wait(), cart, random.Pick([1, 20, 25])) : new Step.Waited(Wait()),
        random.Chance(0.7) ? new Step.ReadAgain(Wait(), cart) : new Step.Read(Wait(), cart, random.Chance(0.2)),
        new Step.Entered(Wait(), cart, value, "own", true),
    ];

    private Step Of(GateOracle clinic, Func<GateOracle.Cart, bool> which, Func<GateOracle.Cart, Step> what,
        bool closedToo = false)
    {
        var carts = clinic.Carts.Where(cart => (closedToo || !cart.IsClosed || cart.Waits) && which(cart)).ToList();
        return carts.Count == 0 ? new Step.Waited(Wait()) : what(random.Pick(carts));
    }

    /// <summary>What cannot be stands before the close alone: what is asked after it, Records tells.</summary>
    private string Amended(GateOracle.Cart cart, bool isSeconded) =>
        cart.IsClosed || isSeconded || random.Chance(0.8) ? Value(cart.Level) : Impossible();

    private string Impossible() => random.Pick(["<200", ">12", "5000", "0.1", "1,000", "1.000,5"]);

    private Step.Entered Entered(int wait, GateOracle.Cart cart, bool isSeconded)
    {
        var isAide = random.Chance(0.5);
        var waits = cart.Result is not null && (isAide || isSeconded);
        return new(wait, cart.Id, waits || random.Chance(0.9) ? Value(cart.Level) : Impossible(),
            random.Pick(["own", "own", "own", "own", "own", "", "none", "other"]), random.Chance(0.93))
        {
            IsAide = isAide,
        };
    }

    private string Value(int level) => level == 0 ? random.Pick(["5.2", "12", "200", "<0.5", "!E7"])
        : Control(level, random.Chance(0.5));

    private string Control(int level, bool good) => good
        ? (100 * level + random.Pick([0m, 4m, -15m, 15m])).ToString(CultureInfo.InvariantCulture)
        : random.Pick(["<0.5", ">1000", "!E1", "60", "115.1", "184.9", "315"]);

    private Step.Approved Sheet(string assay) => new(Wait(), assay, random.Pick([0, 1, 2, 2, 2, 3]),
        random.Chance(0.4), random.Chance(0.6), random.Chance(0.3), random.Chance(0.3),
        random.Pick(["wait", "wait", "hold", "hold", "none"]));
}
