using Incubation.Bench;
using Incubation.Clinic.Controls;
using Incubation.Model;
using Incubation.Model.Controls;
using Incubation.Records.Storage;
using Microsoft.EntityFrameworkCore;
using NodaTime;

namespace Incubation.Records.Batches;

/// <content>Lists of what waits for somebody.</content>
public sealed partial class CartridgeProjection
{
    /// <summary>
    /// Cartridges whose result went out under a name that nobody had checked, the oldest first, at most 500. Reads each
    /// row: for a page that is seldom opened.
    /// </summary>
    public IReadOnlyList<CartridgeRecord> WentOutNotChecked()
    {
        const int Most = 500;
        const string Mark = "%\"wentOutNotChecked\":true%";
        CatchUp();
        List<CartridgeRow> rows;
        using (var context = file.Read())
        {
            rows = [.. context.Cartridges.Where(row => EF.Functions.Like(row.Json, Mark))
                .OrderBy(row => row.At).Take(Most)];
        }

        return [.. Told(rows).Where(one => one.WentOutNotChecked)];
    }

    /// <summary>
    /// Requests of closed batches that ended without a value and were not repeated or carried over, the newest first,
    /// at most 500: those that were given up, and those of which nobody has said what becomes.
    /// </summary>
    /// <param name="since">Batches closed no earlier than this.</param>
    public IReadOnlyList<CartridgeRecord> EndedWithoutValue(Instant since)
    {
        const int Most = 500;
        const string Mark = "%\"isWithoutValue\":true%";
        CatchUp();
        var from = Nanoseconds.Of(since);
        List<CartridgeRow> rows;
        using (var context = file.Read())
        {
            // By the batches' numbers first: only what they hold is looked into.
            rows = [.. context.Batches.Where(batch => batch.ClosedAt >= from)
                .Select(batch => new { batch.Bench, batch.Number }).AsEnumerable()
                .GroupBy(batch => batch.Bench, batch => batch.Number)
                .SelectMany(bench =>
                {
                    var (first, last) = (bench.Min(), bench.Max());
                    return context.Cartridges.Where(row => row.Bench == bench.Key && row.Batch >= first
                        && row.Batch <= last && EF.Functions.Like(row.Json, Mark)).ToList();
                })
                .OrderByDescending(row => row.At).ThenBy(row => row.Request, StringComparer.Ordinal).Take(Most)];
        }

        return [.. Told(rows).Where(one => one is { IsWithoutValue: true, Fate: null or RequestFate.GivenUp }
            && !one.HasValue)];
    }

    /// <summary>
    /// Cartridges of closed batches whose result is held and that nobody has released since, the oldest first.
    /// </summary>
    /// <param name="reopened">Those whose release before the close holds no more, by what the clinic's stream tells.
    /// </param>
    public IReadOnlyList<CartridgeRecord> HeldAfterClose(
        IEnumerable<(BenchId Bench, int Batch, RequestId Request)> reopened)
    {
        const string Mark = "%\"result\":{%";
        ArgumentNullException.ThrowIfNull(reopened);
        CatchUp();
        List<CartridgeRow> rows;
        using (var context = file.Read())
        {
            rows = [.. context.Cartridges.Where(row => (row.Standing == nameof(CartridgeStatus.ResultHeld)
                        || (row.Standing == nameof(CartridgeStatus.Discarded) && EF.Functions.Like(row.Json, Mark)))
                    && context.Batches.Any(batch => batch.Bench == row.Bench && batch.Number == row.Batch
                        && batch.Last != null))
                .OrderBy(row => row.At).ThenBy(row => row.Request)];
            // What was released before the close waits again after a value that cannot be: the clinic's rows say so.
            foreach (var (bench, batch, request) in reopened)
                rows.AddRange(context.Cartridges.Where(row => row.Bench == bench.Value && row.Batch == batch
                    && row.Request == request.Value && row.Standing != nameof(CartridgeStatus.ResultHeld)
                    && row.Standing != nameof(CartridgeStatus.Discarded)));
        }

        return
        [
            .. Told(rows).Where(one => one.AwaitsDecision).OrderBy(one => one.At)
                .ThenBy(one => one.Request.Value, StringComparer.Ordinal),
        ];
    }

    /// <summary>
    /// Patients' results of a kit lot on a bench that are out, and were entered while that was in doubt: as they
    /// came in, or later, when the lot's controls were accepted, a time was corrected or a person released them. Those
    /// that a person has released after that are left out: what was known then was known. One whose cartridge was
    /// thrown away after it is among them. The first first.
    /// </summary>
    public IReadOnlyList<CartridgeRecord> WentOut(LotCode lot, BenchId bench, ReviewSpan span)
    {
        ArgumentNullException.ThrowIfNull(span);
        CatchUp();
        List<CartridgeRow> rows;
        using (var context = file.Read())
            rows = [.. context.Cartridges.Where(row => row.Bench == bench.Value && row.Lot == lot.Value)];
        return
        [
            .. Told(rows).Where(one => WentOut(one, span))
                .OrderBy(one => one.ResultEntered.To).ThenBy(one => one.Request.Value, StringComparer.Ordinal),
        ];
    }

    /// <summary>
    /// Whether a cartridge's result is out, and was entered while its lot on its bench was in doubt: of one that a
    /// person has released after that, what was known then was known.
    /// </summary>
    public static bool WentOut(CartridgeRecord one, ReviewSpan span)
    {
        ArgumentNullException.ThrowIfNull(one);
        ArgumentNullException.ThrowIfNull(span);
        return ResultUse.Of(one.Kind, Apart(one)).IsReported && one is { ResultEntered.To: { } entered }
            && span.Holds(one.Batch, entered) && !(one.Release.To > span.Until);
    }

    /// <summary>Whether a cartridge's result went out on a lot that proves wrong, and is to be reviewed.</summary>
    public static bool IsInReview(CartridgeRecord one, ControlsState controls)
    {
        ArgumentNullException.ThrowIfNull(one);
        ArgumentNullException.ThrowIfNull(controls);
        return controls.Of(one.Lot).AwaitingReview.TryGetValue(one.Bench, out var span) && WentOut(one, span);
    }

    /// <summary>
    /// What holds a result apart from an amendment that waits, for one that is out may be waited for; and apart from a
    /// discard after it, for it was out until then.
    /// </summary>
    private static ResultHold Apart(CartridgeRecord one) => one switch
    {
        { Standing: CartridgeStatus.Discarded, Result: not null } when one.Discard.To >= one.ResultEntered.To =>
            one.Released is not null ? ResultHold.None
                : one.Question is not null ? ResultHold.ImpossibleValue : one.HoldUnreleased,
        { Hold: ResultHold.AmendmentWaits } => one.HoldUnamended,
        _ => one.Hold,
    };
}
