
namespace Incubation.Planning.Engine;

/// <summary>What no plan can place or save.</summary>
internal sealed partial class ProblemCompiler
{
    /// <summary>
    /// Which jobs no plan can place or save, with the reason, and which a plan may leave out beside those. Also raises
    /// the earliest mix of what comes after others.
    /// </summary>
    private sealed class LeaveRules(ProblemCompiler compiler, bool[] canSlot, bool[] canReader, bool[] windowHolds,
        ClosedTimes[] hands, ClosedTimes[] readers)
    {
        public void Apply()
        {
            var done = new byte[compiler.jobs];
            for (var j = 0; j < compiler.jobs; j++)
                Visit(j, done);
        }

        private void Visit(int j, byte[] done)
        {
            if (done[j] != 0)
                return;
            done[j] = 1;
            foreach (var p in compiler.after[j])
                Visit(p, done);
            switch (compiler.stage[j])
            {
                case Stage.Fresh: JudgeFresh(j); break;
                case Stage.Mixed: JudgeMixed(j); break;
                case Stage.Reacting: JudgeReacting(j); break;
                default: break;
            }
        }

        private long Fit(long earliest, long length) => hands.Min(closed => closed.Fit(earliest, length));

        /// <summary>No clear of the job ends before, lost or not.</summary>
        private long EarliestEnd(int j)
        {
            var clear = compiler.length[Op.Of(j, Op.Clear)];
            var assay = compiler.assay[j];
            var rest = Ms(assay.Incubation) + Ms(assay.Read) + clear;
            return compiler.stage[j] switch
            {
                Stage.Gone => compiler.goneEnd[j],
                Stage.InReader => compiler.earliest[Op.Of(j, Op.Clear)] + clear,
                Stage.Fresh => compiler.earliest[Op.Of(j, Op.Mix)] + Ms(assay.Mix) + Ms(assay.Load) + rest,
                _ => compiler.discardFrom[j] + clear,
            };
        }

        private void JudgeFresh(int j)
        {
            var mix = Op.Of(j, Op.Mix);
            var assay = compiler.assay[j];
            foreach (var p in compiler.after[j])
            {
                compiler.earliest[mix] = Math.Max(compiler.earliest[mix], EarliestEnd(p));
                if (compiler.stage[p] == Stage.Fresh && compiler.mustLeave[p] is not null)
                    compiler.mustLeave[j] = new LeftOutReason.PredecessorUnplaced(compiler.day.Requests[p].Id);
                compiler.mayLeave[j] |= compiler.stage[p] == Stage.Fresh && compiler.mayLeave[p];
            }

            compiler.mayLeave[j] |= compiler.loadLatest[j] < BenchProblem.Never;
            var load = Fit(Fit(compiler.earliest[mix], Ms(assay.Mix)) + Ms(assay.Mix), Ms(assay.Load));
            compiler.earliest[Op.Of(j, Op.Load)] = compiler.earliest[mix] + Ms(assay.Mix);
            compiler.mustLeave[j] ??= NoPlace(j);
            if (Ms(assay.MixShortest) + Ms(assay.MixToLoad) < Ms(assay.Mix))
                compiler.mustLeave[j] ??= new LeftOutReason.MixtureEmpty();
            if (load > compiler.loadLatest[j])
                compiler.mustLeave[j] ??= new LeftOutReason.LoadByTooEarly(compiler.day.Requests[j].LoadBy!.Value,
                    compiler.At(load + Ms(assay.Load)));
        }

        private LeftOutReason? NoPlace(int j) =>
            canSlot[j] || canReader[j] ? null
            : compiler.day.Bench.Slots == 0 ? new LeftOutReason.NoSlots()
            : windowHolds[j] ? new LeftOutReason.MoveTooLong()
            : new LeftOutReason.WindowEmpty();

        private void JudgeMixed(int j)
        {
            compiler.mayLeave[j] = true;
            compiler.mustLeave[j] ??= NoPlace(j);
            if (Fit(compiler.earliest[Op.Of(j, Op.Load)], compiler.length[Op.Of(j, Op.Load)]) > compiler.loadLatest[j])
                compiler.mustLeave[j] ??= new LeftOutReason.MixtureOld(compiler.At(compiler.loadLatest[j]));
        }

        private void JudgeReacting(int j)
        {
            compiler.mayLeave[j] = true;
            var move = Op.Of(j, Op.Move);
            if (compiler.readFrom[j] > compiler.readClose[j] || Fit(compiler.earliest[move], compiler.length[move])
                + compiler.length[move] > compiler.readClose[j])
                compiler.mustLeave[j] ??= new LeftOutReason.WindowClosed(compiler.At(compiler.readClose[j]));
            // What only closed readers cost is not thrown away while its window is open: one may be back sooner than is
            // said.
            else if (
                readers.All(reader => reader.Fit(compiler.earliest[move], compiler.length[move])
                    + compiler.length[move] > compiler.readClose[j]))
                compiler.discardFrom[j] = Math.Max(compiler.discardFrom[j], compiler.readClose[j]);
        }
    }
}
