using Incubation.Bench;
using Incubation.Model;
using Incubation.Simulation;
using Incubation.TestKit;
using NodaTime;

namespace Incubation.Faults;

/// <summary>What kind of day it is.</summary>
internal enum DayKind
{
    /// <summary>Everybody does what is asked, in the allowed time, and nothing fails.</summary>
    ToPlan,

    /// <summary>
    /// Nothing fails, but hands take a person's time: some steps outlast what is allowed, some begin late.
    /// </summary>
    Hands,

    /// <summary>People err and machines fail.</summary>
    Disturbed,
}

/// <summary>How often people err: chances for each step.</summary>
internal sealed record Habits
{
    public double LateTap { get; init; }

    public double ForgottenTap { get; init; }

    public double EarlyTap { get; init; }

    public double WrongSlotTold { get; init; }

    public double OtherSlotUsed { get; init; }

    public double DoubleTap { get; init; }

    public double TapTakenBack { get; init; }

    public double EarlyRead { get; init; }

    public double LateBegin { get; init; }

    public double Away { get; init; }

    public double Spoilt { get; init; }

    public double NotBegun { get; init; }

    /// <summary>Chance for the time of a late tap to be put right afterwards.</summary>
    public double Corrected { get; init; }
}

/// <summary>How often machines fail.</summary>
internal sealed record Failures
{
    /// <summary>Chance for a message to be lost.</summary>
    public double Lost { get; init; }

    /// <summary>Chance for a message to come twice.</summary>
    public double Doubled { get; init; }

    /// <summary>Chance for a message to be delayed by seconds, and so to be overtaken.</summary>
    public double Delayed { get; init; }

    /// <summary>Times an hour that a tablet loses its network.</summary>
    public double OutagesPerHour { get; init; }

    /// <summary>Chance for a write to kill the process, before or after it is on the disk.</summary>
    public double CrashAtWrite { get; init; }

    /// <summary>Chance for the process to die between the other steps of a turn.</summary>
    public double CrashBetween { get; init; }

    /// <summary>Chance for a write that succeeds to be told as failed.</summary>
    public double ToldFailed { get; init; }

    /// <summary>Times an hour that the disk is full for a while.</summary>
    public double FullPerHour { get; init; }

    /// <summary>Times an hour that the machine's wall clock is set wrong.</summary>
    public double ClockSetPerHour { get; init; }

    /// <summary>Whether an outage of the server can leave the wall clock wrong.</summary>
    public bool ClockWrongAfterOutage { get; init; }

    /// <summary>How fast the machine's clocks gain.</summary>
    public double Drift { get; init; }

    /// <summary>How far the tablets' own clocks are ahead.</summary>
    public Duration TabletAhead { get; init; }

    /// <summary>How well a tablet knows the server's time.</summary>
    public Duration OffsetError { get; init; }

    /// <summary>Requests that come in the middle.</summary>
    public int MoreRequests { get; init; }

    /// <summary>Times an hour that hands step away and say so.</summary>
    public double AwayPerHour { get; init; }

    /// <summary>Times an hour that a slot, a reader or the incubator cannot be used for a while.</summary>
    public double OutOfUsePerHour { get; init; }

    /// <summary>Times an hour that the incubator is outside its tolerance for a while.</summary>
    public double TooWarmPerHour { get; init; }

    /// <summary>Whether the last pair of hands leaves and comes back.</summary>
    public bool HandsLeave { get; init; }

    /// <summary>Whether intake is paused for a while.</summary>
    public bool IntakePauses { get; init; }

    /// <summary>Whether a specimen is not ready after all.</summary>
    public bool NotReady { get; init; }

    /// <summary>Requests taken back in the middle.</summary>
    public int Withdrawals { get; init; }
}

/// <summary>A day as it is drawn: the bench day, and what will go wrong with it.</summary>
internal sealed record Recipe(DayKind Kind, BenchDay Day, Habits Habits, Failures Failures, int Iterations,
    SearchPolicy Policy)
{
    /// <summary>Draws the day of a seed.</summary>
    public static Recipe Draw(ulong seed)
    {
        var random = new SeededRandom(seed);
        var kind = random.Between(0, 9) switch { < 2 => DayKind.ToPlan, < 4 => DayKind.Hands, _ => DayKind.Disturbed };
        var shape = new DayShape(FewestRequests: 1, MaxRequests: 8, MidRun: 0, Calendar: 0, Impossible: 0.02,
            ZeroLengths: 0);
        var day = WithPeoplesTimes(RandomDays.Make(random.NextBits(), shape));
        return new Recipe(kind, day, DrawHabits(kind, random), DrawFailures(kind, random), random.Between(0, 12),
            random.Chance(0.2) ? SearchPolicy.Live : SearchPolicy.Frugal);
    }

    /// <summary>
    /// The day with the shortest times that a bench's own record would give for such hands (their 5th percentile), and
    /// with a few seconds between steps: an assay that leaves no second for a report's way is none that a bench can
    /// run.
    /// </summary>
    private static BenchDay WithPeoplesTimes(BenchDay day) => day with
    {
        Assays = [.. day.Assays.Select(assay =>
        {
            var (mix, load) = (Shortest(assay.Mix), Shortest(assay.Load));
            return assay with
            {
                MixShortest = mix,
                LoadShortest = load,
                MixToLoad = assay.MixToLoad + Duration.Max(Duration.Zero, assay.MixShortest - mix)
                    + Duration.FromSeconds(10),
                ReadWindow = assay.ReadWindow + Duration.Max(Duration.Zero, assay.LoadShortest - load),
            };
        })],
    };

    private static Duration Shortest(Duration allowed) =>
        Duration.FromSeconds(Math.Floor(allowed.TotalSeconds * new RandomStepLengths().ShortestShare));

    private static Habits DrawHabits(DayKind kind, SeededRandom random)
    {
        double Some(double most) => random.Chance(0.4) ? most * random.Between(1, 100) / 100 : 0;
        return kind switch
        {
            DayKind.ToPlan => new Habits(),
            DayKind.Hands => new Habits { LateBegin = Some(0.1), LateTap = Some(0.05) },
            _ => new Habits
            {
                LateTap = Some(0.2),
                ForgottenTap = Some(0.05),
                EarlyTap = Some(0.1),
                WrongSlotTold = Some(0.1),
                OtherSlotUsed = Some(0.1),
                DoubleTap = Some(0.05),
                TapTakenBack = Some(0.1),
                EarlyRead = Some(0.05),
                LateBegin = Some(0.2),
                Away = Some(0.03),
                Spoilt = Some(0.03),
                NotBegun = Some(0.1),
                Corrected = random.Between(0, 10) / 10.0,
            },
        };
    }

    private static Failures DrawFailures(DayKind kind, SeededRandom random)
    {
        double Some(double most) => random.Chance(0.35) ? most * random.Between(1, 100) / 100 : 0;
        var error = Duration.FromMilliseconds(random.Between(-200, 200));
        return kind switch
        {
            DayKind.ToPlan => new Failures(),
            DayKind.Hands => new Failures { OffsetError = error, Drift = random.Between(-50, 50) * 1e-6 },
            _ => new Failures
            {
                Lost = Some(0.3),
                Doubled = Some(0.3),
                Delayed = Some(0.2),
                OutagesPerHour = Some(4),
                CrashAtWrite = Some(0.05),
                CrashBetween = Some(0.02),
                ToldFailed = Some(0.05),
                FullPerHour = Some(3),
                ClockSetPerHour = Some(2),
                ClockWrongAfterOutage = random.Chance(0.3),
                Drift = random.Between(-300, 300) * 1e-6,
                TabletAhead = random.Chance(0.1) ? Duration.FromSeconds(random.Between(-600, 600))
                    : Duration.FromMilliseconds(random.Between(-900, 900)),
                OffsetError = error,
                MoreRequests = random.Chance(0.3) ? random.Between(1, 3) : 0,
                Withdrawals = random.Chance(0.15) ? 1 : 0,
                AwayPerHour = Some(2),
                OutOfUsePerHour = Some(2),
                TooWarmPerHour = random.Chance(0.15) ? 1 : 0,
                HandsLeave = random.Chance(0.15),
                IntakePauses = random.Chance(0.1),
                NotReady = random.Chance(0.15),
            },
        };
    }
}
