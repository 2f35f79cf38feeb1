using Incubation.Faults.HeldUp;

namespace Incubation.Faults.Tests.HeldUp;

/// <summary>
/// Whether any order of acts saves a choice of cartridges: hands take acts one after another, each at its earliest and
/// a load at every instant of a grid, and every act of every pair of hands is tried at every turn. Slow, and nothing is
/// left out: where every figure of a scene is a multiple of the grid, so are the instants of some order that saves, if
/// there is one.
/// </summary>
internal sealed class EveryOrder(Moment moment, long grid)
{
    /// <summary>When a loaded cartridge can be read; null of one that need not be, any more or at all.</summary>
    private readonly record struct Window(long Opens, long Closes, bool IsLoaded);

    private readonly long end = moment.Works.Max(work => work.Mixture is { } mixture
        ? mixture.Until + mixture.ClosesAfter : work.Closes);

    public bool Saves(int given) => Try([.. moment.Works.Select((work, index) => (given >> index & 1) != 0
        ? (Window?)null : new Window(work.Opens, work.Closes, work.Mixture is null))], [.. moment.Hands],
        [.. moment.Readers], long.MinValue);

    // Acts are put down by their begin: none begins before the last.
    private bool Try(Window?[] open, long[] hands, ReaderThen[] readers, long last)
    {
        if (Array.TrueForAll(open, window => window is null))
            return true;
        // Whoever is free after the last window closes saves nothing more; what has closed is lost.
        var first = hands.Min();
        if (first > end || open.Any(window => window is { IsLoaded: true } loaded && loaded.Closes < first))
            return false;
        for (var hand = 0; hand < hands.Length; hand++)
        {
            var free = Math.Max(hands[hand], last);
            if (free > end)
                continue;
            if (Loads(open, hands, readers, hand, free))
                return true;
            for (var reader = 0; reader < readers.Length; reader++)
                if (Serves(open, hands, readers, hand, reader, free))
                    return true;
        }

        return false;
    }

    private bool Loads(Window?[] open, long[] hands, ReaderThen[] readers, int hand, long free)
    {
        for (var index = 0; index < open.Length; index++)
        {
            if (open[index] is not { IsLoaded: false })
                continue;
            var mixture = moment.Works[index].Mixture!;
            for (var at = Math.Max(free, mixture.From); at <= mixture.Until; at += grid)
                if (Try(With(open, index, new Window(at + mixture.OpensAfter, at + mixture.ClosesAfter, true)),
                    With(hands, hand, at + mixture.Load), readers, at))
                    return true;
        }

        return false;
    }

    private bool Serves(Window?[] open, long[] hands, ReaderThen[] readers, int hand, int reader,
        long free)
    {
        var it = readers[reader];
        var at = Math.Max(free, it.From);
        if (it.ReadOver is { } over)
        {
            var begun = Math.Max(at, over);
            var cleared = begun + it.Clear;
            return Try(open, With(hands, hand, cleared), With(readers, reader, new ReaderThen(it.Card, cleared)),
                begun);
        }

        var changed = at + moment.CardChange;
        foreach (var lot in moment.Works.Select(work => work.Lot).Distinct())
            if (lot != it.Card
                && Try(open, With(hands, hand, changed), With(readers, reader, new ReaderThen(lot, changed)), at))
                return true;
        for (var index = 0; index < open.Length; index++)
        {
            var work = moment.Works[index];
            if (open[index] is not { IsLoaded: true } window || work.Lot != it.Card)
                continue;
            var read = Math.Max(at + work.Move, window.Opens);
            if (read <= window.Closes && Try(With(open, index, (Window?)null), With(hands, hand, read),
                With(readers, reader, new ReaderThen(work.Lot, read, read + work.Read, work.Clear)), at))
                return true;
        }

        return false;
    }

    private static T[] With<T>(T[] all, int index, T one)
    {
        T[] others = [.. all];
        others[index] = one;
        return others;
    }
}
