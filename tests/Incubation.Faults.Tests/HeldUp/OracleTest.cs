using System.Collections.Immutable;
using Incubation.Faults.HeldUp;
using Incubation.TestKit;
using Xunit;

namespace Incubation.Faults.Tests.HeldUp;

/// <summary>The oracle of the late days: scenes worked out by hand, and every order tried without a thought.</summary>
public sealed class OracleTest
{
    /// <summary>Every figure of a drawn scene is a multiple of it.</summary>
    private const long Grid = 5000;

    private static readonly Loss Patient = new(0, 0, 1, 1);
    private static readonly Loss LastSpecimen = new(1, 0, 1, 1);

    [Fact]
    public void Best_ThreeWindowsOpenAndAllInReach_LosesNone()
    {
        // Moves of 10 s, reads of 20 s, clears of 10 s: reads start at 10, 50 and 90 s.
        var best = Oracle.Best(Scene([In("A", closes: 90), In("B", closes: 50), In("C", closes: 10)]));

        Assert.Equal(Loss.None, best.Loss);
        Assert.Equal(["move C to reader 1", "clear reader 1", "move B to reader 1", "clear reader 1",
            "move A to reader 1"], best.Acts.Select(act => act.What));
        Assert.Equal([0L, 30_000, 40_000, 70_000, 80_000], best.Acts.Select(act => act.At));
        Assert.True(best.IsProved);
    }

    [Fact]
    public void Best_ThreeWindowsAndOneAMillisecondTooShort_LosesOne()
    {
        var best = Oracle.Best(Scene([In("A", closes: 90) with { Closes = 89_999 }, In("B", closes: 50),
            In("C", closes: 10)]));

        Assert.Equal(Patient, best.Loss);
        Assert.Single(best.GivenUp);
    }

    [Fact]
    public void Best_OneOfTwo_GivesUpTheOneThatWeighsLess()
    {
        var best = Oracle.Best(Scene([In("A", closes: 15), In("B", closes: 15, weight: LastSpecimen)]));

        Assert.Equal(["A"], best.GivenUp);
    }

    [Fact]
    public void Best_OneWithoutSpecimenAgainstTwo_GivesUpTheTwo()
    {
        // B alone holds the reader until 130 s; A and C need it by 60 s.
        var best = Oracle.Best(Scene([In("A", closes: 20), In("C", closes: 60),
            In("B", closes: 15, weight: LastSpecimen) with { Read = 100_000 }]));

        Assert.Equal(new Loss(0, 0, 2, 2), best.Loss);
        Assert.Equal(["A", "C"], best.GivenUp);
    }

    [Theory]
    [InlineData(40, true)]
    [InlineData(39, false)]
    public void Best_AnotherLotsCardIsIn_CountsItsChange(long closes, bool isSaved)
    {
        // 30 s for the card, 10 s for the move.
        var best = Oracle.Best(Scene([In("A", closes, lot: "L2")]));

        Assert.Equal(isSaved, best.GivenUp.IsEmpty);
    }

    [Theory]
    [InlineData(45, true)]
    [InlineData(44, false)]
    public void Best_ReaderHoldsACartridgeThatIsRead_ClearsItFirst(long closes, bool isSaved)
    {
        // The read is over after 25 s; clear 10 s, move 10 s.
        var scene = Scene([In("A", closes)]) with { Readers = [new ReaderThen("L1", 0, 25_000, 10_000)] };

        Assert.Equal(isSaved, Oracle.Best(scene).GivenUp.IsEmpty);
    }

    [Fact]
    public void Best_TwoPairsOfHandsAndReaders_ReadBothAtOnce()
    {
        var scene = Scene([In("A", closes: 10), In("B", closes: 10)]) with
        {
            Hands = [0, 0],
            Readers = [new ReaderThen("L1", 0), new ReaderThen("L1", 0)],
        };

        Assert.Equal(Loss.None, Oracle.Best(scene).Loss);
        Assert.Equal(Patient, Oracle.Best(scene with { Hands = [0] }).Loss);
        Assert.Equal(Patient, Oracle.Best(scene with { Readers = [new ReaderThen("L1", 0)] }).Loss);
    }

    [Fact]
    public void Best_MixtureAndOpenWindow_DoesWhatIsTooLateFirst()
    {
        // The load must begin within 15 s and takes 20 s; the window closes after 30 s, its move takes 10 s.
        var best = Oracle.Best(Scene([Mixed("A", until: 15), In("B", closes: 30)]));

        Assert.Equal(Loss.None, best.Loss);
        Assert.Equal("load A", best.Acts[0].What);
    }

    [Fact]
    public void Best_MixtureWithEverySlotTaken_WaitsForAMove()
    {
        var scene = Scene([Mixed("A", until: 15), In("B", closes: 100)]) with { Slots = [] };

        var best = Oracle.Best(scene);

        Assert.Equal(Loss.None, best.Loss);
        Assert.Equal("move B to reader 1", best.Acts[0].What);
    }

    [Fact]
    public void Best_MixtureAndSlotsTakenByWhatIsLost_ThrowsThatAwayFirst()
    {
        var scene = Scene([Mixed("A", until: 15)]) with { Slots = [], Spoilt = [10_000] };

        Assert.Equal(["discard", "load A"], Oracle.Best(scene).Acts.Select(act => act.What).Take(2));
        Assert.Equal(Patient, Oracle.Best(scene with { Spoilt = [16_000] }).Loss);
    }

    [Fact]
    public void Best_LoadWhoseWindowWouldMeetAnother_IsPutOff()
    {
        // Both react 100 s and must be read within 20 s of that; a read holds the reader for 40 s. A load at once
        // and the other 40 s later.
        var best = Oracle.Best(Scene([Mixed("A", until: 10), Mixed("B", until: 60)]));

        Assert.Equal(Loss.None, best.Loss);
        var second = best.Acts.Single(act => act.What == "load B").At;
        Assert.InRange(second, 20_000, 60_000);
    }

    [Fact]
    public void Best_NobodyIsThere_LosesAll() =>
        Assert.Equal(new Loss(0, 0, 2, 2), Oracle.Best(Scene([In("A", 500), In("B", 500)]) with { Hands = [] }).Loss);

    [Fact]
    public void Best_RandomScenes_IsWhatTryingEveryOrderFinds()
    {
        var random = new SeededRandom(4711);
        int lost = 0, mixtures = 0;
        for (var scene = 0; scene < 300; scene++)
        {
            var moment = Draw(random);
            var best = Oracle.Best(moment);

            var least = Enumerable.Range(0, 1 << moment.Works.Length).OrderBy(given => Weigh(moment, given))
                .First(new EveryOrder(moment, Grid).Saves);

            Assert.True(best.IsProved);
            Assert.Equal(Weigh(moment, least), best.Loss);
            lost += best.Loss.All;
            mixtures += moment.Works.Count(work => work.Mixture is not null);
        }

        // Scenes in which nothing is lost, or everything, would prove little.
        Assert.InRange(lost, 80, 500);
        Assert.InRange(mixtures, 80, 500);
    }

    private static Loss Weigh(Moment moment, int given) => Enumerable.Range(0, moment.Works.Length)
        .Where(index => (given >> index & 1) != 0)
        .Aggregate(Loss.None, (sum, index) => sum + moment.Works[index].Weight);

    private static Moment Draw(SeededRandom random)
    {
        string Lot() => random.Chance(0.6) ? "L1" : "L2";
        long Steps(int low, int high) => random.Between(low, high) * Grid;
        var works = Enumerable.Range(0, random.Between(2, 3)).Select(n =>
        {
            var (opens, window) = (Steps(0, 10), Steps(4, 20));
            var isMixture = random.Chance(0.3);
            var from = Steps(0, 2);
            return new Work($"W{n}", Lot(), random.Chance(0.3) ? LastSpecimen : Patient)
            {
                Opens = isMixture ? 0 : opens,
                Closes = isMixture ? 0 : opens + window,
                Mixture = isMixture ? new Mixture(from, from + Steps(1, 5), 15_000, 15_000 + opens,
                    15_000 + opens + (window / 2 / Grid * Grid), InSlot: true, InReader: false) : null,
                Move = Steps(2, 3),
                Read = Steps(3, 6),
                Clear = Steps(1, 2),
            };
        }).ToImmutableArray();
        return new Moment
        {
            Hands = [.. Enumerable.Range(0, random.Between(1, 2)).Select(_ => Steps(0, 2))],
            Readers = [.. Enumerable.Range(0, random.Chance(0.7) ? 1 : 2).Select(_ => random.Chance(0.5)
                ? new ReaderThen(Lot(), 0) : new ReaderThen(Lot(), 0, Steps(0, 5), Steps(1, 2)))],
            Slots = [0, 0, 0],
            Works = works,
            CardChange = Steps(2, 6),
        };
    }

    private static Moment Scene(ImmutableArray<Work> works) => new()
    {
        Hands = [0],
        Readers = [new ReaderThen("L1", 0)],
        Slots = [0, 0],
        Works = works,
        CardChange = 30_000,
    };

    private static Work In(string name, long closes, string lot = "L1", Loss? weight = null) =>
        new(name, lot, weight ?? Patient)
        { Opens = 0, Closes = closes * 1000, Move = 10_000, Read = 20_000, Clear = 10_000 };

    private static Work Mixed(string name, long until) => new(name, "L1", Patient)
    {
        Mixture = new Mixture(0, until * 1000, 20_000, 120_000, 140_000, InSlot: true, InReader: false),
        Move = 10_000,
        Read = 20_000,
        Clear = 10_000,
    };
}
