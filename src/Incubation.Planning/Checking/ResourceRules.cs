using Incubation.Model;

namespace Incubation.Planning.Checking;

/// <summary>Rules 6 and 7: reader cards, and who holds which hands, slots and readers when.</summary>
internal static class ResourceRules
{
    /// <summary>
    /// Rule 6: when a cartridge comes to a reader, the card of its lot is in it: from before, or by a card change of
    /// its length that ends before the reader is taken and starts after the cartridge before has been cleared.
    /// </summary>
    public static IEnumerable<PlanFault> Cards(PlanReading plan)
    {
        foreach (var row in plan.CardChanges.Where(row => !row.Begun && row.Length != plan.Day.Bench.CardChange))
            yield return Say.Fault(6, row, Words.WrongLength, Say.Row(row.Step), row.Length, plan.Day.Bench.CardChange);

        var stays = Occupation.OfReaders(plan);
        for (var number = 1; number <= plan.Day.Bench.Readers; number++)
        {
            LotCode? card = plan.NotKnown.ReadersWithoutCard.Contains(number)
                ? null : plan.Day.MidRun?.Cards.FirstOrDefault(known => known.Reader.Value == number)?.Card;
            var here = stays.Where(stay => stay.Resource.Parts.Number == number).ToList();
            foreach (var holding in here.OrderBy(stay => stay.Start).ThenBy(stay => stay.End)
                .ThenBy(stay => stay.Row?.Index ?? -1))
            {
                if (holding.Row?.Step.Action is StepAction.CardChange change)
                {
                    card = change.Lot;
                    if (holding.Start == holding.End
                        && here.Any(stay => stay.Start < holding.Start && holding.End < stay.End))
                        yield return Say.Fault(6, holding.Row, Words.CardChangeInUse, Say.Row(holding.Row.Step),
                            number);
                }
                else if (holding.IsNew && card != holding.Course!.Request.Lot)
                    yield return Say.Fault(6, holding.Row, Words.WrongCard, holding.Course.Request.Id, number,
                        holding.Course.Request.Lot, card?.Value ?? Words.NoCard);
                else if (!holding.IsNew)
                    card = holding.Course!.Request.Lot;
            }
        }
    }

    /// <summary>
    /// Rule 7: each pair of hands, slot and reader does one thing at a time. What takes no time occupies nothing; two
    /// things both begun before now are facts.
    /// </summary>
    public static IEnumerable<PlanFault> OneThingAtATime(PlanReading plan)
    {
        var resources = Occupation.OfHands(plan).Concat(Occupation.OfSlots(plan)).Concat(Occupation.OfReaders(plan))
            .Where(holding => holding.Start < holding.End)
            .GroupBy(holding => holding.Resource);
        foreach (var resource in resources)
        {
            Holding? before = null;
            foreach (var holding in resource.OrderBy(holding => holding.Start))
            {
                if (before is not null && holding.Start < before.End && (holding.IsNew || before.IsNew))
                    yield return Say.Fault(7, holding.Row ?? before.Row, Words.TwoAtOnce, holding.ResourceInWords,
                        holding.Who, before.Who, holding.Start, before.End);
                if (before is null || holding.End > before.End)
                    before = holding;
            }
        }
    }

    /// <summary>
    /// Rule 7: the calendar. No step of hands that are away, and no new stay in a slot or reader out of use, card
    /// changes too; what began before now stays, and may be moved out, cleared or discarded.
    /// </summary>
    public static IEnumerable<PlanFault> Calendar(PlanReading plan)
    {
        var holdings = Occupation.OfHands(plan).Concat(Occupation.OfSlots(plan)).Concat(Occupation.OfReaders(plan))
            .Where(holding => holding.IsNew);
        foreach (var holding in holdings)
        {
            foreach (var entry in plan.Day.Calendar.Where(entry => Concerns(entry, holding)))
            {
                var overlaps = holding.Start < holding.End
                    ? holding.Start < entry.To && entry.From < holding.End
                    : entry.From <= holding.Start && holding.Start < entry.To;
                if (overlaps)
                    yield return Say.Fault(7, holding.Row, Words.OutOfUse, holding.ResourceInWords, holding.Who,
                        holding.Start, holding.End, entry.From, entry.To);
            }
        }
    }

    /// <summary>
    /// Rule 7: a mix starts no earlier than the clear (or discard) of each request that it comes after has ended; after
    /// one that is unplaced it cannot start.
    /// </summary>
    public static IEnumerable<PlanFault> After(PlanReading plan)
    {
        foreach (var course in plan.Courses)
        {
            if (course.Mix is not { Begun: false } mix)
                continue;
            foreach (var id in course.Request.After)
            {
                if (!plan.ById.TryGetValue(id, out var before))
                    continue;
                if (before.IsUnplaced)
                    yield return Say.Fault(7, mix, Words.AfterUnplaced, Say.Row(mix.Step), id);
                else if ((before.IsLost ? before.Discard : before.Clear) is { } last && mix.Start < last.End)
                    yield return Say.Fault(7, mix, Words.AfterNotEnded, Say.Row(mix.Step), mix.Start, id, last.End);
            }
        }
    }

    private static bool Concerns(CalendarEntry entry, Holding holding) => entry.Resource.Includes(holding.Resource);
}
