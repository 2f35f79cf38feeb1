using System.Globalization;
using System.Xml.Linq;
using Incubation.Model;
using NodaTime;

namespace Incubation.Chart;

/// <summary>Draws a scene standing still, from its first instant to its last.</summary>
internal static class StillChart
{
    private const double RightMargin = 72;
    private const double LegendHeight = 44;
    private const double NoteHeight = 20;
    private const double MaxPerSecond = 40.0 / 60;
    private const double LeastPerSecond = 16.0 / 60;

    /// <summary>What is drawn from before the start.</summary>
    private static readonly Duration MaxBefore = Duration.FromDays(1);

    /// <summary>What is drawn beyond now: what may be planned lies within fourteen days.</summary>
    private static readonly Duration MaxAfter = Duration.FromDays(15);

    private const int MaxMarks = 300;

    private static readonly int[] StepsInMinutes = [1, 2, 5, 10, 15, 30, 60];

    public static string Render(Scene scene, Instant start, Instant at, bool marksNow, ChartOptions options)
    {
        var (from, to) = Range(scene, start, at, marksNow);
        var geometry = Geometry.Day(options.Width);
        var perSecond = Math.Clamp((options.Width - geometry.LabelWidth - RightMargin) / (to - from).TotalSeconds,
            LeastPerSecond, MaxPerSecond);
        var width = geometry.LabelWidth + RightMargin + (to - from).TotalSeconds * perSecond;
        geometry = geometry with { Width = Math.Max(options.Width, width) };
        var scale = new TimeScale(from, geometry.LabelWidth, perSecond);
        var key = Drawing.Key(options.Key);
        var painter = new LanePainter(geometry, scale, Drawing.Hatch(key), at, explains: true);
        var bottom = painter.Bottom(scene);
        var height = bottom + LegendHeight + NoteHeight * scene.Notes.Count;

        var root = Drawing.Root(scene, geometry, height, key);
        if (options.SelfContained)
        {
            root.Add(Svg.Text("style", ChartStyle.SelfContained));
            root.Add(Svg.Box("ln-paper", 0, 0, geometry.Width, height, 0));
        }
        else
        {
            // A page can find the place of an instant: as the live lanes say it.
            root.Add(new XAttribute("data-t0", from.ToUnixTimeMilliseconds()),
                new XAttribute("data-x0", Svg.Number(geometry.LabelWidth)),
                new XAttribute("data-px-per-s", perSecond.ToString("R", CultureInfo.InvariantCulture)));
        }

        root.Add(Drawing.Definitions(key));
        root.Add(Svg.Text("text", scene.Title, ("class", "ln-title"), ("x", 4.0), ("y", 24.0)));
        root.Add(Drawing.Axis(Marks(scale, start, from, to, options.Axis), geometry.AxisHeight - 6, bottom));
        root.Add(painter.Heads(scene));
        root.Add(painter.Blocks(scene, from, to));
        if (marksNow)
        {
            root.Add(Svg.Line("ln-now", scale.X(at), geometry.AxisHeight - 4, scale.X(at), bottom));
            root.Add(Svg.Text("text", Words.Now, ("class", "ln-axis-text ln-axis-now"), ("x", scale.X(at)),
                ("y", bottom + 14)));
        }
        root.Add(Legend.Draw(geometry, bottom + LegendHeight / 2 + 6, Drawing.Hatch(key)));
        root.Add(Notes(scene, bottom + LegendHeight + 12));
        return Svg.Write(root);
    }

    /// <summary>
    /// From the first to the last that happens, within bounds: no report's time can make a drawing endless.
    /// </summary>
    private static (Instant From, Instant To) Range(Scene scene, Instant start, Instant at, bool marksNow)
    {
        var (from, to) = (start, marksNow ? Instant.Max(start, at) : start);
        foreach (var item in scene.Lanes.SelectMany(lane => lane.Items).Where(item => item is not LaneItem.Away))
        {
            from = Instant.Min(from, item.From);
            to = Instant.Max(to, item.To);
        }
        from = Instant.Max(from, start - MaxBefore);
        to = Instant.Min(to, (marksNow ? Instant.Max(start, at) : start) + MaxAfter);
        return (from, Instant.Max(to, from + Duration.FromMinutes(1)));
    }

    private static IEnumerable<AxisMark> Marks(TimeScale scale, Instant start, Instant from, Instant to, ChartAxis axis)
    {
        var step = StepsInMinutes.FirstOrDefault(m => m * 60 * scale.PixelsPerSecond >= 68, 60) * 60L;
        while ((to - from).TotalSeconds / step > MaxMarks)
            step *= 2;
        var zero = axis is ChartAxis.Clock clock
            ? -clock.Zone.GetUtcOffset(from).Seconds
            : start.ToUnixTimeSeconds() % step;
        var first = from.ToUnixTimeSeconds();
        first += Modulo(zero - first, step);
        for (var seconds = first; seconds <= to.ToUnixTimeSeconds(); seconds += step)
        {
            var instant = Instant.FromUnixTimeSeconds(seconds);
            yield return new AxisMark(scale.X(instant), TextOf(instant, start, axis));
        }
    }

    private static long Modulo(long value, long by) => ((value % by) + by) % by;

    private static string TextOf(Instant at, Instant start, ChartAxis axis) => axis switch
    {
        ChartAxis.Clock clock => at.Local(clock.Zone).ToString("HH:mm", CultureInfo.InvariantCulture),
        _ when at == start => Words.Start,
        _ => Ahead(Math.Round((at - start).TotalMinutes)),
    };

    /// <summary>What rounds to nothing is neither before nor after.</summary>
    private static string Ahead(double minutes) =>
        minutes == 0
            ? Words.Start : Phrase.Of(minutes > 0 ? Words.AheadMinutes : Words.BeforeMinutes, Math.Abs(minutes));

    private static IEnumerable<XElement> Notes(Scene scene, double y)
    {
        for (var i = 0; i < scene.Notes.Count; i++)
            yield return Svg.Text("text", scene.Notes[i], ("class", "ln-note"), ("x", 4.0), ("y", y + i * NoteHeight));
    }
}
