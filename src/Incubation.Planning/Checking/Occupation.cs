using Incubation.Model;
using NodaTime;

namespace Incubation.Planning.Checking;

/// <summary>A pair of hands, slot or reader taken for a while.</summary>
/// <param name="Resource">The hands, the slot or the reader.</param>
/// <param name="Start">From when; the earliest instant of all where it began at an unknown time before now.</param>
/// <param name="End">Until when.</param>
/// <param name="IsNew">Whether it begins at or after now, and so by the plan's choice.</param>
/// <param name="Row">The row that begins it, or null where it has begun.</param>
/// <param name="Course">Whose cartridge it is, or null for a card change.</param>
internal sealed record Holding(BenchResource Resource, Instant Start, Instant End, bool IsNew, Row? Row, Course? Course)
{
    public string Who => Course is null || (Resource is BenchResource.Hands && Row is not null)
        ? Say.Row(Row!.Step)
        : Course.Request.Id.Value;

    public string ResourceInWords => Say.Text(Resource switch
    {
        BenchResource.Hands => Words.ResourceHands,
        BenchResource.Slot => Words.ResourceSlot,
        _ => Words.ResourceReader,
    }, Resource.Parts.Number!);
}

/// <summary>Works out who holds what when, as rules 3, 4 and 6 say it.</summary>
internal static class Occupation
{
    /// <summary>Hands are taken by each of their rows.</summary>
    public static IReadOnlyList<Holding> OfHands(PlanReading plan) => [.. plan.Rows
        .Where(row => row.Step.Hands is not null)
        .Select(row => new Holding(new BenchResource.Hands(row.Step.Hands!.Value), row.Start, row.End, !row.Begun, row,
            row.Step.Action.Subject is { } id ? plan.ById.GetValueOrDefault(id) : null))];

    /// <summary>
    /// A slot is taken from the load's start to the move's start, or to the discard's; and by what is not known.
    /// </summary>
    public static IReadOnlyList<Holding> OfSlots(PlanReading plan)
    {
        var stays = new List<Holding>();
        foreach (
            var course in plan.Courses.Where(course => course.Stage is not (Stage.BeingMoved or Stage.BeingDiscarded)))
        {
            if (course.Place is CartridgePlace.InSlot place
                && (course.IsLost ? course.Discard : course.Move) is { } leaves)
                Add(stays, new BenchResource.Slot(place.Slot), course, course.Load, leaves.Start);
        }
        AddNotKnown(plan, stays, ResourceKind.Slot);
        return stays;
    }

    /// <summary>
    /// A reader is taken from the move's start, or the load's start inside it, to the clear's end; by each card change;
    /// and by what is not known.
    /// </summary>
    public static IReadOnlyList<Holding> OfReaders(PlanReading plan)
    {
        var stays = new List<Holding>();
        foreach (var course in plan.Courses)
        {
            var begins = course.Place is CartridgePlace.InReader ? course.Load : course.Move;
            if (course.IsLost && course is { Stage: Stage.BeingMoved, Move: { } move, Discard: { } discard })
                Add(stays, new BenchResource.Reader(move.Step.Action.NeedsReader!.Value), course, move, discard.Start);
            else if (!course.IsLost && course.Clear is { } clear && (begins is not null || IsInReader(course)))
                Add(stays, new BenchResource.Reader((begins ?? clear).Step.Action.NeedsReader!.Value), course, begins,
                    clear.End);
        }
        foreach (var row in plan.CardChanges)
            stays.Add(new Holding(new BenchResource.Reader(row.Step.Action.NeedsReader!.Value), row.Start, row.End,
                !row.Begun, row, null));
        AddNotKnown(plan, stays, ResourceKind.Reader);
        return stays;
    }

    private static void AddNotKnown(PlanReading plan, List<Holding> stays, ResourceKind kind) =>
        stays.AddRange(plan.NotKnown.Places.Where(place => place.Resource.Parts.Kind == kind).Select(place =>
            new Holding(place.Resource, Instant.MinValue, place.Until, false, null, plan.ById[place.Request])));

    private static void Add(List<Holding> stays, BenchResource resource, Course course, Row? begins, Instant end) =>
        stays.Add(new Holding(resource, begins?.Start ?? Instant.MinValue, end, begins is { Begun: false }, begins,
            course));

    private static bool IsInReader(Course course) =>
        course.Stage is Stage.ReactsInReader or Stage.BeingRead or Stage.HasBeenRead or Stage.BeingCleared;
}
