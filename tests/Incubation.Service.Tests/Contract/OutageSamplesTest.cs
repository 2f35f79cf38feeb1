using Incubation.Bench;
using Incubation.Model;
using Incubation.Service.Screens;
using Incubation.Service.Snapshots;
using Incubation.Service.Text;
using Incubation.TestKit;
using NodaTime;

namespace Incubation.Service.Tests.Contract;

/// <summary>
/// Outages in random states of random days: what a screen has when it loses its server, what is reported on it
/// meanwhile, and what it must offer by <see cref="AloneYardstick"/>. The browser's module is held to it in its own
/// tests (tests/Browser.Modules).
/// </summary>
public sealed class OutageSamplesTest
{
    private const int Cases = 160;
    private const int MostReports = 9;

    [Fact]
    public void Outages_OfRandomDays_AreThoseThatTheModuleIsTestedWith()
    {
        var many = CaseCount.Of(Cases, 20 * Cases);
        var cases = AloneSamples.Seeds(many).Select(Case).OfType<Outage>().ToList();
        Assert.True(cases.Count > Cases / 2, $"only {cases.Count} outages");
        Assert.Contains(cases, one => one.Looks.Any(look => look.Offers.Any(offer => offer.Kind == "load")));
        foreach (var answer in new[] { "not-begun", "mixed", "loaded", "read-started", "cleared", "discarded" })
            Assert.Contains(cases, one => one.Looks.Any(look => look.NotKnown.Count > 0
                && (look.Report?.Answer ?? look.Report?.Kind) == answer));
        if (many == Cases)
            Assert.Null(CommittedFile.Fault("tests/Browser.Modules/contract/outages.json", AloneSamples.Lines(cases),
                typeof(OutageSamplesTest)));
        else
            AloneSamples.KeepLong("outages.json", AloneSamples.Lines(cases));
    }

    private static Outage? Case(ulong seed)
    {
        var random = new SeededRandom(seed * 7919);
        var day = AloneDays.After(seed, random.Between(1, 30));
        if (seed % 4 == 0)
            day.StaySilent(day.Now + Duration.FromSeconds(random.Between(60, 240)));
        var at = day.Now + Duration.FromSeconds(random.Chance(0.5) ? 0 : random.Between(0, 60));
        var since = at + Duration.FromSeconds(random.Chance(0.5) ? 0 : random.Between(0, 30));
        var seen = new BenchMoment(day.State, LiveBench.View(day.State, at));
        if (AlonePlan.Of(seen, StepPatience.Usual) is not { Requests.Count: > 0 } alone)
            return null;
        return new Outage(since, alone, [.. Looks(new AloneYardstick(day.State, since), since, random)]);
    }

    private static IEnumerable<Look> Looks(AloneYardstick yardstick, Instant since, SeededRandom random)
    {
        var now = since;
        var present = since;
        for (var reports = 0; reports < MostReports; reports++)
        {
            now += Duration.FromSeconds(random.Chance(0.25) ? random.Between(0, 300) : random.Between(0, 20));
            var offers = yardstick.Offers(now);
            if (yardstick.NotKnown(now) is { Count: > 0 } notKnown && random.Chance(0.6))
            {
                var (answer, flat, at) = Answer(random.Pick(notKnown), now, present, random);
                yield return Of(now, offers, notKnown, flat with { Tapped = now });
                present = now;
                yardstick.Report(answer, at, now);
                continue;
            }

            if (yardstick.State.OutOfUse.Select(entry => entry.Resource).OfType<BenchResource.Hands>().FirstOrDefault()
                is { } away && random.Chance(0.3))
            {
                yield return Of(now, offers, yardstick.NotKnown(now), new Told("in-use", now, false, null, null, null,
                    null, Tapped: now, Resource: "hands", Number: away.Number.Value));
                present = now;
                yardstick.Report(new BenchCommand.PutBackInUse(away), now, now);
                continue;
            }

            if (InDoubt(yardstick.State, random) is { } doubt && random.Chance(0.6))
            {
                yield return Of(now, offers, yardstick.NotKnown(now), doubt.Flat with { At = now, Tapped = now });
                present = now;
                yardstick.Report(doubt.Said, now, now);
                continue;
            }

            var possible = offers
                .Select(offer => (Offer: offer, Ends: AloneDays.EndOf(yardstick.State, offer, now, random)))
                .Where(one => LiveBench.CanBegin(yardstick.State, one.Offer.Action, one.Ends)).ToList();
            if (possible.Count == 0)
            {
                yield return Of(now, offers, yardstick.NotKnown(now), null);
                if (offers.Count == 0 && yardstick.NotKnown(now).Count == 0)
                    yield break;
                now += Duration.FromSeconds(30);
                continue;
            }

            var (chosen, ends) = possible.MinBy(one => one.Ends);
            var stated = random.Chance(0.1) && chosen.Action is StepAction.Mix or StepAction.Load;
            var told = stated ? Instant.Max(ends, present) + Duration.FromSeconds(10) : ends;
            var report = AloneDays.ReportOf(chosen.Action, stated);
            yield return Of(now, offers, yardstick.NotKnown(now),
                Flat(chosen.Action, ends, stated) with { Tapped = told });
            present = Instant.Max(present, told);
            yardstick.Report(report, ends, told);
            now = Instant.Max(now, told);
        }
    }

    /// <summary>What somebody says of a step that is not known: that it was done, not begun or spoilt.</summary>
    private static (BenchCommand Said, Told Flat, Instant At) Answer(UnknownStep step, Instant now, Instant present,
        SeededRandom random)
    {
        var request = step.Action.Subject!.Value;
        if (random.Chance(0.3))
            return (new BenchCommand.AnswerQuestion(new QuestionKey(QuestionKind.StepNotKnown, request.Value),
                Bench.Answer.NotBegun), new Told("answer", now, false, null, null, null, null,
                $"step-not-known/{request.Value}", "not-begun"), now);
        if (step.Action is not (StepAction.Clear or StepAction.Discard) && random.Chance(0.15))
            return (AloneDays.ReportOf(new StepAction.Discard(request)),
                Flat(new StepAction.Discard(request), now, false), now);
        var from = Instant.Min(Instant.Max(step.Begun, present), now);
        var at = from + Duration.FromMilliseconds(
            Math.Floor((now - from).TotalMilliseconds * random.Between(0, 100) / 100));
        // Asked by the server before it was lost, the answer itself is kept; asked by the page, its report is.
        if (random.Chance(0.3))
            return (new BenchCommand.AnswerQuestion(new QuestionKey(QuestionKind.StepNotKnown, request.Value),
                Bench.Answer.AtThatTime, TimeStated: true), new Told("answer", at, true, null, null, null, null,
                $"step-not-known/{request.Value}", "at-that-time"), at);
        return (AloneDays.ReportOf(step.Action, true), Flat(step.Action, at, true), at);
    }

    /// <summary>What somebody says who looks which card is in a reader of which nobody knows it.</summary>
    private static (BenchCommand Said, Told Flat)? InDoubt(BenchState state, SeededRandom random)
    {
        foreach (var reader in state.Readers.Where(reader => state.DoubtOf(reader) is not null))
        {
            var lot = random.Pick(state.Cartridges.Select(one => one.Wanted.Request.Lot).Distinct().ToList());
            var of = $"{reader.Value}";
            return (new BenchCommand.AnswerQuestion(new QuestionKey(QuestionKind.CardInDoubt, of),
                Bench.Answer.CardIs, Lot: lot), new Told("answer", default, false, null, null, null, lot.Value,
                $"card-in-doubt/{of}", "card-is"));
        }

        return null;
    }

    private static Look Of(Instant now, IReadOnlyList<Offer> offers, IReadOnlyList<UnknownStep> notKnown,
        Told? report) => new(now,
        [.. offers.Select(offer => new Offered(StepText.Kind(offer.Action),
            offer.Action.Subject?.Value ?? (offer.Action as StepAction.CardChange)?.Lot.Value, offer.Hands.Value,
            offer.MayBegin, offer.LatestStart, offer.PlannedEnd, offer.ReportFrom, offer.AskWhenAfter,
            offer.Window?.Opens, offer.Window?.Closes))],
        [.. notKnown.Select(step => $"{StepText.Kind(step.Action)}/{step.Action.Subject}")
            .Order(StringComparer.Ordinal)],
        report);

    private static Told Flat(StepAction action, Instant at, bool stated) => new(
        action switch
        {
            StepAction.Mix => "mixed",
            StepAction.Load => "loaded",
            StepAction.Move => "read-started",
            StepAction.Clear => "cleared",
            StepAction.CardChange => "card-changed",
            _ => "discarded",
        },
        at, stated, action.Subject?.Value,
        (action as StepAction.Load)?.Place is CartridgePlace.InSlot slot ? slot.Slot.Value : null,
        action.NeedsReader?.Value, (action as StepAction.CardChange)?.Lot.Value);

    /// <param name="Since">Since when the screen is alone.</param>
    /// <param name="Alone">What it has.</param>
    /// <param name="Looks">Looks at it, one after the other.</param>
    private sealed record Outage(Instant Since, AloneSnapshot Alone, IReadOnlyList<Look> Looks);

    /// <param name="Now">When somebody looks.</param>
    /// <param name="Offers">What is offered then, by hands.</param>
    /// <param name="NotKnown">Steps of which nobody knows whether they were done.</param>
    /// <param name="Report">What is reported after it, or null.</param>
    private sealed record Look(Instant Now, IReadOnlyList<Offered> Offers, IReadOnlyList<string> NotKnown,
        Told? Report);

    /// <param name="Kind">The step.</param>
    /// <param name="Of">Its request, or the lot of a card change.</param>
    /// <param name="Hands">Whose.</param>
    /// <param name="MayBegin">When it may begin.</param>
    /// <param name="LatestStart">It must begin no later; null where nothing is at stake.</param>
    /// <param name="PlannedEnd">When its allowed time has passed.</param>
    /// <param name="ReportFrom">When it can be reported.</param>
    /// <param name="AskWhenAfter">From when on it is asked when it ended, or null.</param>
    /// <param name="WindowOpens">Of a move, or null.</param>
    /// <param name="WindowCloses">Of a move, or null.</param>
    private sealed record Offered(string Kind, string? Of, int Hands, Instant MayBegin, Instant? LatestStart,
        Instant PlannedEnd, Instant ReportFrom, Instant? AskWhenAfter, Instant? WindowOpens, Instant? WindowCloses);

    /// <summary>A report as a screen keeps it.</summary>
    private sealed record Told(string Kind, Instant At, bool Stated, string? Request, int? Slot, int? Reader,
        string? Lot, string? Question = null, string? Answer = null, Instant? Tapped = null,
        string? Resource = null, int? Number = null);
}
