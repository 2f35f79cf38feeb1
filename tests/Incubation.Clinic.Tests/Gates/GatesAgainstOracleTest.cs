using Incubation.Bench.Tests;
using Incubation.TestKit;
using NodaTime;
using Xunit;

namespace Incubation.Clinic.Tests.Gates;

/// <summary>
/// Whatever happens to results, controls and lots, in whatever order: what may be out, what is judged, which gates are
/// shut and what waits for a person is what the rules say, whenever the server stops between two of its writes.
/// </summary>
public sealed class GatesAgainstOracleTest
{
    private const int Parts = 10;
    private const int Length = 70;

    private static readonly ulong Seed = ulong.Parse(Environment.GetEnvironmentVariable("INCUBATION_SEED") ?? "1",
        System.Globalization.CultureInfo.InvariantCulture);

    /// <summary>So many in all parts together where INCUBATION_SEQUENCES does not say otherwise.</summary>
    private static readonly int Sequences = int.TryParse(Environment.GetEnvironmentVariable("INCUBATION_SEQUENCES"),
        System.Globalization.CultureInfo.InvariantCulture, out var wanted) ? wanted : CaseCount.Of(2000, 100_000);

    /// <summary>The one sequence that is played again; null for all.</summary>
    private static readonly int? Only = int.TryParse(Environment.GetEnvironmentVariable("INCUBATION_ONE"),
        System.Globalization.CultureInfo.InvariantCulture, out var one) ? one : null;

    public static TheoryData<int> Chunks => [.. Enumerable.Range(0, Parts)];

    [Theory]
    [MemberData(nameof(Chunks))]
    public void AnySteps_LetOutWhatTheRulesLetOut(int part)
    {
        var sequences = Sequences / Parts;
        for (var number = part * sequences; number < (part + 1) * sequences; number++)
        {
            var seed = (Seed << 32) + (ulong)number;
            if (Only is { } one && number != one)
                continue;
            if (Played(seed) is var (steps, fault))
                Assert.Fail($"Seed {seed}: {fault}\n{string.Join('\n', Shortest(seed, steps))}");
        }
    }

    /// <summary>
    /// The steps above reach far: each kind is done, every gate, verdict and reason to wait is met, and what waits for
    /// a person is.
    /// </summary>
    [Fact]
    public void AllSteps_ReachWhatTheRulesTellApart()
    {
        HashSet<string> met = [];
        for (var number = 0UL; number < 120; number++)
        {
            var source = new RandomSteps(number);
            var left = Length;
            HashSet<(string, string)> released = [];
            Assert.Null(Fault(source, clinic =>
            {
                met.UnionWith(clinic.Carts.SelectMany(Reasons));
                foreach (var cart in clinic.Carts.Where(cart => cart.Result is not null))
                    if (cart.Result is { IsReleased: true, Value: var value })
                        released.Add((cart.Id, value));
                    else if (cart is { Proposal: null, Deviates: true }
                        && released.Contains((cart.Id, cart.Result!.Value)))
                        met.Add("told otherwise once released");
                met.UnionWith(clinic.Told(source.Start + Duration.FromDays(1)).Split(' ', '\n', ':', '!'));
                if (clinic.NeedsSecond && clinic.Carts.Any(cart => cart.Proposal is not null))
                    met.Add("second rule");
                if (left-- == 0)
                    return null;
                var step = source.Next(clinic);
                met.Add(step.GetType().Name);
                return step;
            }));
        }

        Assert.Empty(typeof(Step).GetNestedTypes().Select(kind => kind.Name).Except(met));
        Assert.Empty(new[]
        {
            "open", "wait", "hold", "compare", "failed", "accepted", "rejected", "neither", "doubtful", "impossible",
            "deviates", "gate", "held before", "released", "amendment waits", "amendment waits after the close",
            "released after the close", "untimed", "denied read", "told otherwise once released",
            "thrown away by mistake when its lot failed",
            "held after the close", "judged after the close", "critical", "earlier", "correction", "second rule",
        }.Except(met));

        static IEnumerable<string> Reasons(GateOracle.Cart cart)
        {
            if (cart.Result is not { } result)
                yield break;
            if (cart.Proposal is not null)
                yield return cart.IsClosed ? "amendment waits after the close" : "amendment waits";
            else if (cart.Waits)
                yield return result.IsImpossible ? "impossible" : result.IsDoubtful ? "doubtful"
                    : cart.WasHeld ? "held before" : cart.Deviates ? "deviates" : "gate";
            if (cart.Waits && cart.IsClosed)
                yield return "held after the close";
            if (result.IsReleased)
                yield return "released";
            if (cart.IsUntimed)
                yield return "untimed";
            if (cart is { Marked: true, Thrown: not GateOracle.Stage.Waiting, Stage: not GateOracle.Stage.Gone })
                yield return "thrown away by mistake when its lot failed";
            if (cart is { IsUsed: false, WasHeld: true, Deviates: false } && cart.DeniedRead is not null)
                yield return "denied read";
            if (result.IsReleased && cart.IsClosed)
                yield return cart.IsPatient ? "released after the close" : "judged after the close";
        }
    }

    /// <summary>
    /// A result that was out is entered once more, when its lot has failed and nothing else of it is on the bench.
    /// </summary>
    [Fact]
    public void EnteredOnceMore_WhenTheLotHasFailed_Waits()
    {
        List<Step> steps =
        [
            new Step.TargetSet(1, "A", 1, 100, 5), .. RunThrough("C1", 1), Entered("C1", "100"),
            .. RunThrough("P1", 0), Entered("P1", "12"), new Step.Amended(60, "C1", "160"), Entered("P1", "13"),
        ];
        Assert.Null(Fault(new RandomSteps(1), steps));
    }

    /// <summary>
    /// A good control was not taken out when that was told, but later, and nobody judged in between: what is to be
    /// reviewed when the next one fails begins when it truly came out.
    /// </summary>
    [Fact]
    public void TakenOutLater_BeforeAnybodyJudges_MovesWhatIsToBeReviewed()
    {
        List<Step> steps =
        [
            new Step.TargetSet(1, "A", 1, 100, 5), .. RunThrough("C1", 1), Entered("C1", "100"),
            new Step.Never(144, "C1", "clear") { After = After.Nothing }, new Step.Read(200, "C1", false),
            .. RunThrough("C2", 1), Entered("C2", "100"), new Step.Amended(60, "C2", "160"),
        ];
        Assert.Null(Fault(new RandomSteps(1), steps));
    }

    /// <summary>
    /// A value that cannot be was amended in, another typed over it and taken back: the first waits as it did, and is
    /// judged once it is amended to one that can be.
    /// </summary>
    [Fact]
    public void TakenBack_OverAValueThatCannotBe_LeavesItToBeAmended()
    {
        List<Step> steps =
        [
            new Step.TargetSet(1, "A", 1, 100, 5), .. RunThrough("C1", 1), Entered("C1", "104"),
            new Step.Amended(60, "C1", "1,000"), Entered("C1", "<200"), new Step.TakenBack(1, "C1"),
            new Step.Amended(60, "C1", "100"),
        ];
        Assert.Null(Fault(new RandomSteps(1), steps));
    }

    /// <summary>
    /// Two controls of a closed batch are released one after the other, and the server stops between: what was taken
    /// out first is judged first, whatever they are called.
    /// </summary>
    [Fact]
    public void ReleasedAfterTheClose_BothAtOnce_AreJudgedAsTheyWereTakenOut()
    {
        List<Step> steps =
        [
            new Step.TargetSet(1, "A", 1, 100, 5), new Step.TargetSet(1, "A", 3, 300, 5),
            .. RunThrough("C3", 1), .. RunThrough("C4", 1), .. RunThrough("C1", 3),
            new Step.Entered(60, "C1", "<0.5", "other", true), new Step.Entered(60, "C3", "85", "own", false),
            Entered("C4", "100"), new Step.Closed(60, 0, true),
            new Step.Released(60, "C3") { After = After.Nothing }, new Step.Released(60, "C1"),
        ];
        Assert.Null(Fault(new RandomSteps(1), steps));
    }

    /// <summary>
    /// Another value was entered over a rejected one while an amendment waited, and the amendment is declined after the
    /// close: what was entered last is judged.
    /// </summary>
    [Fact]
    public void DeclinedAfterTheClose_OverAnotherEntry_IsJudgedAnew()
    {
        List<Step> steps =
        [
            new Step.TargetSet(1, "A", 1, 100, 5), .. RunThrough("C1", 1), Entered("C1", "115.1"),
            new Step.Proposed(60, "C1", "315"), Entered("C1", "!E1"), new Step.Closed(60, 0, true),
            new Step.Looked(60, "C1", IsConfirmed: false, IsOwn: false),
        ];
        Assert.Null(Fault(new RandomSteps(1), steps));
    }

    /// <summary>
    /// A cartridge was thrown away when a control of its lot failed, and that it was is taken back: its result waits
    /// for a person like those of the others, also when the lot is open again.
    /// </summary>
    [Fact]
    public void ThrownAwayByMistake_WhileItsLotFailed_WaitsOnceTheLotIsOpenAgain()
    {
        List<Step> steps =
        [
            new Step.TargetSet(1, "A", 1, 100, 5), .. RunThrough("C1", 1), Entered("C1", "100"),
            .. RunThrough("P1", 0), new Step.Discarded(60, "P1"), new Step.Amended(60, "C1", "160"),
            new Step.Never(60, "P1", "discard"), new Step.ActionTaken(60, "A-L1"),
            .. RunThrough("C2", 1), Entered("C2", "100"), Entered("P1", "12"),
        ];
        Assert.Null(Fault(new RandomSteps(1), steps));
    }

    private static Step.Entered Entered(string cart, string value) => new(60, cart, value, "own", true);

    private static Step[] RunThrough(string cart, int level) =>
    [
        new Step.Came(60, 0, cart, "A-L1", level), new Step.Begun(60, cart), new Step.Read(60, cart, false),
    ];

    private static (List<Step> Steps, string Fault)? Played(ulong seed)
    {
        var source = new RandomSteps(seed);
        var steps = new List<Step>();
        var fault = Fault(source, clinic =>
        {
            if (steps.Count == Length)
                return null;
            steps.Add(source.Next(clinic));
            return steps[^1];
        });
        return fault is null ? null : (steps, fault);
    }

    /// <summary>The steps without those that a difference does not need.</summary>
    private static List<string> Shortest(ulong seed, List<Step> steps)
    {
        for (var again = true; again;)
        {
            again = false;
            for (var size = Math.Max(1, steps.Count / 2); size > 0; size /= 2)
                for (var at = steps.Count - size; at >= 0; at -= size)
                {
                    List<Step> fewer = [.. steps[..at], .. steps[(at + size)..]];
                    if (Fault(new RandomSteps(seed), fewer) is not null)
                        (steps, again) = (fewer, true);
                }
        }

        for (var at = 0; at < steps.Count; at++)
        {
            List<Step> plain = [.. steps];
            plain[at] = steps[at] with { After = After.Settled, Writes = 0 };
            if (plain[at] != steps[at] && Fault(new RandomSteps(seed), plain) is not null)
                steps = plain;
        }

        return [Fault(new RandomSteps(seed), steps)!, .. steps.Select(step => step.ToString())];
    }

    private static string? Fault(RandomSteps source, List<Step> steps)
    {
        var at = 0;
        return Fault(source, _ => at < steps.Count ? steps[at++] : null);
    }

    /// <summary>The first difference, in words; null where there is none.</summary>
    private static string? Fault(RandomSteps source, Func<GateOracle, Step?> next)
    {
        var oracle = new GateOracle(source.Zone, RandomSteps.Lots, source.Start);
        var program = new GateDriver(source.Zone, RandomSteps.Lots, source.Start);
        var (now, last) = (source.Start, After.Settled);
        while (next(oracle) is { } step)
        {
            now += Duration.FromSeconds(step.Wait);
            if (last != After.Nothing)
                Settle(now);
            if (!StepSense.CanHappen(oracle, step, now))
                continue;
            now = StepSense.When(oracle, step, now);
            var isDone = program.Do(step, now);
            // Whether something has happened since, so that an entry cannot be taken back at once, is for the bench.
            if (step is Step.TakenBack && !isDone)
                continue;
            if (oracle.Take(step, now) != isDone)
                return $"{step} at {now}: taken by the {(isDone ? "program" : "oracle")} only";
            now = StepSense.Ends(step, now);
            last = step.After;
            if (Difference(step, "right after", oracle.Reported(), program.Reported()) is { } early)
                return early;
            if (last == After.Stopped)
            {
                program.Settle(now, step.Writes);
                program.Restart();
            }

            if (last == After.Nothing)
                continue;
            Settle(now);
            var fault = Difference(step, "out", oracle.Reported(), program.Reported())
                ?? Difference(step, "told", oracle.Told(now), program.Told(now))
                ?? Enumerable.Range(0, 2).SelectMany(bench => oracle.Lots.Where(lot => oracle.Concerns(bench, lot))
                    .Select(lot => Difference(step, $"gate of {lot} on {bench}", oracle.GateOf(bench, lot, now),
                        program.GateOn(bench, lot)))).FirstOrDefault(difference => difference is not null);
            if (fault is not null)
                return $"{now}: {fault}";
        }

        return Replayed(source, program);

        void Settle(Instant at)
        {
            program.Settle(at);
            oracle.Settle(at);
        }
    }

    /// <summary>Now and then: what was written gives the same, to the last bit, when it is read again.</summary>
    private static string? Replayed(RandomSteps source, GateDriver program)
    {
        if (source.Seed % 100 != 0)
            return null;
        string Text() => StateText.Of(program.States.Clinic)
            + string.Concat(program.States.Benches.Select(bench => Dump.Of(bench)));
        var before = Text();
        program.Restart();
        return before == Text() ? null : "A replay differs.";
    }

    private static string? Difference(Step step, string what, string oracle, string program) =>
        oracle == program ? null : $"{what} {step}\noracle:  {oracle}\nprogram: {program}";
}
