using System.Collections.Immutable;
using Incubation.Bench;
using Incubation.Model;
using NodaTime;

namespace Incubation.Clinic.Record;

/// <summary>A result that was amended after its batch had been closed.</summary>
/// <param name="Sequence">Its row in the clinic's stream.</param>
/// <param name="Amended">What was said.</param>
/// <param name="Provenance">By whom, when, through what.</param>
public sealed record ClosedAmendment(long Sequence, ClinicEvent.ClosedResultAmended Amended, Provenance Provenance)
{
    /// <summary>What is asked about the value; null where it is possible.</summary>
    public ValueQuestion? Question { get; init; }

    /// <summary>Why somebody must be told of it, whether or not somebody was; null where nobody need be.</summary>
    public TellingCause? Due { get; init; }

    /// <summary>What was entered first and confirmed with this; null where no second look was asked for.</summary>
    public AmendmentProposal? Proposal { get; init; }

    /// <summary>When the value was entered.</summary>
    public Instant EnteredAt => Proposal?.At ?? Provenance.At;

    /// <summary>By whom.</summary>
    public PersonId EnteredBy => Proposal?.By ?? Provenance.Person;
}

/// <summary>An amendment of a closed batch's result that waits for a second person.</summary>
/// <param name="Sequence">Its row in the clinic's stream.</param>
/// <param name="Proposed">What was said.</param>
/// <param name="Proposal">The same, with who and when.</param>
public sealed record WaitingAmendment(long Sequence, ClinicEvent.ClosedAmendmentProposed Proposed,
    AmendmentProposal Proposal);

/// <summary>What a second person decided on an amendment after the batch had been closed.</summary>
/// <param name="Decided">What was said.</param>
/// <param name="Look">Who, when, why.</param>
/// <param name="Provenance">By whom, when, through what.</param>
public sealed record DecidedAmendment(ClinicEvent.ClosedAmendmentDecided Decided, SecondLook Look,
    Provenance Provenance);

/// <summary>A result that was released after its batch had been closed.</summary>
/// <param name="Sequence">Its row in the clinic's stream.</param>
/// <param name="Released">What was said.</param>
/// <param name="Provenance">By whom, when, through what.</param>
public sealed record ClosedRelease(long Sequence, ClinicEvent.ClosedResultReleased Released,
    Provenance Provenance);

/// <summary>That somebody was told of a result after its batch had been closed, or need not be.</summary>
/// <param name="Of">Of which value: how many amendments after the close had been made.</param>
/// <param name="Told">Who was told; null where nobody need be.</param>
/// <param name="Waived">Why nobody need be told; null where somebody was.</param>
public sealed record ClosedTelling(int Of, CriticalNotice? Told, TellingWaiver? Waived);

/// <summary>
/// Results amended or released after their batches had been closed, and who was told of them, as the clinic's stream
/// tells. Immutable; made from events alone.
/// </summary>
public sealed record AmendmentsState
{
    /// <summary>None.</summary>
    public static AmendmentsState Empty { get; } = new();

    /// <summary>Whether an amendment waits for another supervisor than who entered it; off at first.</summary>
    public bool NeedsSecond { get; private init; }

    private ImmutableDictionary<(BenchId, RequestId), WaitingAmendment> Proposed { get; init; } =
        ImmutableDictionary<(BenchId, RequestId), WaitingAmendment>.Empty;

    private ImmutableDictionary<(BenchId, RequestId), ImmutableList<DecidedAmendment>> Decided { get; init; } =
        ImmutableDictionary<(BenchId, RequestId), ImmutableList<DecidedAmendment>>.Empty;

    private ImmutableDictionary<(BenchId, RequestId), ImmutableList<ClosedAmendment>> All { get; init; } =
        ImmutableDictionary<(BenchId, RequestId), ImmutableList<ClosedAmendment>>.Empty;

    private ImmutableDictionary<(BenchId, RequestId), ClosedRelease> Releases { get; init; } =
        ImmutableDictionary<(BenchId, RequestId), ClosedRelease>.Empty;

    private ImmutableDictionary<(BenchId, RequestId), ImmutableList<ClosedTelling>> Tellings { get; init; } =
        ImmutableDictionary<(BenchId, RequestId), ImmutableList<ClosedTelling>>.Empty;

    /// <summary>Every row about a cartridge's result, each with its batch, in order.</summary>
    private ImmutableDictionary<(BenchId, RequestId), ImmutableList<(long Sequence, int Batch)>> Rows { get; init; } =
        ImmutableDictionary<(BenchId, RequestId), ImmutableList<(long, int)>>.Empty;

    /// <summary>The cartridges whose results were amended or released, each with its batch, in no order.</summary>
    public IEnumerable<(BenchId Bench, int Batch, RequestId Request)> Cartridges =>
        Rows.Select(pair => (pair.Key.Item1, pair.Value[0].Batch, pair.Key.Item2));

    /// <summary>
    /// The last amendments of results of which somebody must still be told, the oldest first: none leaves this list but
    /// by telling or by a supervisor's reason.
    /// </summary>
    public IEnumerable<ClosedAmendment> Untold => All.Values.Select(all => all[^1])
        .Where(last => last.Due is not null && TellingOf(last.Amended.Bench, last.Amended.Request) is null)
        .OrderBy(last => last.Sequence);

    /// <summary>
    /// The last amendments to values that cannot be and that nobody has released since, the oldest first.
    /// </summary>
    public IEnumerable<ClosedAmendment> Questioned => All.Values.Select(all => all[^1])
        .Where(last => last.Question is not null && ReleaseOf(last.Amended.Bench, last.Amended.Request) is null)
        .OrderBy(last => last.Sequence);

    /// <summary>
    /// Results that were amended to a value that cannot be, then to one that can, and that nobody has released since:
    /// whatever was released before the close waits again.
    /// </summary>
    public IEnumerable<(BenchId Bench, int Batch, RequestId Request)> Reopened => All.Values
        .Where(all => all[^1].Question is null && all.Exists(one => one.Question is not null))
        .Select(all => all[^1].Amended).Select(last => (last.Bench, last.Batch, last.Request))
        .Where(one => ReleaseOf(one.Bench, one.Request) is null);

    /// <summary>Every amendment that was entered after the close and waits for a second person, oldest first.</summary>
    public IEnumerable<WaitingAmendment> Waiting => Proposed.Values.OrderBy(one => one.Sequence);

    /// <summary>
    /// The amendment of a cartridge's result that was entered after the close and waits for a second person, or null.
    /// </summary>
    public WaitingAmendment? ProposalOf(BenchId bench, RequestId request) =>
        Proposed.GetValueOrDefault((bench, request));

    /// <summary>What second persons decided on amendments of a cartridge's result after the close, in order.</summary>
    public ImmutableList<DecidedAmendment> DecidedOf(BenchId bench, RequestId request) =>
        Decided.GetValueOrDefault((bench, request), []);

    /// <summary>
    /// That a cartridge's held result was released; null where it was not, or was amended to a value that cannot be
    /// since.
    /// </summary>
    public ClosedRelease? ReleaseOf(BenchId bench, RequestId request) => Releases.GetValueOrDefault((bench, request));

    /// <summary>The amendments of a cartridge's result, the first first.</summary>
    public ImmutableList<ClosedAmendment> Of(BenchId bench, RequestId request) =>
        All.GetValueOrDefault((bench, request), []);

    /// <summary>What became of telling a cartridge's result after the close, the first first.</summary>
    public ImmutableList<ClosedTelling> TellingsOf(BenchId bench, RequestId request) =>
        Tellings.GetValueOrDefault((bench, request), []);

    /// <summary>
    /// The rows of the clinic's stream about results of these requests of a bench, in order: they go with them.
    /// </summary>
    public IReadOnlyList<long> RowsOf(BenchId bench, IReadOnlySet<string> requests) =>
    [
        .. Rows.Where(pair => pair.Key.Item1 == bench && requests.Contains(pair.Key.Item2.Value))
            .SelectMany(pair => pair.Value).Select(row => row.Sequence).Order(),
    ];

    /// <summary>The state after one more entry; the same where it is about something else.</summary>
    /// <param name="entry">The entry.</param>
    /// <param name="sequence">Its row in the clinic's stream.</param>
    internal AmendmentsState Apply(ClinicEntry entry, long sequence)
    {
        var by = entry.Provenance;
        return entry.Event switch
        {
            ClinicEvent.AmendmentRuleSet set => this with { NeedsSecond = set.Second },
            ClinicEvent.ClosedAmendmentProposed one => Kept(one.Bench, one.Request, one.Batch, sequence) with
            {
                Proposed = Proposed.SetItem((one.Bench, one.Request), new WaitingAmendment(sequence, one,
                    new AmendmentProposal(one.Before, one.After, one.Why, one.Reason, by.At, by.Person))),
            },
            ClinicEvent.ClosedAmendmentDecided one => Kept(one.Bench, one.Request, one.Batch, sequence) with
            {
                Proposed = Proposed.Remove((one.Bench, one.Request)),
                Decided = Decided.SetItem((one.Bench, one.Request), DecidedOf(one.Bench, one.Request)
                    .Add(new DecidedAmendment(one, new SecondLook(one.Why, by.At, by.Person), by))),
            },
            ClinicEvent.ClosedResultAmended amended => Kept(amended.Bench, amended.Request, amended.Batch, sequence)
                with
            {
                All = All.SetItem((amended.Bench, amended.Request), Of(amended.Bench, amended.Request)
                    .Add(new ClosedAmendment(sequence, amended, by)
                    {
                        Proposal = DecidedOf(amended.Bench, amended.Request) is
                            [.., { Decided.Confirmed: true } last] && last.Provenance.Id == by.Id
                                ? last.Decided.Proposal with { Confirmed = last.Look } : null,
                    })),
            },
            ClinicEvent.ClosedResultReleased released =>
                Kept(released.Bench, released.Request, released.Batch, sequence) with
                {
                    Releases = Releases.SetItem((released.Bench, released.Request),
                        new ClosedRelease(sequence, released, by)),
                },
            // Of a value that cannot be nothing was released yet, whatever was of the one before it.
            ClinicEvent.ClosedResultQuestioned asked =>
                Last(asked.Bench, asked.Request, asked.Batch, sequence, last => last with { Question = asked.Question })
                with
                { Releases = Releases.Remove((asked.Bench, asked.Request)) },
            ClinicEvent.ClosedTellingDue due =>
                Last(due.Bench, due.Request, due.Batch, sequence, last => last with { Due = due.Cause }),
            ClinicEvent.ClosedResultTold told => Telling(told.Bench, told.Request, told.Batch, sequence,
                new CriticalNotice(told.Whom, by.At, by.Person, told.ReadBack, told.Why), null),
            ClinicEvent.ClosedTellingWaived waived => Telling(waived.Bench, waived.Request, waived.Batch, sequence,
                null, new TellingWaiver(waived.Why, by.At, by.Person)),
            ClinicEvent.RecordErased erased => Without(Rows.Where(pair => erased.Covers(pair.Value[0].Sequence))
                .Select(pair => pair.Key).ToList()),
            _ => this,
        };
    }

    /// <summary>What speaks against an event, or null. Events about something else: null.</summary>
    /// <param name="event">The event.</param>
    /// <param name="requests">Every request that has come in.</param>
    /// <param name="provenance">Who says so.</param>
    internal ClinicObjection? Against(ClinicEvent @event, ImmutableHashSet<RequestId> requests,
        Provenance provenance) => @event switch
        {
            ClinicEvent.AmendmentRuleSet => null,
            ClinicEvent.ClosedAmendmentProposed one => Unexplained(one.Why, one.Request, requests)
                ?? AgainstAnother(one.Bench, one.Request, one.Before, one.After),
            ClinicEvent.ClosedAmendmentDecided one => Unexplained(one.Why, one.Request, requests)
                ?? Against(one, provenance),
            ClinicEvent.ClosedResultAmended amended => Against(amended, requests),
            ClinicEvent.ClosedResultReleased released => Unexplained(released.Why, released.Request, requests)
                ?? Waits(released.Bench, released.Request)
                ?? Unseen(released.Bench, released.Request, released.Of)
                ?? (ReleaseOf(released.Bench, released.Request) is not null
                    ? new(ClinicRefusal.ResultChanged, released.Request.Value) : null),
            ClinicEvent.ClosedResultQuestioned asked => NotAmended(asked.Bench, asked.Request),
            ClinicEvent.ClosedTellingDue due => NotAmended(due.Bench, due.Request),
            ClinicEvent.ClosedResultTold told => Unexplained(told.Whom, told.Request, requests)
                ?? Unseen(told.Bench, told.Request, told.Of),
            ClinicEvent.ClosedTellingWaived waived => Unexplained(waived.Why, waived.Request, requests)
                ?? Unseen(waived.Bench, waived.Request, waived.Of),
            _ => null,
        };

    private ClinicObjection? Against(ClinicEvent.ClosedResultAmended amended, ImmutableHashSet<RequestId> requests) =>
        Unexplained(amended.Why, amended.Request, requests)
        ?? AgainstAnother(amended.Bench, amended.Request, amended.Before, amended.After);

    private ClinicObjection? AgainstAnother(BenchId bench, RequestId request, ReadResult before, ReadResult after) =>
        Waits(bench, request) ?? (after == before
            || (Of(bench, request) is [.., var last] && last.Amended.After != before)
            ? new(ClinicRefusal.ResultChanged, request.Value) : null);

    /// <summary>What is said of a value that somebody has amended meanwhile is said of none.</summary>
    private ClinicObjection? Unseen(BenchId bench, RequestId request, int? of) =>
        of is { } seen && seen != Of(bench, request).Count ? new(ClinicRefusal.ResultChanged, request.Value) : null;

    private ClinicObjection? Waits(BenchId bench, RequestId request) => ProposalOf(bench, request) is not null
        ? new(ClinicRefusal.AmendmentWaits, request.Value) : null;

    /// <summary>
    /// A second look is another person's, at what waits; who entered it may only decline it. What was entered before
    /// the close its batch's rows know.
    /// </summary>
    private ClinicObjection? Against(ClinicEvent.ClosedAmendmentDecided decided, Provenance provenance) =>
        (decided.Confirmed && decided.Proposal.By == provenance.Person) || provenance.Identity != Identity.Checked
            ? new(ClinicRefusal.OwnAmendment, decided.Request.Value)
            : ProposalOf(decided.Bench, decided.Request) is { } waiting
            ? waiting.Proposal == decided.Proposal ? null : new(ClinicRefusal.ResultChanged, decided.Request.Value)
            : !Of(decided.Bench, decided.Request).IsEmpty || !DecidedOf(decided.Bench, decided.Request).IsEmpty
            ? new(ClinicRefusal.ResultChanged, decided.Request.Value) : null;

    private static ClinicObjection? Unexplained(string words, RequestId request,
        ImmutableHashSet<RequestId> requests) =>
        string.IsNullOrWhiteSpace(words) ? new(ClinicRefusal.WhyMissing, request.Value)
        : !requests.Contains(request) ? new(ClinicRefusal.UnknownRequest, request.Value) : null;

    private ClinicObjection? NotAmended(BenchId bench, RequestId request) => Of(bench, request).IsEmpty
        ? new(ClinicRefusal.UnknownRequest, request.Value) : null;

    /// <summary>What became of telling the value as it stands; null where nothing did.</summary>
    private ClosedTelling? TellingOf(BenchId bench, RequestId request)
    {
        var all = Of(bench, request);
        return all is [.., { Amended.Told: { } told, Provenance: var by }]
            ? new ClosedTelling(all.Count, new CriticalNotice(told, by.At, by.Person, ReadBack: false), null)
            : TellingsOf(bench, request).FindLast(telling => telling.Of == all.Count);
    }

    /// <summary>As a replay of what is left tells it.</summary>
    private AmendmentsState Without(IReadOnlyCollection<(BenchId, RequestId)> erased) => erased.Count == 0 ? this
        : this with
        {
            Proposed = Proposed.RemoveRange(erased),
            Decided = Decided.RemoveRange(erased),
            All = All.RemoveRange(erased),
            Releases = Releases.RemoveRange(erased),
            Tellings = Tellings.RemoveRange(erased),
            Rows = Rows.RemoveRange(erased),
        };

    private AmendmentsState Kept(BenchId bench, RequestId request, int batch, long sequence) => this with
    {
        Rows = Rows.SetItem((bench, request), Rows.GetValueOrDefault((bench, request), []).Add((sequence, batch))),
    };

    private AmendmentsState Last(BenchId bench, RequestId request, int batch, long sequence,
        Func<ClosedAmendment, ClosedAmendment> change)
    {
        var kept = Kept(bench, request, batch, sequence);
        return Of(bench, request) is [.., var last] all
            ? kept with { All = All.SetItem((bench, request), all.SetItem(all.Count - 1, change(last))) } : kept;
    }

    private AmendmentsState Telling(BenchId bench, RequestId request, int batch, long sequence, CriticalNotice? told,
        TellingWaiver? waived) => Kept(bench, request, batch, sequence) with
        {
            Tellings = Tellings.SetItem((bench, request), TellingsOf(bench, request)
                .Add(new ClosedTelling(Of(bench, request).Count, told, waived))),
        };
}
