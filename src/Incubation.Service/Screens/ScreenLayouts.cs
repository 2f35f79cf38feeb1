using Incubation.Chart;

namespace Incubation.Service.Screens;

/// <summary>Layouts of the lanes by the names that screens give.</summary>
public static class ScreenLayouts
{
    /// <summary>Reads a layout's name: "wide", "portrait", "narrow" or "wall".</summary>
    public static bool TryRead(string? name, out LaneLayout layout)
    {
        (layout, var known) = name switch
        {
            "wide" => (LaneLayout.Wide, true),
            "portrait" => (LaneLayout.Portrait, true),
            "narrow" => (LaneLayout.Narrow, true),
            "wall" => (LaneLayout.Wall, true),
            _ => (LaneLayout.Wide, false),
        };
        return known;
    }
}
