using Incubation.Model;
using Incubation.Planning.Moments;
using NodaTime;

namespace Incubation.Planning;

/// <summary>A step that saves a cartridge in work.</summary>
/// <param name="Action">What.</param>
/// <param name="Hands">Whose hands.</param>
/// <param name="BeginBy">It must begin by then for its order to hold, every step before it as early as can be.</param>
public sealed record SavingAct(StepAction Action, HandsNumber Hands, Instant BeginBy);

/// <summary>The last useful moments of one cartridge that waits to be loaded or read.</summary>
/// <param name="Request">Its request.</param>
/// <param name="IsSaved">Whether acting at once saves it, by allowed lengths and as plans prefer.</param>
/// <param name="BeginBy">When its first act must begin, in the order that saves everything that can be saved and may
/// be begun latest; where the guard is needed, by its length earlier, so that it has passed for what falls first. Null
/// where it is not saved.</param>
/// <param name="AloneBy">Until when the hands may stay idle if it alone is to be saved, by allowed lengths, the guard
/// untouched; null where that has passed.</param>
/// <param name="TooLate">Until when it alone could be saved by the quickest hands, the guard used; null where that has
/// passed, or where even the quickest hands save what weighs more. Only then can it be said that it is lost.</param>
/// <param name="Acts">What saves it, in order: clear or discard what is in the way, change the card, move or load.
/// Empty where it is not saved.</param>
public sealed record CartridgeMoments(RequestId Request, bool IsSaved, Instant? BeginBy, Instant? AloneBy,
    Instant? TooLate, IReadOnlyList<SavingAct> Acts);

/// <summary>
/// Until when the hands may stay idle before a cartridge in work is lost. What is saved is the set that a plan prefers
/// when acting at once: least loss, in turn of those with no specimen left, urgent ones, patients, all. What has not
/// begun can wait and plays no part.
/// </summary>
/// <param name="BeginBy">The latest instant until which all hands may stay idle and that whole set can still be saved,
/// every step within its allowed length, the guard untouched; null where nothing needs hands, or where the guard is
/// needed already.</param>
/// <param name="TooLate">The same for the quickest hands, the guard used: mixes and loads at their shortest, every
/// other step at no time. Null where nothing can be saved or needs hands.</param>
/// <param name="NeedsGuard">Whether the set can be saved only by reading inside the guard: its begin-by has
/// passed.</param>
/// <param name="First">The cartridge whose act must begin first; null where there is none.</param>
/// <param name="Cartridges">Each that waits to be loaded or read.</param>
/// <param name="IsExact">Whether every order was looked at that may be better. Where not, as happens when far more
/// cartridges are in work than a reader can read, the instants may be earlier than they need be.</param>
public sealed record LastMoments(Instant? BeginBy, Instant? TooLate, bool NeedsGuard, RequestId? First,
    IReadOnlyList<CartridgeMoments> Cartridges, bool IsExact)
{
    /// <summary>Nothing is in work that waits for hands.</summary>
    public static LastMoments None { get; } = new(null, null, false, null, [], true);

    /// <summary>The last useful moments of a day in mid-run.</summary>
    /// <param name="day">The day.</param>
    /// <param name="givenUp">What a plan gives up: of sets that weigh the same its own is saved.</param>
    public static LastMoments Of(BenchDay day, IReadOnlyCollection<RequestId>? givenUp = null)
    {
        ArgumentNullException.ThrowIfNull(day);
        if (day.MidRun is null)
            return None;
        var known = InWork(KnownDay.Of(day));
        if (known.Requests.Count == 0)
            return None;
        // Somebody who looks may find what is not known settled at once: then nothing is closed for its sake.
        return new MomentsFinder(known, known with { Calendar = day.Calendar }, givenUp ?? []).Find();
    }

    /// <summary>The day without what has not begun.</summary>
    private static BenchDay InWork(BenchDay day)
    {
        var run = day.MidRun!;
        var inWork = run.Cartridges.Select(cartridge => cartridge.Request)
            .Concat(run.Steps.Select(step => step.Action.Subject).OfType<RequestId>()).ToHashSet();
        var requests = day.Requests.Where(request => inWork.Contains(request.Id)).ToList();
        var assays = requests.Select(request => request.AssayKey).ToHashSet();
        return day with
        {
            Requests = [.. requests.Select(request => request with { After = [] })],
            Assays = [.. day.Assays.Where(assay => assays.Contains(assay.Key))],
        };
    }

    /// <summary>What is known of a cartridge, or null.</summary>
    public CartridgeMoments? For(RequestId request) =>
        Cartridges.FirstOrDefault(cartridge => cartridge.Request == request);
}
