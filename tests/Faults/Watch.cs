using Incubation.Bench;
using Incubation.Model;
using Incubation.Records.Benches;
using NodaTime;

namespace Incubation.Faults;

/// <summary>
/// Holds the bench against the true course of the day. What each invariant promises stands in README.md; here each is
/// one method that says what it found.
/// </summary>
internal sealed partial class Watch(World world)
{
    /// <summary>
    /// The whole state is written out and compared at every start, at the day's end, and whenever so many events have
    /// come: a state that differs goes on differing.
    /// </summary>
    private const int CompareEvery = 25;

    private static readonly Duration LongestSilence = Duration.FromSeconds(30);

    private readonly List<string> violations = [];
    private Instant? silentSince;
    private readonly HashSet<ReportId> acknowledged = [];
    private BenchState? replayed;
    private long compared;
    private readonly Dictionary<RequestId, CartridgePlace> told = [];

    public IReadOnlyList<string> Violations => violations;

    public void Violated(string invariant, string found)
    {
        violations.Add($"{invariant}: {found} (at {Words.Of(world.Now)})");
        world.Trace($"VIOLATED {invariant}: {found}");
    }

    /// <summary>A report's answer "recorded" has left the server.</summary>
    public void Acknowledged(ReportId id) => acknowledged.Add(id);

    /// <summary>A process has started from the log.</summary>
    public void Restarted(BenchState state, IReadOnlyList<BenchEntry> entries)
    {
        Take();
        if (Canonical(state) != Canonical(replayed!))
            Violated("replay gives the same state", $"a start with {entries.Count} entries differs");
        AcknowledgedAreInTheLog();
    }

    public void WentDown() => Take();

    /// <summary>
    /// After every event of the server: what it recorded, knows, offers and says is held against the truth.
    /// </summary>
    public void Look()
    {
        Take();
        if (world.Server is not { Present: { } state, Shown: { } look })
            return;
        var every = world.Extremes.ComparesAlways ? 1 : CompareEvery;
        if (state.Revision == replayed!.Revision && state.Revision >= compared + every)
        {
            compared = state.Revision;
            if (Canonical(state) != Canonical(replayed))
                Violated("replay gives the same state", $"at revision {state.Revision}");
        }

        // A write that was told as failed is in the log, but neither acknowledged nor known until the log is read
        // again.
        if (state.Revision == replayed.Revision)
            NothingTakenIsOffered(state, look);
        NothingIsForgotten(state, look);
        EverythingIsPlannedOrSaid(state, look);
        ClockIsDoubted();
        CountAlarms(state, look);
    }

    public void End()
    {
        Take();
        if (world.Server.Present is { } state && Canonical(state) != Canonical(ReplayedTo(state.Revision)))
            Violated("replay gives the same state", $"at the end, at revision {state.Revision}");
        AcknowledgedAreInTheLog();
        if (world.Recipe.Kind == DayKind.ToPlan)
            DayWentToPlan();
    }

    /// <summary>
    /// What the log says up to a revision: a write that was told as failed may stand in it beyond what the server
    /// knows.
    /// </summary>
    private BenchState ReplayedTo(long revision) => replayed!.Revision == revision ? replayed
        : world.Disk.From(0).Take((int)revision).Aggregate((BenchState?)null, LiveBench.Apply)!;

    private static string Canonical(BenchState state) =>
        StateJson.Write(state) + string.Join(' ', state.Recorded.Select(id => id.Value).Order(StringComparer.Ordinal));

    private void AcknowledgedAreInTheLog()
    {
        var times = world.Disk.Commands().GroupBy(id => id).ToDictionary(group => group.Key, group => group.Count());
        foreach (var id in acknowledged)
            if (!times.TryGetValue(id, out var count) || count != 1)
                Violated("an acknowledged report is in the log, once",
                    $"{id} is there {times.GetValueOrDefault(id)} times");
    }

    /// <summary>Replays what is new in the log, and judges it.</summary>
    private void Take()
    {
        var after = replayed?.Revision ?? 0;
        if (after == world.Disk.Count)
            return;
        foreach (var entry in world.Disk.From(after).ToList())
        {
            if (entry.Event is BenchEvent.PlanAdopted adopted)
                NoLossWithoutCause(adopted);
            if (entry.Event is BenchEvent.StepNotKnown notKnown)
                NoteTakenOut(notKnown);
            TimesCanBe(entry);
            if (entry.Event is BenchEvent.PlanningNoted noted)
                world.Count(noted.Works ? "something set aside, or no more" : "no plan could be made");
            if (entry.Event is BenchEvent.CardDoubted)
                world.Count("card in doubt");
            if (entry.Event is BenchEvent.BatchClosed)
            {
                // What the log says, not the answer: a late copy of a refused tap may be the one that closes it.
                EveryCartridgeHasEnded(replayed!);
                world.Close();
            }

            replayed = LiveBench.Apply(replayed, entry);
            NoteTold(replayed);
            DoubtIsMarked(entry.Event);
            if (entry.Event is BenchEvent.ResultEntered result)
            {
                world.Count(result.Held ? "result held" : "result released");
                NothingWrongIsReleased(result.Request);
            }

            NoteNew(replayed);
            world.Trace($"  log {replayed.Revision} {entry.Event.GetType().Name} {Detail(entry.Event)}");
            if (entry.Event is BenchEvent.PlanAdopted)
                foreach (var offer in LiveBench.Offers(replayed))
                    world.Trace($"    hands {offer.Hands}: {Words.Of(offer.Action)} from {Words.Of(offer.MayBegin)}"
                        + (LiveBench.CanBegin(replayed, offer.Action, Instant.Max(offer.MayBegin, entry.Provenance.At))
                            ? "" : ", but not yet"));
        }
    }

    private static string Detail(BenchEvent happened) => happened switch
    {
        BenchEvent.PlanAdopted p =>
            $"{p.Origin.Cause} lost [{string.Join(' ', p.Plan.Lost.Select(l => l.Request))}] unplaced "
            + $"[{string.Join(' ', p.Plan.Unplaced.Select(l => l.Request))}] guard "
            + $"[{string.Join(' ', p.Plan.GuardUsed)}]",
        BenchEvent.Loaded l =>
            $"{l.Request} {Words.Of(l.Place)} end {Words.Of(l.End.Earliest)}..{Words.Of(l.End.Latest)} "
            + $"{string.Join(' ', l.Deviations)}",
        BenchEvent.Mixed m => $"{m.Request} {string.Join(' ', m.Deviations)}",
        BenchEvent.ReadStarted r => $"{r.Request} at {Words.Of(r.Start)} {string.Join(' ', r.Deviations)}",
        BenchEvent.Cleared c => $"{c.Request} {string.Join(' ', c.Deviations)}",
        BenchEvent.Discarded d => $"{d.Request} {d.Reason}",
        BenchEvent.ResultEntered r => $"{r.Request} held {r.Held}",
        BenchEvent.StepNotKnown n => $"hands {n.Hands}: {Words.Of(n.Action)} begun {Words.Of(n.Begun)}",
        BenchEvent.QuestionSettled q => $"{Words.Of(q.Question)}: {q.Answer}",
        BenchEvent.ReportsRevised r => $"without [{string.Join(' ', r.Undone)}] corrected "
            + $"[{string.Join(' ', r.Corrected.Select(c => c.Report))}] judged "
            + $"[{string.Join(", ", r.Verdicts.Select(v => $"{v.Report} {string.Join(' ', v.Deviations)}"))}]",
        _ => "",
    };

    private void NoteNew(BenchState state)
    {
        foreach (var cartridge in state.Cartridges)
            _ = world.Truth.Of(cartridge);
    }

    /// <summary>
    /// Where reports, as they stand now, say that each cartridge is: our own reading of them, not the bench's.
    /// </summary>
    private void NoteTold(BenchState state)
    {
        told.Clear();
        toldLoads.Clear();
        toldReads.Clear();
        // Whatever time is said of it: what was told to be out is out since then, not back in its reader.
        var heard = new Dictionary<RequestId, Instant>();
        var reports = new List<(ReportedStep Report, Instant At)>();
        foreach (var report in state.Story)
        {
            var at = report.At;
            if (report.Subject is { } subject)
            {
                if (report.Event is BenchEvent.Cleared or BenchEvent.Discarded)
                    at = Instant.Max(at, heard.GetValueOrDefault(subject, at));
                heard[subject] = Instant.Max(at, heard.GetValueOrDefault(subject, at));
            }

            reports.Add((report, at));
        }

        foreach (var report in reports.OrderBy(pair => pair.At).Select(pair => pair.Report))
            switch (report.Event)
            {
                case BenchEvent.Loaded loaded:
                    told[loaded.Request] = loaded.Place;
                    toldLoads[loaded.Request] = (loaded.End.Earliest, loaded.End.Latest);
                    break;
                case BenchEvent.ReadStarted started:
                    told[started.Request] = new CartridgePlace.InReader(started.Reader);
                    toldReads[started.Request] = started.Start;
                    break;
                case BenchEvent.Cleared or BenchEvent.Discarded:
                    told.Remove(report.Subject!.Value);
                    break;
                default:
                    break;
            }
    }

    /// <summary>
    /// A slot or reader that truly holds a cartridge, and of which a recorded report says so, is offered for no other.
    /// </summary>
    private void NothingTakenIsOffered(BenchState state, BenchView look)
    {
        foreach (var offer in look.Offers)
        {
            if (offer.MayBegin > look.At || !LiveBench.CanBegin(state, offer.Action, look.At))
                continue;
            CartridgePlace? place = offer.Action switch
            {
                StepAction.Load load => load.Place,
                StepAction.Move move => new CartridgePlace.InReader(move.Reader),
                StepAction.CardChange change => new CartridgePlace.InReader(change.Reader),
                _ => null,
            };
            if (place is null || world.Truth.At(place) is not { } inside || inside.Id == offer.Action.Subject)
                continue;
            var isLeaving = look.Offers.Any(other => other.Action is StepAction.Move move && move.Request == inside.Id
                && other.MayBegin <= look.At && LiveBench.CanBegin(state, other.Action, look.At));
            if (told.GetValueOrDefault(inside.Id) == place && !isLeaving)
                Violated("nothing taken is offered",
                    $"{Words.Of(offer.Action)}, but {inside.Id} is in {Words.Of(place)} and was reported there");
        }
    }

    /// <summary>
    /// Every request that waits is in the plan, or the screen says why it is not; and there is a plan, or the alarm
    /// that none can be made. A server that cannot write, or doubts its time, plans nothing; else it has so long for
    /// it.
    /// </summary>
    private void EverythingIsPlannedOrSaid(BenchState state, BenchView look)
    {
        if (world.Disk.Full || world.Server.Guard?.Doubt is not null || state.Revision != replayed!.Revision
            || WithoutAWord(state, look) is not { } silent)
        {
            silentSince = null;
            return;
        }

        silentSince ??= world.Now;
        if (world.Now - silentSince > LongestSilence && world.Now - world.Server.StartedAt > LongestSilence)
        {
            Violated("a plan exists, or the screen says why not", $"{silent} since {Words.Of(silentSince.Value)}");
            silentSince = Instant.MaxValue;
        }
    }

    private static string? WithoutAWord(BenchState state, BenchView look)
    {
        if (look.Alarms.Any(alarm => alarm.Key.Kind is AlarmKind.CannotPlan or AlarmKind.CannotPlanAtRest))
            return null;
        if (state.Adopted is null && state.Cartridges.Any(c => c.Stage is CartridgeStage.InWork))
            return "no plan";
        return state.Cartridges.FirstOrDefault(c => c.Stage is CartridgeStage.Waiting
            && !look.NotPlanned.Any(left => left.Request == c.Id)
            && state.Adopted?.Plan.Unplaced.Any(left => left.Request == c.Id) != true
            && state.Adopted?.Remaining.Any(row => row.Step.Action.Subject == c.Id) != true)?.Id.Value;
    }

    /// <summary>
    /// No recorded time lies where it cannot be; a report whose time could not be stands as of its arrival.
    /// </summary>
    private void TimesCanBe(BenchEntry entry)
    {
        var (at, arrived) = (entry.Provenance.At, entry.Provenance.Arrived);
        if (at > arrived || arrived - at > Duration.FromHours(13))
            Violated("no recorded time lies where it cannot be",
                $"{entry.Event.GetType().Name} at {at}, come {arrived}");
        if (entry.Event is not BenchEvent.TimeNotTaken)
            return;
        world.Count("report as of its arrival");
        if (at != arrived)
            Violated("no recorded time lies where it cannot be", $"{entry.Provenance.Id} at {at}, not as it came");
    }

    /// <summary>A cartridge in work stands somewhere on the screen.</summary>
    private void NothingIsForgotten(BenchState state, BenchView look)
    {
        foreach (var cartridge in state.Cartridges)
        {
            if (cartridge.Stage is not (CartridgeStage.InWork or CartridgeStage.Astray))
                continue;
            var isShown = look.Slots.Any(slot => slot.Cartridge?.Id == cartridge.Id)
                || look.Readers.Any(reader => reader.Cartridge?.Id == cartridge.Id)
                || look.Offers.Any(offer => offer.Action.Subject == cartridge.Id)
                || look.Upcoming.Any(step => step.Step.Action.Subject == cartridge.Id)
                || look.Alarms.Any(alarm => alarm.Key.Request == cartridge.Id)
                || look.Losses.Any(loss => loss.Request == cartridge.Id)
                || look.Questions.Any(question => question.Request == cartridge.Id);
            if (!isShown && world.Server.IsUp)
                Violated("every cartridge in work is on the screen", $"{cartridge.Id} {cartridge.Stage}");
        }
    }

    private void EveryCartridgeHasEnded(BenchState state)
    {
        foreach (var cartridge in state.Cartridges)
        {
            if (!cartridge.IsOver)
                Violated("every cartridge ends read, discarded or open",
                    $"{cartridge.Id} is {cartridge.Stage} in a closed batch");
            NothingWrongIsReleased(cartridge.Id);
        }
    }

    /// <summary>
    /// A result that is not held is of a cartridge that was truly read in its window, but for what the taps do not
    /// tell.
    /// </summary>
    private void NothingWrongIsReleased(RequestId id)
    {
        if (replayed?.Find(id) is not { Stage: CartridgeStage.Cleared, Result: ReadResult.Measured } cartridge
            || !cartridge.Deviations.IsEmpty)
            return;
        var c = world.Truth.Of(cartridge);
        if (c.ReadStart is not { } read || c.Opens is not { } opens || c.Closes is not { } closes)
        {
            Violated("no result is released of a cartridge read outside its window", $"{id} was not truly read");
            return;
        }

        var outside = Duration.Max(Duration.Zero, Duration.Max(opens - read, read - closes));
        if (outside == Duration.Zero)
            return;
        var unknown = Unknown(c);
        if (outside > unknown)
            Violated("no result is released of a cartridge read outside its window",
                $"{id} by {Words.Signed(outside)} s, of which taps explain {Words.Signed(unknown)} s");
    }
}
