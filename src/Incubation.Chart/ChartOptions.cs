using NodaTime;

namespace Incubation.Chart;

/// <summary>What the time axis of a whole-day chart says.</summary>
public abstract record ChartAxis
{
    private ChartAxis() { }

    /// <summary>Minutes since the day's start: "+12 min".</summary>
    public sealed record MinutesFromStart : ChartAxis;

    /// <summary>Clock times in a zone: "10:45".</summary>
    public sealed record Clock(DateTimeZone Zone) : ChartAxis;
}

/// <summary>How a whole-day chart is drawn.</summary>
/// <param name="Axis">What the time axis says.</param>
/// <param name="Title">Names the chart for those who hear it; null gives a plain title.</param>
/// <param name="SelfContained">
/// Whether the styles travel inside the file (for a file of its own). False for markup inside a page, which brings the
/// stylesheet and forbids styles inside its markup.
/// </param>
/// <param name="Width">Width to fill, in CSS pixels; the chart grows beyond it where the day would become
/// unreadable.</param>
/// <param name="Key">Sets apart the identifiers of several charts in one page.</param>
public sealed record ChartOptions(
    ChartAxis Axis,
    string? Title = null,
    bool SelfContained = true,
    int Width = 1200,
    string Key = "day")
{
    /// <summary>A file of its own, counted in minutes from the day's start.</summary>
    public static ChartOptions File { get; } = new(new ChartAxis.MinutesFromStart());
}

/// <summary>
/// For what screen the live lanes are drawn; each is drawn at its size in CSS pixels and stays readable there.
/// </summary>
public enum LaneLayout
{
    /// <summary>A tablet held wide: 784 px, from 3 minutes ago to 15 minutes ahead.</summary>
    Wide,

    /// <summary>A tablet held upright: 760 px, lower lanes.</summary>
    Portrait,

    /// <summary>A phone: 344 px, from 1 minute ago to 7 minutes ahead.</summary>
    Narrow,

    /// <summary>Small and without labels, for a wall of benches.</summary>
    Wall,
}
