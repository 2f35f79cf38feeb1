using Incubation.Chart;
using Incubation.Model;
using Incubation.Planning;

namespace Incubation.Cli;

/// <summary>The picture of a plan, as a file of its own.</summary>
internal static class ChartOutput
{
    public static string Render(BenchDay day, Plan plan) => DayChart.Render(day, plan, ChartOptions.File);
}
