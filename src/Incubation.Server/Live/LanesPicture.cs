namespace Incubation.Server.Live;

/// <summary>The lanes of a bench, drawn by the one renderer.</summary>
public static class LanesPicture
{
    /// <summary>SVG markup of a view in a layout.</summary>
    public static string Draw(BenchView view, ScreenLayout layout)
    {
        ArgumentNullException.ThrowIfNull(view);
        return $"<svg xmlns=\"http://www.w3.org/2000/svg\" class=\"lanes lanes-{(layout == ScreenLayout.Wall ? "wall" : "bench")}\"></svg>";
    }
}
