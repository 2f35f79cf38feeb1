using Incubation.Bench;
using Incubation.Model;
using Incubation.Planning;
namespace Incubation.Chart;

/// <summary>The chart of a whole day: the same drawing as the live lanes, standing still.</summary>
public static class DayChart
{
    /// <summary>Draws a plan of a day.</summary>
    /// <param name="day">The problem.</param>
    /// <param name="plan">Its answer.</param>
    /// <param name="options">How it is drawn.</param>
    /// <returns>An <c>svg</c> element; a complete file where <see cref="ChartOptions.SelfContained"/> is set.</returns>
    public static string Render(BenchDay day, Plan plan, ChartOptions options) =>
        StillChart.Render(DayScene.Of(day, plan, options.Title), day.Start, day.Now, day.MidRun is not null, options);

    /// <summary>
    /// Draws a batch: what was really done, filled in, and what its adopted plan still asks for, as outlines.
    /// </summary>
    /// <param name="state">The bench.</param>
    /// <param name="look">What it shows at an instant, which is marked as now while the batch runs.</param>
    /// <param name="options">How it is drawn.</param>
    /// <returns>An <c>svg</c> element; a complete file where <see cref="ChartOptions.SelfContained"/> is set.</returns>
    public static string Render(BenchState state, BenchView look, ChartOptions options)
    {
        var start = state.StartedAt ?? state.Adopted?.At ?? look.At;
        var running = state.Phase == BatchPhase.Running;
        return StillChart.Render(LiveScene.Of(state, look, options.Title ?? Words.PlanTitle), start, look.At, running,
            options);
    }
}
