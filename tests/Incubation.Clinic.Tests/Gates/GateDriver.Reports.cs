using Incubation.Bench;
using Incubation.Model;
using NodaTime;

namespace Incubation.Clinic.Tests.Gates;

/// <content>What is said to a bench: reads, and what is said of them afterwards.</content>
internal sealed partial class GateDriver
{
    private readonly Dictionary<string, Instant> reads = [];

    private bool Read(Step.Read read, Instant now)
    {
        var (bench, request) = Find(read.Cart);
        var cartridge = benches[bench]!.Find(request)!;
        if (cartridge.Phase is not CartridgePhase.Reading)
        {
            if (benches[bench]!.CardIn(Reader) != cartridge.Wanted.Request.Lot)
                Must(Say(bench, now, new BenchCommand.CardChanged(Reader, cartridge.Wanted.Request.Lot)));
            reads[read.Cart] = now;
            Must(Say(bench, now, new BenchCommand.ReadStarted(request, Reader, false), IdOfNew(read.Cart, "read"),
                claimed: read.IsUntimed ? "half past" : null));
        }

        return Say(bench, now + GateOracle.ToClear, new BenchCommand.Cleared(request, Reader),
            IdOfNew(read.Cart, "clear"));
    }

    private bool ReadAgain(Step.ReadAgain again, Instant now)
    {
        var ((bench, request), at) = (Find(again.Cart), reads[again.Cart]);
        Must(Say(bench, at, new BenchCommand.ReadStarted(request, Reader, false), IdOfNew(again.Cart, "read"),
            arrived: now));
        return Say(bench, at + GateOracle.ToClear, new BenchCommand.Cleared(request, Reader),
            IdOfNew(again.Cart, "clear"), arrived: now);
    }

    private bool Answer(Step.Answered answered, Instant now) => Say(Find(answered.Cart).Bench, reads[answered.Cart],
        new BenchCommand.AnswerQuestion(new QuestionKey(QuestionKind.WhenDone, IdOf(answered.Cart, "read").Value),
            Bench.Answer.AtThatTime, TimeStated: true), arrived: now);

    private bool Say(int bench, Instant at, BenchCommand command, ReportId? id = null, bool isChecked = true,
        PersonId? by = null, Instant? arrived = null, string? claimed = null)
    {
        var provenance = new Provenance(id ?? new ReportId($"T{++count}"), at, arrived ?? at, by ?? Aide, Tablet,
            isChecked ? Identity.Checked : Identity.NotChecked)
        {
            Claimed = claimed,
        };
        if (LiveBench.Decide(benches[bench], command, provenance) is not Decision.Accepted accepted)
            return false;
        foreach (var entry in accepted.Entries(provenance))
        {
            told[bench].Add(entry);
            benches[bench] = LiveBench.Apply(benches[bench], entry);
        }

        return true;
    }
}
