using Incubation.Model;

namespace Incubation.Planning.Engine;

/// <summary>The calendar by resource; it binds from now, so entries are cut there.</summary>
internal sealed class CalendarCompiler(BenchDay day, long now)
{
    public ClosedTimes[] Hands { get; } = Of(day, now, day.Bench.Hands, number =>
        new BenchResource.Hands(new HandsNumber(number)));

    public ClosedTimes[] Slots { get; } = Of(day, now, day.Bench.Slots, number =>
        new BenchResource.Slot(new SlotNumber(number)));

    public ClosedTimes[] Readers { get; } = Of(day, now, day.Bench.Readers, number =>
        new BenchResource.Reader(new ReaderNumber(number)));

    private static ClosedTimes[] Of(BenchDay day, long now, int count, Func<int, BenchResource> resource) =>
        [.. Enumerable.Range(1, count).Select(resource).Select(one => ClosedTimes.Of(day.Calendar
            .Where(entry => entry.Resource.Includes(one))
            .Select(entry => (
                Math.Max(now, ProblemCompiler.Ms(entry.From - day.Start)),
                ProblemCompiler.Ms(entry.To - day.Start)))))];
}
