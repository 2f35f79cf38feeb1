using Incubation.Bench;
using NodaTime;

namespace Incubation.Chart;

/// <summary>
/// The lanes of a bench at work, around the present. One group moves: the page shifts it to the left by
/// <c>data-px-per-s</c> for each second of the server's time since <c>data-t0</c> (milliseconds since 1970), so that
/// the drawing stays true without a new one. Texts with <c>data-count-to</c> are countdowns that the page keeps; a
/// group with
/// <c>data-due-from</c> or <c>data-lost-from</c> takes the class <c>ln-due</c> or <c>ln-lost</c> at that instant.
/// </summary>
public static class LaneChart
{
    // A page may be without its server for a while; what comes into view meanwhile is already drawn.
    private static readonly Duration DrawnBeyond = Duration.FromMinutes(30);

    /// <summary>Draws the lanes.</summary>
    /// <param name="state">The bench.</param>
    /// <param name="look">What it shows at an instant; the lanes are drawn around that instant.</param>
    /// <param name="layout">For what screen.</param>
    /// <returns>An <c>svg</c> element without styles of its own: the page has the stylesheet.</returns>
    public static string Render(BenchState state, BenchView look, LaneLayout layout)
    {
        // A plan that nobody has started begins when somebody does: its lanes stand still.
        var stands = state.Phase == BatchPhase.Preparing && state.Adopted?.Remaining.Select(row => row.Step.Start)
            .DefaultIfEmpty(look.At).Min() is { } begins && begins < look.At
            ? begins
            : (Instant?)null;
        look = look with { At = stands ?? look.At };
        var scene = LiveScene.Of(state, look, null);
        var geometry = Geometry.Of(layout, state.Setup.Slots);
        var (behind, ahead, step) = Reach(layout);
        var perSecond = (geometry.Width - geometry.LabelWidth) / (behind + ahead).TotalSeconds;
        var scale = new TimeScale(look.At, geometry.LabelWidth + behind.TotalSeconds * perSecond, perSecond);
        var key = $"{Drawing.Key(state.Id.Value)}-{geometry.Name}";
        var painter = new LanePainter(geometry, scale, Drawing.Hatch(key), look.At, explains: false);
        var bottom = painter.Bottom(scene);

        var root = Drawing.Root(scene, geometry, bottom + 4, key);
        root.Add(
            Drawing.Definitions(key,
                Svg.Box("ln-clip", geometry.LabelWidth, 0, geometry.Width - geometry.LabelWidth, bottom + 4, 0)));
        if (geometry.HasLabels)
            root.Add(Drawing.Axis(Marks(scale, ahead, step, geometry), geometry.AxisHeight - 6, bottom));
        root.Add(painter.Heads(scene));
        root.Add(painter.Places(scene));

        var window = Svg.Element("g", ("clip-path", $"url(#{Drawing.Clip(key)})"));
        var moving = Svg.Element("g",
            ("class", "ln-moving"), ("data-t0", look.At.ToUnixTimeMilliseconds()),
                ("data-px-per-s", (state.Phase == BatchPhase.Preparing ? 0 : perSecond)
                    .ToString("R", System.Globalization.CultureInfo.InvariantCulture)));
        moving.Add(painter.Blocks(scene, look.At - behind - step, look.At + ahead + DrawnBeyond));
        window.Add(moving);
        root.Add(window);

        root.Add(Svg.Line("ln-now", scale.OriginX, geometry.AxisHeight - 8, scale.OriginX, bottom + 2));
        return Svg.Write(root);
    }

    private static (Duration Behind, Duration Ahead, Duration Step) Reach(LaneLayout layout) =>
        layout == LaneLayout.Narrow
        ? (Duration.FromMinutes(1), Duration.FromMinutes(7), Duration.FromMinutes(2))
        : (Duration.FromMinutes(2), Duration.FromMinutes(15), Duration.FromMinutes(3));

    private static IEnumerable<AxisMark> Marks(TimeScale scale, Duration ahead, Duration step, Geometry geometry)
    {
        yield return new AxisMark(scale.OriginX, Words.Now);
        for (var at = step; at <= ahead; at += step)
        {
            var x = scale.OriginX + scale.Length(at);
            var text = x + 30 <= geometry.Width ? Phrase.Of(Words.AheadMinutes, (long)at.TotalMinutes) : "";
            yield return new AxisMark(x, text);
        }
    }
}
