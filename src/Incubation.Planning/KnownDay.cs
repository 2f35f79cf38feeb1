using Incubation.Model;
using NodaTime;

namespace Incubation.Planning;

/// <summary>
/// A day with steps that are not known, as a plan may use it: what a plan for it says holds whether they were done or
/// not.
/// </summary>
public static class KnownDay
{
    /// <summary>How far ahead of now a place that is never free again is closed.</summary>
    private static readonly Duration ForGood = Duration.FromDays(30);

    /// <summary>
    /// The day without its steps that are not known: their requests, and those not begun that come after one of them,
    /// are left out; the slots and readers that they would fill or empty are closed, and the card of a reader whose
    /// card change is not known is none.
    /// </summary>
    /// <remarks>
    /// A place is closed for good where the bench can use another of its kind now. Else it is closed for as long as the
    /// step and what follows it in that place can take from now by allowed lengths: no plan is valid either way then,
    /// and somebody has to look.
    /// </remarks>
    /// <returns>The same day where every step is known.</returns>
    public static BenchDay Of(BenchDay day)
    {
        ArgumentNullException.ThrowIfNull(day);
        if (day.MidRun is not { } run || !run.Steps.Any(step => step.Unknown))
            return day;
        var notKnown = run.Steps.Where(step => step.Unknown).ToList();
        var hidden = Hidden(day, run, notKnown);
        var noCard = notKnown.Select(step => step.Action).OfType<StepAction.CardChange>()
            .Select(change => change.Reader).ToHashSet();
        return day with
        {
            Requests = [.. day.Requests.Where(request => !hidden.Contains(request.Id))],
            Calendar = [.. day.Calendar, .. Closings(day, run, notKnown)],
            MidRun = run with
            {
                Cards = [.. run.Cards.Where(card => !noCard.Contains(card.Reader))],
                Steps = [.. run.Steps.Where(step => !step.Unknown)],
                Cartridges = [.. run.Cartridges.Where(cartridge => !hidden.Contains(cartridge.Request))],
            },
        };
    }

    /// <summary>Whether a plan re-timed keeps off the places that are closed for good.</summary>
    internal static bool Ends(BenchDay day, Plan plan) =>
        plan.Steps.All(step => step.End < day.Now + ForGood);

    /// <summary>The requests of the steps, and those not begun that come after one of these.</summary>
    private static HashSet<RequestId> Hidden(BenchDay day, MidRun run, List<StepInProgress> notKnown)
    {
        var hidden = notKnown.Select(step => step.Action.Subject).OfType<RequestId>().ToHashSet();
        var begun = run.Cartridges.Select(cartridge => cartridge.Request)
            .Concat(run.Steps.Select(step => step.Action.Subject).OfType<RequestId>()).ToHashSet();
        while (day.Requests.FirstOrDefault(request => !hidden.Contains(request.Id) && !begun.Contains(request.Id)
            && request.After.Any(hidden.Contains)) is { } waits)
            hidden.Add(waits.Id);
        return hidden;
    }

    private static IEnumerable<CalendarEntry> Closings(BenchDay day, MidRun run, List<StepInProgress> notKnown)
    {
        var places = notKnown.SelectMany(step => PlacesOf(day, run, step)).ToList();
        foreach (var (place, stay) in places)
        {
            var others = OfKind(day.Bench, place).Where(other => places.All(taken => taken.Place != other));
            var until = others.Any(other => IsUsable(day, other)) ? ForGood : stay;
            yield return new CalendarEntry(place, day.Now, day.Now + until, null);
        }
    }

    private static IEnumerable<BenchResource> OfKind(BenchSetup bench, BenchResource place) =>
        place is BenchResource.Slot
        ? Enumerable.Range(1, bench.Slots).Select(number => new BenchResource.Slot(new SlotNumber(number)))
        : Enumerable.Range(1, bench.Readers).Select(number => new BenchResource.Reader(new ReaderNumber(number)));

    private static bool IsUsable(BenchDay day, BenchResource place) =>
        !day.Calendar.Any(entry => entry.Resource.Includes(place) && entry.From <= day.Now && day.Now < entry.To);

    /// <summary>The places that a step would fill or empty, with the longest that it can take from its begin until they
    /// are empty.</summary>
    private static IEnumerable<(BenchResource Place, Duration Stay)> PlacesOf(BenchDay day, MidRun run,
        StepInProgress step)
    {
        if (step.Action.Subject is not { } id || day.Requests.FirstOrDefault(one => one.Id == id) is not { } request)
            yield break;
        var assay = day.Assays.First(one => one.Key == request.AssayKey);
        var phase = run.Cartridges.FirstOrDefault(cartridge => cartridge.Request == id)?.Phase;
        switch (step.Action)
        {
            case StepAction.Load { Place: CartridgePlace.InSlot slot }:
                yield return (new BenchResource.Slot(slot.Slot), assay.Load + assay.Incubation + assay.ReadWindow);
                break;
            case StepAction.Load { Place: CartridgePlace.InReader reader }:
                yield return (new BenchResource.Reader(reader.Reader),
                    assay.Load + assay.Incubation + assay.Read + assay.Clear);
                break;
            case StepAction.Move move:
                yield return (new BenchResource.Reader(move.Reader), assay.Move + assay.Read + assay.Clear);
                if (phase?.FindPlace() is CartridgePlace.InSlot from)
                    yield return (new BenchResource.Slot(from.Slot), assay.Move);
                break;
            case StepAction.Clear clear:
                yield return (new BenchResource.Reader(clear.Reader), assay.Clear);
                break;
            case StepAction.Discard when phase?.FindPlace() is CartridgePlace.InSlot lies:
                yield return (new BenchResource.Slot(lies.Slot), assay.Clear);
                break;
            case StepAction.Discard when phase?.FindReader() is { } reader:
                yield return (new BenchResource.Reader(reader), assay.Clear);
                break;
        }
    }
}
