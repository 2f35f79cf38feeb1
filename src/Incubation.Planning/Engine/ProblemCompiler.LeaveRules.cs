
namespace Incubation.Planning.Engine;

/// <summary>What no plan can place or save.</summary>
internal sealed partial class ProblemCompiler
{
    /// <summary>
    /// Which jobs no plan can place or save, with the reason, and which a plan may leave out beside those. Also raises
    /// the earliest mix of what comes after others.
    /// </summary>
    private sealed class LeaveRules(ProblemCompiler c, bool[] canSlot, bool[] canReader, bool[] windowHolds,
        ClosedTimes[] hands, ClosedTimes[] readers)
    {
        public void Apply()
        {
            var done = new byte[c.jobs];
            for (var j = 0; j < c.jobs; j++)
                Visit(j, done);
        }

        private void Visit(int j, byte[] done)
        {
            if (done[j] != 0)
                return;
            done[j] = 1;
            foreach (var p in c.after[j])
                Visit(p, done);
            switch (c.stage[j])
            {
                case Stage.Fresh: JudgeFresh(j); break;
                case Stage.Mixed: JudgeMixed(j); break;
                case Stage.Reacting: JudgeReacting(j); break;
                default: break;
            }
        }

        private long Fit(long earliest, long length) => hands.Min(h => h.Fit(earliest, length));

        /// <summary>No clear of the job ends before, lost or not.</summary>
        private long EarliestEnd(int j)
        {
            var clear = c.length[Op.Of(j, Op.Clear)];
            var a = c.assay[j];
            var rest = Ms(a.Incubation) + Ms(a.Read) + clear;
            return c.stage[j] switch
            {
                Stage.Gone => c.goneEnd[j],
                Stage.InReader => c.earliest[Op.Of(j, Op.Clear)] + clear,
                Stage.Fresh => c.earliest[Op.Of(j, Op.Mix)] + Ms(a.Mix) + Ms(a.Load) + rest,
                _ => c.discardFrom[j] + clear,
            };
        }

        private void JudgeFresh(int j)
        {
            var mix = Op.Of(j, Op.Mix);
            var a = c.assay[j];
            foreach (var p in c.after[j])
            {
                c.earliest[mix] = Math.Max(c.earliest[mix], EarliestEnd(p));
                if (c.stage[p] == Stage.Fresh && c.mustLeave[p] is not null)
                    c.mustLeave[j] = new LeftOutReason.PredecessorUnplaced(c.day.Requests[p].Id);
                c.mayLeave[j] |= c.stage[p] == Stage.Fresh && c.mayLeave[p];
            }

            c.mayLeave[j] |= c.loadLatest[j] < BenchProblem.Never;
            var load = Fit(Fit(c.earliest[mix], Ms(a.Mix)) + Ms(a.Mix), Ms(a.Load));
            c.earliest[Op.Of(j, Op.Load)] = c.earliest[mix] + Ms(a.Mix);
            c.mustLeave[j] ??= NoPlace(j);
            if (Ms(a.MixShortest) + Ms(a.MixToLoad) < Ms(a.Mix))
                c.mustLeave[j] ??= new LeftOutReason.MixtureEmpty();
            if (load > c.loadLatest[j])
                c.mustLeave[j] ??= new LeftOutReason.LoadByTooEarly(c.day.Requests[j].LoadBy!.Value,
                    c.At(load + Ms(a.Load)));
        }

        private LeftOutReason? NoPlace(int j) =>
            canSlot[j] || canReader[j] ? null
            : c.day.Bench.Slots == 0 ? new LeftOutReason.NoSlots()
            : windowHolds[j] ? new LeftOutReason.MoveTooLong()
            : new LeftOutReason.WindowEmpty();

        private void JudgeMixed(int j)
        {
            c.mayLeave[j] = true;
            c.mustLeave[j] ??= NoPlace(j);
            if (Fit(c.earliest[Op.Of(j, Op.Load)], c.length[Op.Of(j, Op.Load)]) > c.loadLatest[j])
                c.mustLeave[j] ??= new LeftOutReason.MixtureOld(c.At(c.loadLatest[j]));
        }

        private void JudgeReacting(int j)
        {
            c.mayLeave[j] = true;
            var move = Op.Of(j, Op.Move);
            if (c.readFrom[j] > c.readClose[j] || Fit(c.earliest[move], c.length[move])
                + c.length[move] > c.readClose[j])
                c.mustLeave[j] ??= new LeftOutReason.WindowClosed(c.At(c.readClose[j]));
            // What only closed readers cost is not thrown away while its window is open: one may be back sooner than is
            // said.
            else if (
                readers.All(reader => reader.Fit(c.earliest[move], c.length[move]) + c.length[move] > c.readClose[j]))
                c.discardFrom[j] = Math.Max(c.discardFrom[j], c.readClose[j]);
        }
    }
}
