using Incubation.Planning.Engine;
using Incubation.TestKit;
using Xunit;

namespace Incubation.Planning.Tests;

/// <summary>The loop for one pair of hands against the steps that serve any bench.</summary>
public class DecoderTest
{
    [Fact]
    public void Decode_OneHandAnyOrder_GivesWhatTheGeneralStepsGive()
    {
        var shape = new DayShape(MaxHands: 1, Calendar: 0, ZeroLengths: 0, MidRun: 0.5, MaxRequests: 12);
        int kept = 0, refused = 0;
        for (var seed = 1UL; seed <= 400; seed++)
        {
            var problem = ProblemCompiler.Compile(RandomDays.Make(seed, shape));
            var (quick, plain) = (new Decoder(problem), new Decoder(problem) { Plain = true });
            var order = Builder.Empty(problem);
            new Builder(problem, new Inserter(problem, plain)).Complete(order, 6);
            var random = new SearchRandom(seed);
            for (var n = 0; n < 60; n++)
            {
                var left = Left.Of(problem, order);
                var possible = plain.Decode(order, left);
                Assert.Equal(possible, quick.Decode(order, left));
                if (possible)
                    AssertSame(plain, quick);
                _ = possible ? kept++ : refused++;
                if (order.Count > 1)
                    order.Shift(random.Below(order.Count), random.Below(order.Count));
            }
        }

        // Both kinds of order must have been met.
        Assert.True(kept > 400 && refused > 400, $"{kept} kept, {refused} refused");
    }

    private static void AssertSame(Decoder plain, Decoder quick)
    {
        Assert.Equal(plain.Score, quick.Score);
        Assert.Equal(plain.Executed.Take(plain.ExecutedCount), quick.Executed.Take(quick.ExecutedCount));
        Assert.All(plain.Executed.Take(plain.ExecutedCount), op => Assert.Equal(plain.Start[op], quick.Start[op]));
    }

    [Fact]
    public void Fit_JobTakenOut_FindsAPlaceWhereNoOtherMustWaitLonger()
    {
        var (fitted, moved) = (0, 0);
        for (var seed = 1UL; seed <= 300; seed++)
        {
            var problem =
                ProblemCompiler.Compile(
                    RandomDays.Make(seed,
                        new DayShape(MaxHands: 1, MaxReaders: 1, Calendar: 0, ZeroLengths: 0, MidRun: 0,
                            MaxRequests: 8)));
            var decoder = new Decoder(problem);
            var order = Builder.Empty(problem);
            new Builder(problem, new Inserter(problem, decoder)).Complete(order, 6);
            var left = Left.Of(problem, order);
            Assert.True(decoder.Decode(order, left));
            var before = (long[])decoder.Start.Clone();
            foreach (var job in Enumerable.Range(0, problem.Jobs)
                .Where(j => order.Mode[j] == Mode.Placed && !order.InReader[j] && new GapFitter(problem).CanFit(j)))
            {
                var trial = new Sequence(problem);
                trial.CopyFrom(order);
                trial.Remove(job);
                if (!new GapFitter(problem).Fit(trial, (long[])before.Clone(), job, 0) || !decoder.Decode(trial, left))
                    continue;
                fitted++;
                // Only a card change that is needed now and was not before can push another step.
                moved += order.Ops.Take(order.Count)
                    .Any(op => Op.Job(op) != job && Op.Kind(op) != Op.Card && decoder.Start[op] > before[op]) ? 1 : 0;
            }
        }

        Assert.True(fitted > 300, $"{fitted} fitted");
        Assert.True(moved * 5 < fitted, $"{moved} of {fitted} pushed another step");
    }
}
