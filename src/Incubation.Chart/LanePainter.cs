using System.Xml.Linq;
using NodaTime;
using NodaTime.Text;

namespace Incubation.Chart;

/// <summary>
/// The one renderer: draws a scene's lanes at a scale. What moves and what stands still is told apart by the caller.
/// </summary>
/// <param name="geometry">Sizes.</param>
/// <param name="scale">Where an instant lies.</param>
/// <param name="hatch">Identifier of the hatching.</param>
/// <param name="at">The present, by which windows are due or lost.</param>
/// <param name="explains">Whether each block carries its meaning in words for a pointer held over it.</param>
internal sealed class LanePainter(Geometry geometry, TimeScale scale, string hatch, Instant at, bool explains)
{
    private const double Radius = 6;

    /// <summary>Between a block and the word beside it.</summary>
    private const double Gap = 8;

    /// <summary>The width of a letter of a name, as wide as the widest of most names need.</summary>
    private const double LetterWidth = 9;

    /// <summary>The width of the mark behind it.</summary>
    private const double MarkWidth = 16;

    /// <summary>A name of fewer letters says nothing.</summary>
    private const int LeastLetters = 4;

    /// <summary>The middle of each lane, by its place in the scene.</summary>
    public IReadOnlyList<double> Middles(Scene scene)
    {
        var middles = new List<double>();
        var y = geometry.AxisHeight;
        foreach (var lane in scene.Lanes)
        {
            middles.Add(y + geometry.HeightOf(lane.Kind) / 2);
            y += geometry.HeightOf(lane.Kind);
        }
        return middles;
    }

    /// <summary>The lower end of the lanes.</summary>
    public double Bottom(Scene scene) => geometry.AxisHeight + scene.Lanes.Sum(lane => geometry.HeightOf(lane.Kind));

    /// <summary>Everything in the lanes between two instants.</summary>
    public XElement Blocks(Scene scene, Instant from, Instant to)
    {
        var group = Svg.Element("g", ("class", "ln-blocks"));
        foreach (var (lane, middle) in scene.Lanes.Zip(Middles(scene)))
        {
            if (geometry.HeightOf(lane.Kind) <= 0)
                continue;
            var items = lane.Items.Where(item => ShownTo(item) >= from && item.From <= to).ToList();
            if (lane.Kind == LaneKind.Slot)
                DrawFree(group, items, middle, from, to);
            foreach (var item in items.OrderBy(Depth))
                group.Add(Draw(item, items, middle, to));
        }
        return group;
    }

    /// <summary>The heads of the lanes, and the line between slots and readers.</summary>
    public XElement Heads(Scene scene)
    {
        var group = Svg.Element("g", ("class", "ln-heads"));
        foreach (var (lane, middle) in scene.Lanes.Zip(Middles(scene)))
        {
            if (geometry.HeightOf(lane.Kind) <= 0)
                continue;
            if (lane is { Kind: LaneKind.Reader, Number: 1 } && geometry.HasLabels)
            {
                var y = middle - geometry.ReaderHeight / 2;
                group.Add(Svg.Line("ln-rule", 0, y, geometry.Width, y));
            }
            if (geometry.HasLabels)
                group.Add(lane.Kind == LaneKind.Slot ? SlotHead(lane, middle) : OtherHead(lane, middle));
        }
        return group;
    }

    /// <summary>
    /// The room of each slot and reader, which a page can make a button of: <c>data-place</c> is "slot/3".
    /// </summary>
    public XElement Places(Scene scene)
    {
        var group = Svg.Element("g");
        foreach (var (lane, middle) in scene.Lanes.Zip(Middles(scene)))
        {
            var height = geometry.HeightOf(lane.Kind);
            if (lane.Kind is not (LaneKind.Slot or LaneKind.Reader) || height <= 0)
                continue;
            var room = Svg.Box("ln-place", 0, middle - height / 2, geometry.Width, height, 0);
            room.SetAttributeValue("data-place",
                (lane.Kind == LaneKind.Slot ? "slot/" : "reader/") + Svg.Number(lane.Number));
            group.Add(room);
        }
        return group;
    }

    private IEnumerable<XElement> SlotHead(Lane lane, double middle)
    {
        yield return Svg.Text("text", lane.Label, ("class", "ln-number"), ("x", 4.0), ("y", middle),
            ("dominant-baseline", "central"));
        if (geometry.CaptionX <= 0)
            yield break;
        if (lane.Caption is not { } caption)
        {
            yield return Svg.Text("text", Words.Free, ("class", "ln-caption"), ("x", geometry.CaptionX), ("y", middle),
                ("dominant-baseline", "central"));
            yield break;
        }
        var rise = geometry.SlotHeight * 0.12;
        var name = Svg.Text("text", Phrase.Short(caption, geometry.CaptionLength), ("class", "ln-caption"),
            ("x", geometry.CaptionX), ("y", middle - rise));
        if (lane.Urgent)
            name.Add(Svg.Text("tspan", " ▲", ("class", "ln-mark")));
        yield return name;
        if (lane.Count is { } count)
            yield return Count(count, middle + geometry.SlotHeight * 0.32);
    }

    private XElement Count(LaneCount count, double baseline)
    {
        var now = at >= count.To ? (count.Until is { } until && at > until ? Words.Discard : Words.Now)
            : Phrase.Length(count.To - at);
        return Svg.Text("text", now,
            ("class", "ln-count"), ("x", geometry.CaptionX), ("y", baseline),
            ("data-count-to", Iso(count.To)), ("data-count-until", count.Until is { } end ? Iso(end) : null),
            ("data-count-zero", Words.Now), ("data-count-over", Words.Discard));
    }

    private IEnumerable<XElement> OtherHead(Lane lane, double middle)
    {
        var low = lane.Caption is null;
        yield return Svg.Text("text", lane.Label, ("class", "ln-label"), ("x", 4.0), ("y", low ? middle : middle - 3),
            ("dominant-baseline", low ? "central" : null));
        if (lane.Caption is { } caption)
            yield return Svg.Text("text", Phrase.Short(caption, geometry.CaptionLength + 4), ("class", "ln-caption"),
                ("x", 4.0), ("y", middle + 16));
    }

    private void DrawFree(XElement group, List<LaneItem> items, double middle, Instant from, Instant to)
    {
        var free = from;
        foreach (var item in items.Where(item => item is not (LaneItem.MoveTick or LaneItem.Thrown))
            .OrderBy(item => item.From))
        {
            if (item.From > free)
                group.Add(FreeLine(free, item.From, middle));
            free = Instant.Max(free, ShownTo(item));
        }
        if (free < to && free >= from)
            group.Add(FreeLine(free, to, middle));
    }

    private XElement FreeLine(Instant from, Instant to, double middle) =>
        Svg.Line("ln-free", scale.X(from), middle, scale.X(to), middle);

    private Instant ShownTo(LaneItem item) => item is LaneItem.Window window && IsLost(window)
        ? window.HeldTo : item.To;

    private bool IsLost(LaneItem.Window window) => window.LostFrom is { } from && from <= at;

    private static int Depth(LaneItem item) => item switch
    {
        LaneItem.Away => 0,
        LaneItem.Taken => 1,
        LaneItem.Loading => 2,
        LaneItem.Reaction => 3,
        LaneItem.Window => 4,
        LaneItem.MoveTick or LaneItem.Thrown => 5,
        _ => 6,
    };

    private XElement Draw(LaneItem item, List<LaneItem> items, double middle, Instant end)
    {
        var drawn = item switch
        {
            LaneItem.Reaction reaction => Reaction(reaction, items, middle, end),
            LaneItem.Window window => Window(window, items, middle, end),
            LaneItem.MoveTick tick => Tick(tick, middle),
            LaneItem.Thrown thrown => Thrown(thrown, items, middle, end),
            LaneItem.Reading reading =>
                Numbered("ln-reading", reading, reading.Number, middle, geometry.BlockHeight * 0.86),
            LaneItem.HandsWork work =>
                Numbered(work.IsDiscard ? "ln-work ln-work-discard" : "ln-work", work, work.Number, middle,
                    geometry.BlockHeight * 0.64),
            LaneItem.CardChange => Plain("ln-card", item, middle, geometry.BlockHeight * 0.86),
            LaneItem.Taken => Plain("ln-taken", item, middle, geometry.BlockHeight * 0.4),
            LaneItem.Loading => Plain("ln-loading", item, middle, geometry.BarHeight),
            LaneItem.Away => Away(item, middle),
            _ => throw new ArgumentOutOfRangeException(nameof(item), item, null),
        };
        if (explains)
            drawn.AddFirst(Svg.Text("title", item.Says));
        return drawn;
    }

    private static string Css(string name, LaneItem item) => item.Planned ? $"{name} ln-planned" : name;

    private XElement Plain(string css, LaneItem item, double middle, double height)
    {
        var group = Svg.Element("g", ("class", Css(css, item)));
        group.Add(Rect(item, middle, height));
        return group;
    }

    private XElement Rect(LaneItem item, double middle, double height, string? fill = null) =>
        Svg.Box("ln-box", scale.X(item.From), middle - height / 2, scale.Length(item.To - item.From), height,
            Math.Min(Radius, height / 4), fill);

    private XElement Numbered(string css, LaneItem item, string? number, double middle, double height)
    {
        var group = Plain(css, item, middle, height);
        var width = scale.Length(item.To - item.From);
        if (geometry.HasLabels && number is not null && width >= 8 + 9 * number.Length)
            group.Add(Svg.Text("text", number, ("class", "ln-inside"), ("x", scale.X(item.From) + width / 2),
                ("y", middle), ("dominant-baseline", "central")));
        return group;
    }

    private XElement Reaction(LaneItem.Reaction reaction, List<LaneItem> items, double middle, Instant end)
    {
        var group = Plain("ln-reaction", reaction, middle, geometry.BarHeight);
        // What its window says may stand on the bar's end.
        var word = items.OfType<LaneItem.Window>().FirstOrDefault(one => one.From == reaction.To && Speaks(one));
        var taken = word is null || FitsBehind(word, WordWidth(word), items, end) ? 0 : WordWidth(word) + Gap;
        var room = RoomFor(reaction, taken + (reaction.Urgent ? MarkWidth : 0));
        // The lane's head names what is in the slot now; what is only planned, or drawn without heads, is named on its
        // bar.
        if (reaction.Name is { } name && room >= LeastLetters && (reaction.Planned || explains)
            && geometry.HasLabels)
        {
            var text = Svg.Text("text", Phrase.Short(name, room), ("class", "ln-name"),
                ("x", scale.X(reaction.From) + 7), ("y", middle), ("dominant-baseline", "central"));
            if (reaction.Urgent)
                text.Add(Svg.Text("tspan", " ▲", ("class", "ln-mark")));
            group.Add(text);
        }
        return group;
    }

    /// <summary>How many letters have room on a block, beside what else stands there.</summary>
    private int RoomFor(LaneItem item, double taken = 0) =>
        (int)((scale.Length(item.To - item.From) - 14 - taken) / LetterWidth);

    private XElement Window(LaneItem.Window window, List<LaneItem> items, double middle, Instant end)
    {
        var due = window.DueFrom is { } from && from <= at;
        var lost = IsLost(window);
        var state = lost ? " ln-lost" : due ? " ln-due" : "";
        var group = Svg.Element("g",
            ("class", Css("ln-window", window) + state),
            ("data-due-from", window.DueFrom is { } dueFrom ? Iso(dueFrom) : null),
            ("data-lost-from", window.LostFrom is { } lostFrom ? Iso(lostFrom) : null));
        var half = geometry.BlockHeight / 2;
        var (left, right) = (scale.X(window.From), scale.X(window.To));
        if (window.LostFrom is not null)
            Held(group, right, scale.X(Instant.Min(window.HeldTo, end)), middle);
        group.Add(Rect(window, middle, geometry.BlockHeight, $"url(#{hatch})"));
        if (window.GuardFrom > window.From && window.GuardFrom < window.To && geometry.HasLabels)
            group.Add(Svg.Line("ln-guard", scale.X(window.GuardFrom), middle - half + 3, scale.X(window.GuardFrom),
                middle + half - 3));
        group.Add(Cross(left, right, middle, half));
        if (geometry.HasLabels)
            // The move may begin a moment before the window opens: its line is not on the word either.
            group.Add(Beside(WindowWords(window, middle),
                scale.X(Instant.Min(window.From, window.DueFrom ?? window.From)), right,
                FitsBehind(window, WordWidth(window), items, end)));
        return group;
    }

    private static XElement Cross(double left, double right, double middle, double half)
    {
        var (x1, x2, y1, y2) = (Svg.Number(left), Svg.Number(right), Svg.Number(middle - half),
            Svg.Number(middle + half));
        return Svg.Element("path", ("class", "ln-cross"), ("d", $"M{x1} {y1}L{x2} {y2}M{x1} {y2}L{x2} {y1}"));
    }

    /// <summary>
    /// A word stands behind its block; where the next bar leaves no room for it, before it, where the bar is the
    /// block's own.
    /// </summary>
    private static XElement Beside(XElement word, double left, double right, bool fitsBehind)
    {
        word.SetAttributeValue("x", Svg.Number(fitsBehind ? right + Gap : left - Gap));
        if (!fitsBehind)
            word.SetAttributeValue("text-anchor", "end");
        return word;
    }

    private bool FitsBehind(LaneItem item, double width, List<LaneItem> items, Instant end)
    {
        var next = items.Where(other => other != item && other.From >= item.To && other is not LaneItem.MoveTick)
            .Select(other => other.From).Append(end).Min();
        return scale.X(item.To) + Gap + width + Gap <= scale.X(next);
    }

    /// <summary>The most room that a window's words need, whichever of them are shown in time.</summary>
    private double WordWidth(LaneItem.Window window) => geometry.WordLetter * Math.Max(
        window.LostFrom is null ? 0 : Words.Discard.Length,
        (window.DueFrom is null ? 0 : Words.Due.Length) + (SaysUrgent(window) ? Words.Urgent.Length + 1 : 0));

    private static bool SaysUrgent(LaneItem.Window window) => window.Urgent && !window.Planned;

    /// <summary>Whether it says something at the present.</summary>
    private bool Speaks(LaneItem.Window window) =>
        IsLost(window) || SaysUrgent(window) || (window.DueFrom is { } from && from <= at);

    private XElement Thrown(LaneItem.Thrown thrown, List<LaneItem> items, double middle, Instant end)
    {
        var (x, half) = (scale.X(thrown.At), geometry.BarHeight / 2);
        var group = Svg.Element("g", ("class", "ln-lost ln-thrown"));
        group.Add(Cross(x - half, x + half, middle, half));
        if (geometry.HasLabels)
            group.Add(Beside(Svg.Text("text", Words.Discarded, ("class", "ln-word"), ("y", middle),
                ("dominant-baseline", "central")), x - half, x + half,
                FitsBehind(thrown, half + (geometry.WordLetter * Words.Discarded.Length), items, end)));
        return group;
    }

    /// <summary>
    /// A lost cartridge stays in its slot until someone throws it away: its bar runs on, struck through.
    /// </summary>
    private void Held(XElement group, double from, double to, double middle)
    {
        if (to <= from)
            return;
        var half = geometry.BarHeight / 2;
        group.Add(Svg.Box("ln-held", from, middle - half, to - from, geometry.BarHeight, 0));
        group.Add(Svg.Line("ln-held", from, middle, to, middle));
    }

    private static XElement WindowWords(LaneItem.Window window, double middle)
    {
        var text = Svg.Element("text", ("class", "ln-word"), ("y", middle), ("dominant-baseline", "central"));
        text.Add(Svg.Text("tspan", Words.Discard, ("class", "ln-if-lost")));
        text.Add(Svg.Text("tspan", Words.Due, ("class", "ln-if-due")));
        if (SaysUrgent(window))
            text.Add(Svg.Text("tspan", " " + Words.Urgent, ("class", "ln-if-open")));
        return text;
    }

    private XElement Tick(LaneItem.MoveTick tick, double middle)
    {
        var half = geometry.BlockHeight / 2 + (geometry.HasLabels ? 3 : 1);
        var group = Svg.Element("g", ("class", "ln-tick"));
        group.Add(Svg.Line("ln-box", scale.X(tick.At), middle - half, scale.X(tick.At), middle + half));
        return group;
    }

    private XElement Away(LaneItem away, double middle)
    {
        var group = Plain("ln-away", away, middle, geometry.BarHeight);
        if (geometry.HasLabels && RoomFor(away) is var room and >= LeastLetters)
            group.Add(Svg.Text("text", Phrase.Short(away.Says, Math.Min(24, room)), ("class", "ln-name"),
                ("x", scale.X(away.From) + 7), ("y", middle), ("dominant-baseline", "central")));
        return group;
    }

    private static string Iso(Instant instant) => InstantPattern.ExtendedIso.Format(instant);
}
