using Incubation.Model;

namespace Incubation.Planning.Engine;

/// <summary>The calendar by resource; it binds from now, so entries are cut there.</summary>
internal sealed class CalendarCompiler(BenchDay day, long now)
{
    public ClosedTimes[] Hands { get; } = Of(day, now, CalendarResource.Hands, day.Bench.Hands);

    public ClosedTimes[] Slots { get; } = Of(day, now, CalendarResource.Slot, day.Bench.Slots);

    public ClosedTimes[] Readers { get; } = Of(day, now, CalendarResource.Reader, day.Bench.Readers);

    private static ClosedTimes[] Of(BenchDay day, long now, CalendarResource resource, int count) =>
        [.. Enumerable.Range(1, count).Select(number => ClosedTimes.Of(day.Calendar
            .Where(e => (e.Resource == resource && e.Number == number)
                || (resource == CalendarResource.Slot && e.Resource == CalendarResource.Incubator))
            .Select(e => (
                Math.Max(now, ProblemCompiler.Ms(e.From - day.Start)),
                ProblemCompiler.Ms(e.To - day.Start)))))];
}
