using Incubation.Bench;
using Incubation.Model;
using Incubation.Planning;
using Incubation.TestKit;
using NodaTime;

namespace Incubation.Service.Tests.Contract;

/// <summary>Random days on a live bench, up to the instant at which a screen loses its server.</summary>
internal sealed class AloneDays
{
    private static readonly DayShape Shape = new(FewestRequests: 3, MaxRequests: 9, MaxHands: 2, MaxReaders: 2,
        MaxSlots: 5, MidRun: 0, Calendar: 0, ZeroLengths: 0, Impossible: 0);

    private readonly SeededRandom random;
    private readonly Dictionary<string, Duration> lengths = [];
    private int said;

    private AloneDays(ulong seed)
    {
        random = new SeededRandom(seed);
        var day = RandomDays.Make(seed, Shape);
        Now = RandomDays.Start;
        var setup = day.Bench with { Slots = Math.Max(1, day.Bench.Slots) };
        Say(new BenchCommand.OpenBench(new BenchId("bench-1"), "Bench 1", setup, Duration.FromSeconds(20)));
        Say(new BenchCommand.AddRequests([.. day.Requests.Select(request => new BenchRequest(
            request with { Ready = Instant.Min(request.Ready, Now), After = [] },
            day.Assays.First(assay => assay.Code == request.Assay), 1, "mg/L"))]));
        Say(new BenchCommand.StartBatch());
        Plan(PlanCause.BatchStarted);
    }

    /// <summary>The bench.</summary>
    public BenchState State { get; private set; } = null!;

    /// <summary>The present.</summary>
    public Instant Now { get; private set; }

    /// <summary>The day of a seed after so many reports, or as many as it has.</summary>
    public static AloneDays After(ulong seed, int reports)
    {
        var day = new AloneDays(seed);
        for (var done = 0; done < reports && day.DoNext(); done++)
        {
        }

        return day;
    }

    /// <summary>
    /// Nobody says anything until an instant: the steps with which patience ends are not known, and it is planned
    /// without them.
    /// </summary>
    public void StaySilent(Instant until)
    {
        while (LiveBench.View(State, Now).NotKnownAt is { } ends && ends <= until)
        {
            Now = Instant.Max(Now, ends);
            var notes = LiveBench.NotKnown(State, Now, StepPatience.Usual);
            foreach (var note in notes)
                Say(note);
            if (notes.IsEmpty)
                break;
            Plan(PlanCause.StepOverran);
        }

        Now = until;
    }

    /// <summary>The report of an offer's step.</summary>
    public static BenchCommand.Report ReportOf(StepAction action, bool stated = false) => action switch
    {
        StepAction.Mix mix => new BenchCommand.Mixed(mix.Request, stated),
        StepAction.Load load => new BenchCommand.Loaded(load.Request, load.Place, stated),
        StepAction.Move move => new BenchCommand.ReadStarted(move.Request, move.Reader, false),
        StepAction.Clear clear => new BenchCommand.Cleared(clear.Request, clear.Reader),
        StepAction.CardChange change => new BenchCommand.CardChanged(change.Reader, change.Lot),
        _ => new BenchCommand.Discarded(action.Subject!.Value, DiscardReason.WindowClosed, null),
    };

    /// <summary>When hands that do an offer's step from an instant on have done it.</summary>
    public static Instant EndOf(BenchState state, Offer offer, Instant now, SeededRandom random)
    {
        var begins = Instant.Max(offer.MayBegin, now);
        var length = (offer.PlannedEnd - offer.MayBegin) * random.Between(65, random.Chance(0.1) ? 160 : 100) / 100;
        var ends = begins + Duration.FromMilliseconds(Math.Floor(length.TotalMilliseconds));
        return Instant.Max(ends, offer.ReportFrom);
    }

    private bool DoNext()
    {
        var next = LiveBench.Offers(State)
            .Select(offer => (Offer: offer, Ends: Ends(offer)))
            .Where(one => LiveBench.CanBegin(State, one.Offer.Action, one.Ends))
            .OrderBy(one => one.Ends).Select(one => ((Offer, Instant)?)one).FirstOrDefault();
        if (next is not var (offer, ends))
            return false;
        Now = Instant.Max(Now, ends);
        Say(ReportOf(offer.Action));
        Plan(PlanCause.Report);
        return true;
    }

    private Instant Ends(Offer offer)
    {
        var key = $"{offer.Action}/{offer.Hands}";
        if (!lengths.TryGetValue(key, out var length))
            lengths[key] = length = EndOf(State, offer, offer.MayBegin, random) - offer.MayBegin;
        return Instant.Max(offer.MayBegin + length, offer.ReportFrom);
    }

    private void Plan(PlanCause cause)
    {
        foreach (var adopt in PlanReplacement.Propose(State, Now, cause, 1, new IterationBudget(30)))
            if (Say(adopt))
                return;
    }

    private bool Say(BenchCommand command)
    {
        var provenance = new Provenance(new ReportId($"T{++said}"), Now, Now, new PersonId("aide"),
            new DeviceId("tablet"));
        if (LiveBench.Decide(State, command, provenance) is not Decision.Accepted accepted)
            return false;
        foreach (var entry in accepted.Entries(provenance))
            State = LiveBench.Apply(State, entry);
        return true;
    }
}
