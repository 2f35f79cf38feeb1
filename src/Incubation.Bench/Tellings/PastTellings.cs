using Incubation.Model;
using NodaTime;

namespace Incubation.Bench;

/// <summary>What can be true of a cartridge of which the bench believes that it is over.</summary>
internal static class PastTellings
{
    /// <summary>
    /// A cartridge that was not thrown away after all, while it could still be of use.
    /// </summary>
    public static IEnumerable<Telling?> OfDiscarded(BenchState state, Cartridge cartridge, Instant now)
    {
        var request = cartridge.Id;
        if (Tellings.Last<BenchEvent.Discarded>(state, request) is not { } discarded)
            yield break;
        var notSo = new Telling(TellingKind.NotThrownAway, request, [], null) { NotSo = discarded.Id };
        if (Tellings.Last<BenchEvent.ReadStarted>(state, request) is { Place: { } reader })
            yield return notSo with { Places = [reader], Lies = reader };
        else if (Tellings.Last<BenchEvent.Loaded>(state, request) is { Event: BenchEvent.Loaded loaded } load)
        {
            if (loaded.Place is CartridgePlace.InReader)
                yield return notSo with { Places = [loaded.Place], Lies = loaded.Place };
            else if (now <= ReadWindow.Of(cartridge.Wanted.Assay, state.Setup, loaded.End).Closes)
                yield return notSo with
                {
                    Places = [loaded.Place, .. Tellings.SlotsFor(state, cartridge).Remove(loaded.Place)],
                    Of = load.Id,
                    Lies = loaded.Place,
                };
        }
        else if (Tellings.Last<BenchEvent.Mixed>(state, request)?.Event is not BenchEvent.Mixed mixed)
            yield return notSo;
        else if (now <= LastRead(cartridge.Wanted.Assay, mixed))
        {
            yield return notSo;
            yield return new Telling(TellingKind.Loaded, request, Tellings.SlotsFor(state, cartridge),
                mixed.End.Earliest)
            { NotSo = discarded.Id } is { Places.IsEmpty: false } inSlot ? inSlot : null;
        }
    }

    /// <summary>
    /// A cartridge that is said to be out of its reader and lies in it still, while nothing else has come into it.
    /// </summary>
    public static IEnumerable<Telling?> OfCleared(BenchState state, Cartridge cartridge)
    {
        if (Tellings.Last<BenchEvent.Cleared>(state, cartridge.Id) is not
            { Event: BenchEvent.Cleared { Reader: var reader } } cleared
            || state.InReader(reader) is not null
            || state.Story.Exists(told => told.At > cleared.At && told.Place == cleared.Place))
            yield break;
        yield return new Telling(TellingKind.StillHere, cartridge.Id, [cleared.Place!], null) { NotSo = cleared.Id };
    }

    /// <summary>The latest that a mixture loaded in time could still be read.</summary>
    private static Instant LastRead(Assay assay, BenchEvent.Mixed mixed) =>
        mixed.End.Latest + assay.MixToLoad + assay.Load + assay.Incubation + assay.ReadWindow;
}
