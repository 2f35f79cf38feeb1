using System.Globalization;
using Incubation.Bench;
using Incubation.Clinic.Controls;
using Incubation.Clinic.People;
using Incubation.Clinic.Record;
using Incubation.Model;
using Incubation.Records.Batches;
using Incubation.Service.Benches;
using Incubation.Service.Clinic;
using Incubation.Service.Clock;
using Incubation.Service.Connections;
using Incubation.Service.Instruments;
using Incubation.Service.Record;
using Incubation.Service.Text;
using NodaTime;

namespace Incubation.Service.Decisions;

/// <summary>What kind of thing waits for a person's decision.</summary>
public enum DecisionKind
{
    /// <summary>Nobody was told of a critical result, or of a correction.</summary>
    CriticalToTell,

    /// <summary>An amendment waits for another supervisor than who entered it.</summary>
    AmendmentToDecide,

    /// <summary>A result is held.</summary>
    HeldResult,

    /// <summary>
    /// A result was entered of a cartridge that was thrown away, and nobody has said what becomes of the request.
    /// </summary>
    DiscardedResult,

    /// <summary>A control was rejected, and no corrective action is written down.</summary>
    RejectedControl,

    /// <summary>Results were released on controls that do not stand any more.</summary>
    ReleasedToReview,

    /// <summary>A report came after its batch was closed.</summary>
    LateReport,

    /// <summary>Results went out although nobody had checked who entered them.</summary>
    NotChecked,

    /// <summary>A batch of an earlier day is still open.</summary>
    OpenBatch,

    /// <summary>A control's target ends soon or has ended, and no other follows.</summary>
    TargetEnding,

    /// <summary>Results of a new kit lot are held, and no comparison of it is begun.</summary>
    LotToCompare,

    /// <summary>A comparison of kit lots was begun, and is not decided.</summary>
    ComparisonOpen,

    /// <summary>Results of a proficiency round are to be reported.</summary>
    ProficiencyDue,

    /// <summary>A proficiency round is reported, and its grades are to be entered.</summary>
    ProficiencyToGrade,

    /// <summary>A result came by wire, and it is not certain whose it is.</summary>
    WiredResult,

    /// <summary>The certificate of a system that is told of results or alarms ends soon, or has ended.</summary>
    CertificateEnding,
}

/// <summary>Something that waits for a decision.</summary>
/// <param name="Kind">What.</param>
/// <param name="Since">Since when.</param>
/// <param name="Bench">On which bench; null where it is the clinic's.</param>
/// <param name="What">What it is about, in words.</param>
/// <param name="Address">The page on which it is decided.</param>
/// <param name="Needs">The right that it takes to decide it.</param>
public sealed record DecisionLine(DecisionKind Kind, Instant Since, BenchId? Bench, string What, string Address,
    Right Needs)
{
    /// <summary>Who may not decide it, for it is theirs; null where anybody with the right may.</summary>
    public PersonId? NotBy { get; init; }

    /// <summary>Whether it comes before what is older: a correction of which somebody must be told waits.</summary>
    public bool IsFirst { get; init; }

    /// <summary>Whether an actor may decide it.</summary>
    public bool MayDecide(Actor? actor) => MayOpen(actor) && actor!.InLog != NotBy;

    /// <summary>Whether an actor may open where it is decided: also to take back what is theirs.</summary>
    public bool MayOpen(Actor? actor) => Access.May(actor, Needs, Bench?.Value);
}

/// <summary>
/// Everything in the clinic that waits for a person's decision, worked out from the streams: nothing leaves it but by a
/// decision. May be asked from any thread.
/// </summary>
public sealed class DecisionList(ClinicHost clinic, BenchRegistry benches, CartridgeProjection book,
    LateReportService late, UncheckedResults notChecked, ProgrammeDecisions programme,
    WireRights wire, CertificateEnds certificates, BenchClock clock)
{
    private readonly Lock gate = new();
    private (Basis Of, IReadOnlyList<DecisionLine> Lines)? kept;

    /// <summary>
    /// What an actor may see of it: corrections of which somebody must be told that wait for a second person, then the
    /// oldest first; empty for who may see no specimens by name.
    /// </summary>
    public IReadOnlyList<DecisionLine> For(Actor? actor) =>
        [.. All().Where(line => Access.May(actor, Right.SeeRecord, line.Bench?.Value))];

    /// <summary>How many of them an actor may decide.</summary>
    public int Count(Actor? actor) => All().Count(line => line.MayDecide(actor));

    /// <summary>All of it, the oldest first, whoever may see it.</summary>
    internal IEnumerable<DecisionLine> All()
    {
        var moments = benches.All.Select(bench => bench.Present.State).ToList();
        var today = clock.Now.InZone(clinic.Facts.Zone).Date;
        return moments.SelectMany(state => OnBench(LiveBench.Readable(state), today)).Concat(OfClinic(moments))
            .Concat(programme.Lines(today)).Concat(ByWire()).Concat(OfCertificates())
            .DistinctBy(line => (line.Kind, line.Bench, line.What, line.Address))
            .OrderByDescending(line => line.IsFirst).ThenBy(line => line.Since)
            .ThenBy(line => line.Address, StringComparer.Ordinal);
    }

    /// <summary>
    /// What is not on a bench: every page asks how much there is, and finding it reads each row of the record, so it is
    /// kept until something has come of which it is made.
    /// </summary>
    private IReadOnlyList<DecisionLine> OfClinic(List<BenchState> moments)
    {
        var log = clinic.Log;
        var basis = new Basis(log.Controls, log.Amendments, log.LateReports, log.UncheckedSeen,
            log.LastErasure, string.Join(' ', moments.Select(state => $"{state.Id} {state.Batch}")));
        lock (gate)
        {
            if (kept is { } one && one.Of.IsSame(basis))
                return one.Lines;
        }

        IReadOnlyList<DecisionLine> found = [.. OfControls(), .. OfRecord()];
        lock (gate)
            kept = (basis, found);
        return found;
    }

    private IEnumerable<DecisionLine> OnBench(BenchState state, LocalDate today)
    {
        var batch = "batch/" + Uri.EscapeDataString(state.Id.Value);
        foreach (var cartridge in state.Cartridges.Where(cartridge => cartridge.Result is not null))
        {
            var address = $"{batch}#result-{Uri.EscapeDataString(cartridge.Id.Value)}";
            var since = cartridge.Status?.EnteredAt ?? clock.Now;
            var what = Say.Dotted(cartridge.Wanted.Request.Specimen.Value, cartridge.Wanted.Assay.Name,
                ResultSentence.Value(cartridge));
            if (cartridge.Telling is { } duty)
                yield return new DecisionLine(DecisionKind.CriticalToTell, since, state.Id,
                    Say.Dotted(what, ResultSentence.Former(cartridge), ResultSentence.ToTell(duty)), address,
                    Right.Direct);
            if (cartridge.Status?.Proposal is { } proposal)
                yield return Proposed(state.Id,
                    Say.Dotted(what, ResultHoldText.BesideAmendment(cartridge, clinic.Facts.Zone)), proposal, address,
                    cartridge.TellingAfter(proposal.After) is not null);
            else if (cartridge.IsHeld)
                yield return new DecisionLine(DecisionKind.HeldResult, since, state.Id,
                    Say.Dotted(what, ResultHoldText.Of(cartridge, clinic.Facts.Zone)), address, Right.Supervise);
            else if (cartridge.Stage is CartridgeStage.Discarded && Fates.Find(state, cartridge) is { Fate: null })
                yield return new DecisionLine(DecisionKind.DiscardedResult, since, state.Id,
                    Say.Dotted(what, DecisionWords.CartridgeDiscarded), address, Right.Direct);
        }

        if (state is { Phase: BatchPhase.Running, StartedAt: { } started }
            && started.InZone(clinic.Facts.Zone).Date < today)
            yield return new DecisionLine(DecisionKind.OpenBatch, started, state.Id,
                Say.Of(DecisionWords.BatchOf, state.Name, state.Batch), batch, Right.Direct);
    }

    private IEnumerable<DecisionLine> ByWire() => clinic.Log.Instruments.Questions.Select(one =>
    {
        var link = clinic.Log.Instruments.Find(one.Message.Instrument)!.Link;
        return new DecisionLine(DecisionKind.WiredResult, one.Message.At, link.Bench, Say.Dotted(link.Name,
            Say.Of(DecisionWords.WiredResultOf, one.Fate.Result, one.Message.Number), one.Fate.Request?.Value,
            WireText.Of(one.Fate.Question!.Value)), "results-by-wire", wire.ToDecide(one));
    });

    private IEnumerable<DecisionLine> OfCertificates()
    {
        var now = clock.Now;
        return certificates.Soonest(clinic.Log.Connections.InUse, now).Select(one => new DecisionLine(
            DecisionKind.CertificateEnding, one.End - CertificateEnds.Soon, null, Say.Of(
                one.End > now ? DecisionWords.CertificateEnds : DecisionWords.CertificateEnded,
                one.Connection.Destination.Name, Say.Day(one.End, clinic.Facts.Zone)), "connections",
            Right.Supervise));
    }

    private IEnumerable<DecisionLine> OfControls()
    {
        foreach (var (lot, history) in clinic.Log.Controls.Lots)
        {
            foreach (var run in history.AwaitingAction)
                yield return new DecisionLine(DecisionKind.RejectedControl, run.JudgedAt, run.Bench,
                    Say.Of(DecisionWords.ControlOf, run.Request, lot, run.Control.Level), "controls",
                    Right.Supervise);
            foreach (var (bench, span) in history.AwaitingReview)
                yield return new DecisionLine(DecisionKind.ReleasedToReview, span.Until, bench,
                    Say.Of(DecisionWords.LotOf, lot), "controls", Right.Supervise);
        }
    }

    private IEnumerable<DecisionLine> OfRecord()
    {
        // Whatever the batch's rows tell of, the clinic's rows say no second time.
        var told = new HashSet<(BenchId, RequestId)>();
        foreach (var one in book.HeldAfterClose(clinic.Log.Amendments.Reopened))
        {
            told.Add((one.Bench, one.Request));
            yield return OfClosed(one);
        }

        foreach (var one in clinic.Log.Amendments.Waiting
            .Where(one => told.Add((one.Proposed.Bench, one.Proposed.Request))))
            yield return Proposed(one.Proposed.Bench, one.Proposed.Request.Value, one.Proposal,
                Address(one.Proposed.Bench, one.Proposed.Batch, "second", "request", one.Proposed.Request.Value),
                one.Proposed.Due is not null);
        foreach (var one in clinic.Log.Amendments.Questioned
            .Where(one => told.Add((one.Amended.Bench, one.Amended.Request))))
            yield return Amended(one, DecisionKind.HeldResult, Deed(one.Question), Right.Supervise);
        foreach (var one in clinic.Log.Amendments.Untold)
            yield return Amended(one, DecisionKind.CriticalToTell, "tell", Right.Direct);
        foreach (var waiting in clinic.Log.LateReports.Waiting)
            yield return new DecisionLine(DecisionKind.LateReport, waiting.Provenance.Arrived, waiting.Report.Bench,
                late.LineOf(waiting).What, Address(waiting.Report.Bench, waiting.Report.Batch, "late", "report",
                    waiting.Provenance.Id.Value), Right.Supervise);
        if (notChecked.ToLookAt() is { Count: > 0 } seen)
            yield return new DecisionLine(DecisionKind.NotChecked,
                seen.Min(one => one.ResultEntered.To ?? one.At), null,
                Say.Counted(seen.Count, DecisionWords.ResultOne, DecisionWords.ResultMany), "record/unchecked",
                Right.Supervise);
    }

    /// <summary>A cartridge of a closed batch of which a person has to decide.</summary>
    private DecisionLine OfClosed(CartridgeRecord one)
    {
        var what = Say.Dotted(one.Specimen.Value, one.AssayName, ResultStatusText.Result(one));
        if (one.Proposal is { } proposal)
            return Proposed(one.Bench, what, proposal,
                Address(one.Bench, one.Batch, "second", "request", one.Request.Value), DueAfter(one, proposal));
        var held = ResultHoldText.Of(one, clinic.Facts.Zone);
        return new DecisionLine(held.Length > 0 ? DecisionKind.HeldResult : DecisionKind.DiscardedResult,
            one.ResultEntered.To ?? one.At, one.Bench,
            Say.Dotted(what, held.Length > 0 ? held : DecisionWords.CartridgeDiscarded),
            Address(one.Bench, one.Batch, Deed(one.Question), "request", one.Request.Value), Right.Supervise);
    }

    private DecisionLine Proposed(BenchId bench, string what, AmendmentProposal proposal, string address,
        bool mustBeTold) => new(DecisionKind.AmendmentToDecide, proposal.At, bench,
            Say.Dotted(what, Say.Of(DecisionWords.ToBeAmended, ResultSentence.Of(proposal.Before),
                ResultSentence.Of(proposal.After), Names.Of(proposal.By, clinic.Log.People),
                ResultSentence.Why(proposal.Reason, proposal.Why)),
                mustBeTold ? DecisionWords.ToTellOnceConfirmed : null),
            address, Right.Supervise)
        {
            NotBy = proposal.By,
            IsFirst = mustBeTold,
        };

    private bool DueAfter(CartridgeRecord one, AmendmentProposal proposal) => one is
    { Kind: RequestKind.Patient, Values: { } values } && TellingDuty.Of(
        clinic.Log.Assays.ResultRuleOf(one.Assay, one.AssayVersion), values.With(new ResultValue(proposal.After,
            proposal.At, proposal.By, proposal.Why, null, null)).Values) is not null;

    /// <summary>What is done about a held result: what can be read as more than one number is not released.</summary>
    private static string Deed(ValueQuestion? question) =>
        question is ValueQuestion.NotOneNumber ? "amend" : "release";

    /// <summary>An amendment of a closed batch that waits: told from its own words, no batch is read again.</summary>
    private static DecisionLine Amended(ClosedAmendment one, DecisionKind kind, string deed, Right needs) =>
        new(kind, one.Provenance.At, one.Amended.Bench,
            Say.Dotted(one.Amended.Request.Value, Say.Of(DecisionWords.AmendedTo,
                ResultSentence.Of(one.Amended.Before), ResultSentence.Of(one.Amended.After))),
            Address(one.Amended.Bench, one.Amended.Batch, deed, "request", one.Amended.Request.Value), needs);

    /// <summary>The page of a closed batch on which something of it is decided.</summary>
    private static string Address(BenchId bench, int batch, string deed, string member, string id) =>
        string.Create(CultureInfo.InvariantCulture,
            $"record/{Uri.EscapeDataString(bench.Value)}/{batch}/{deed}?{member}={Uri.EscapeDataString(id)}");

    /// <summary>What the clinic's lines are made of; which batches are closed follows from the present ones.</summary>
    private sealed record Basis(ControlsState Controls, AmendmentsState Amendments, LateReportsState LateReports,
        Instant? UncheckedSeen, long LastErasure, string Batches)
    {
        /// <summary>Immutable states are compared as they are: what is about something else leaves them.</summary>
        public bool IsSame(Basis other) => ReferenceEquals(Controls, other.Controls)
            && ReferenceEquals(Amendments, other.Amendments) && ReferenceEquals(LateReports, other.LateReports)
            && UncheckedSeen == other.UncheckedSeen && LastErasure == other.LastErasure && Batches == other.Batches;
    }
}
