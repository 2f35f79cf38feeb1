namespace Incubation.Server.Live;

/// <summary>In which shape a screen shows the lanes.</summary>
public enum ScreenLayout
{
    /// <summary>A tablet lying across, a desk.</summary>
    Wide,

    /// <summary>A tablet standing up, a phone.</summary>
    Narrow,

    /// <summary>A screen on the wall.</summary>
    Wall,
}

/// <summary>Layouts by the names that screens give.</summary>
public static class ScreenLayouts
{
    /// <summary>Reads a layout's name: "wide", "narrow" or "wall".</summary>
    public static bool TryRead(string? name, out ScreenLayout layout)
    {
        (layout, var known) = name switch
        {
            "wide" => (ScreenLayout.Wide, true),
            "narrow" => (ScreenLayout.Narrow, true),
            "wall" => (ScreenLayout.Wall, true),
            _ => (ScreenLayout.Wide, false),
        };
        return known;
    }
}
