using System.Globalization;
using Incubation.Bench;
using Incubation.Clinic.Record;
using Incubation.Model;
using Incubation.Model.Controls;
using NodaTime;

namespace Incubation.Clinic.Controls;

/// <summary>A control's result as it stands, and what it may be used for.</summary>
/// <param name="Request">The control's request.</param>
/// <param name="Bench">On which bench.</param>
/// <param name="Batch">In which of its batches.</param>
/// <param name="Assay">The assay.</param>
/// <param name="Lot">The kit lot that it controls.</param>
/// <param name="Control">The control material.</param>
/// <param name="At">When its cartridge was taken out of the reader.</param>
/// <param name="Result">What the reader gave, as it stands after every amendment.</param>
/// <param name="Use">What that may be used for.</param>
/// <param name="WasAmended">Whether it is not what was entered first.</param>
/// <param name="WasReleased">Whether it was held, and a person has released it.</param>
public sealed record ControlResult(RequestId Request, BenchId Bench, int Batch, AssayCode Assay, LotCode Lot,
    ControlMaterial Control, Instant At, ReadResult Result, ResultUse Use, bool WasAmended, bool WasReleased)
{
    /// <summary>The results of the controls on a bench's present batch.</summary>
    public static IEnumerable<ControlResult> On(BenchState state)
    {
        ArgumentNullException.ThrowIfNull(state);
        return state.Cartridges.Select(cartridge => cartridge is
        {
            Result: { } result,
            Stage: CartridgeStage.Cleared cleared,
            Wanted: { Facts.Control: { } control, Request: { Kind: RequestKind.Control } request } wanted,
        }
            ? new ControlResult(cartridge.Id, state.Id, state.Batch, wanted.Assay.Code, request.Lot, control,
                cleared.End, result, cartridge.Use, cartridge.Status is { Earlier.IsEmpty: false },
                cartridge.Status?.Released is not null)
            : null).OfType<ControlResult>();
    }
}

/// <summary>
/// What is to be judged. Everything is worked out from what stands in the streams, never from what was worked out
/// before: a judgement that is not borne out by its control's result is superseded.
/// </summary>
public static class ControlJudgements
{
    /// <summary>
    /// Number of the rule by which results are judged: grows with <see cref="ResultUse"/>, so that a clinic's earlier
    /// judgements are looked at once by the new one.
    /// </summary>
    public const int Rule = 1;

    /// <summary>
    /// The next judgement that a bench's present batch asks for, the control that was taken out first before others;
    /// null where every judgement is borne out.
    /// </summary>
    /// <param name="controls">The clinic's controls.</param>
    /// <param name="state">The bench.</param>
    /// <param name="now">The present.</param>
    public static ControlRun? Next(ControlsState controls, BenchState state, Instant now)
    {
        ArgumentNullException.ThrowIfNull(controls);
        ArgumentNullException.ThrowIfNull(state);
        var results = ControlResult.On(state).ToList();
        return results.OrderBy(result => result.At).Select(result => Of(controls, result, now))
                .FirstOrDefault(run => run is not null)
            ?? Withdrawn(controls, state, results, now);
    }

    /// <summary>What a control's result asks for: null where its last judgement is borne out.</summary>
    public static ControlRun? Of(ControlsState controls, ControlResult result, Instant now)
    {
        ArgumentNullException.ThrowIfNull(controls);
        ArgumentNullException.ThrowIfNull(result);
        var latest = controls.LatestOf(result.Request);
        var isJudged = latest is { Verdict: not ControlVerdict.SetAside };
        var (shown, value) = Shown(result.Result);
        if (!result.Use.IsJudged)
            return isJudged && !IsRejected(latest)
                ? controls.Of(result.Lot).SetAside(latest!, now, JudgementCause.NotToBeJudged) : null;
        if (isJudged && latest!.Shown == shown && (latest.At == result.At || IsRejected(latest)))
            return null;
        var run = new ControlRun(result.Request, result.Bench, result.Batch, result.Assay, result.Lot, result.Control,
            Run: 0, result.At, now, shown, value, controls.TargetAt(result.Assay, result.Control, result.At), [],
            ControlVerdict.NotJudged)
        {
            Cause = isJudged && latest!.Shown == shown ? JudgementCause.TimeCorrected
                : result.WasAmended ? JudgementCause.Amended
                : result.WasReleased ? JudgementCause.Released : JudgementCause.Entered,
        };
        return controls.Of(result.Lot).Judged(run, controls.RulesOf(result.Assay));
    }

    /// <summary>
    /// Whether the last judgement of a closed batch's control is of its result as amendments and releases after the
    /// close left it.
    /// </summary>
    public static bool IsBorneOut(ControlsState controls, AmendmentsState amendments, BenchId bench, RequestId request)
    {
        ArgumentNullException.ThrowIfNull(controls);
        ArgumentNullException.ThrowIfNull(amendments);
        return controls.LatestOf(request) is { Verdict: not ControlVerdict.SetAside } latest
            && amendments.ProposalOf(bench, request) is null
            && (amendments.Of(bench, request) is not [.., var last]
                || Shown(last.Amended.After).Shown == latest.Shown)
            // A rejection stands while its control waits for a person; what that person decided on is judged.
            && !(IsRejected(latest) && (amendments.ReleaseOf(bench, request)?.Provenance.At >= latest.JudgedAt
                || amendments.DecidedOf(bench, request).Exists(one => one.Provenance.At >= latest.JudgedAt)));
    }

    /// <summary>
    /// A control of the present batch that was judged, and has no result any more: it was taken back, or its cartridge
    /// is not what was read.
    /// </summary>
    private static ControlRun? Withdrawn(ControlsState controls, BenchState state, List<ControlResult> results,
        Instant now) => state.Cartridges
        .Where(cartridge => cartridge.Wanted.Request.Kind == RequestKind.Control
            && results.TrueForAll(result => result.Request != cartridge.Id))
        .Select(cartridge => controls.LatestOf(cartridge.Id))
        .Where(latest => latest is { Verdict: not ControlVerdict.SetAside } && !IsRejected(latest))
        .Select(latest => controls.Of(latest!.Lot).SetAside(latest, now, JudgementCause.NotToBeJudged))
        .FirstOrDefault();

    /// <summary>
    /// A rejection stands until another value of its control is judged: that its result is taken back, thrown away,
    /// read at another time or waits for somebody opens no lot.
    /// </summary>
    private static bool IsRejected(ControlRun? latest) => latest is { Verdict: ControlVerdict.Rejected };

    /// <summary>What a chart shows of a result, and that as a number; null where it is none.</summary>
    public static (string Shown, decimal? Value) Shown(ReadResult result) => result switch
    {
        ReadResult.Measured measured => (measured.Value,
            decimal.TryParse(measured.Value, NumberStyles.AllowDecimalPoint, CultureInfo.InvariantCulture,
                out var value) && value <= ControlTarget.Largest ? value : null),
        ReadResult.NoValue none => ($"({none.Code})", null),
        _ => ("", null),
    };
}
