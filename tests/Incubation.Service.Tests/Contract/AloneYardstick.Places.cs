using Incubation.Bench;
using Incubation.Model;
using NodaTime;

namespace Incubation.Service.Tests.Contract;

/// <summary>Where rows go that the adopted plan's own order has no place for.</summary>
internal sealed partial class AloneYardstick
{
    /// <summary>So often is tried what comes back.</summary>
    private const int MostPlaces = 200;

    /// <summary>
    /// What comes back may cost another cartridge by coming first: then it comes after as few steps of its hands as it
    /// must for less to be lost, or else wherever that is so. Null where it is nowhere.
    /// </summary>
    private (Course Course, HashSet<RequestId> Left)? Placed(Instant now, RequestId came, HashSet<RequestId> left)
    {
        var before = State;
        var (open, inWork) = (Open(now), InWork(now));
        var lost = LossOf(open.Where(one => left.Contains(one.Id)), inWork);
        var mine = Adopted.Remaining.Where(row => row.Step.Action.Subject == came).ToList();
        var others = Adopted.Remaining.Except(mine).ToList();
        var later = others.Where(row => mine.Count > 0 && row.Step.Hands == mine[0].Step.Hands
            && row.Step.End > mine[0].Step.Start).Select(other => other.Step.End - mine[0].Step.Start)
            .Select(late => others.Concat(mine.Select(row => At(row, row.Step.Start + late))));
        var orders = later.Concat(Among(others, mine, now)).Take(MostPlaces).Select(rows => rows.ToList()).ToList();
        var tries = 0;
        foreach (var set in Sets(open, inWork).TakeWhile(set => set.Length == 0
            || LossOf(set, inWork).CompareTo(lost) < 0))
            foreach (var rows in orders)
            {
                if (++tries > MostPlaces)
                    break;
                State = With(before, rows);
                var aside = set.Select(one => one.Id).ToHashSet();
                if (Kept(aside, now) is { } course)
                    return (course, aside);
            }

        State = before;
        return null;
    }

    /// <summary>Rows put among others in every way in which both keep their own order, the earliest first.</summary>
    private IEnumerable<IEnumerable<RemainingStep>> Among(List<RemainingStep> others, List<RemainingStep> mine,
        Instant now)
    {
        if (mine.Count == 0)
            yield break;
        // Nothing comes before what somebody is at.
        var first = others.FindLastIndex(row => HasBegunBefore(row, now)) + 1;
        var places = mine.Select(_ => first).ToArray();
        while (true)
        {
            yield return InTurn(others, mine, places);
            var i = mine.Count - 1;
            while (i >= 0 && places[i] == others.Count)
                i--;
            if (i < 0)
                yield break;
            Array.Fill(places, places[i] + 1, i, mine.Count - i);
        }
    }

    private static List<RemainingStep> InTurn(List<RemainingStep> others, List<RemainingStep> mine, int[] places)
    {
        var rows = new List<RemainingStep>();
        for (var i = 0; i <= others.Count; i++)
        {
            rows.AddRange(mine.Where((_, one) => places[one] == i));
            if (i < others.Count)
                rows.Add(others[i]);
        }

        for (var i = 1; i < rows.Count; i++)
            rows[i] = At(rows[i], Instant.Max(rows[i].Step.Start,
                rows[i - 1].Step.Start + Duration.FromMilliseconds(1)));
        return rows;
    }

    private static RemainingStep At(RemainingStep row, Instant start) => row with
    {
        Step = row.Step with { Start = start, End = start + (row.Step.End - row.Step.Start) },
    };

    /// <summary>Whether somebody counts as being at a row since before an instant.</summary>
    private bool HasBegunBefore(RemainingStep row, Instant now) =>
        LiveBench.Problem(State, now).MidRun!.Steps.Any(step => step.Action == row.Step.Action
            && step.Hands == row.Step.Hands && !step.Unknown)
        && LiveBench.Offers(State).Any(offer => offer.Action == row.Step.Action && offer.MayBegin < now);

    /// <summary>
    /// The course without some cartridges; where the order cannot be kept, with the discards last for which nothing
    /// waits.
    /// </summary>
    private Course? Kept(HashSet<RequestId> left, Instant now)
    {
        if (Keeping(left, now) is { } course)
            return course;
        var before = State;
        if (DiscardsLast(now) is not { } rows)
            return null;
        State = With(before, rows);
        course = Keeping(left, now);
        State = before;
        return course;
    }

    private List<RemainingStep>? DiscardsLast(Instant now)
    {
        var rows = Adopted.Remaining.ToList();
        var last = rows.Where(row => row.Step.Action is StepAction.Discard discard && !HasBegunBefore(row, now)
            && State.Find(discard.Request)?.Phase?.FindPlace() is var place && place is not CartridgePlace.InReader
            && !rows.Exists(other => other.Step.Action is StepAction.Load load && load.Place == place)).ToList();
        var others = rows.Except(last).ToList();
        if (last.Count == 0 || others.Count == 0)
            return null;
        var from = others.Max(row => row.Step.End);
        foreach (var row in last)
            (others, from) = ([.. others, At(row, from)], from + (row.Step.End - row.Step.Start));
        return others;
    }
}
