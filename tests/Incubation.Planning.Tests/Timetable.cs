using Incubation.Model;

namespace Incubation.Planning.Tests;

/// <summary>
/// The earliest times of steps in a given order on given hands, slots and readers: every rule is a reason to begin
/// later, and reasons are applied over and over until none is left. Plain, slow, and nothing of the engine.
/// </summary>
internal sealed class Timetable
{
    private const long Horizon = 200_000_000;
    private readonly TinyDay day;
    private readonly IReadOnlyList<Entry> entries;
    private bool changed;

    private Timetable(TinyDay day, IReadOnlyList<Entry> entries, IReadOnlyList<long>? floor)
    {
        this.day = day;
        this.entries = entries;
        Start = floor is null ? [.. entries.Select(_ => day.Now)] : [.. floor];
    }

    /// <summary>Start of each entry, milliseconds since the day's start.</summary>
    public long[] Start { get; }

    /// <summary>The times, or null where the order cannot be kept.</summary>
    /// <param name="day">The day.</param>
    /// <param name="entries">The steps in an order that each pair of hands, slot and reader follows.</param>
    /// <param name="floor">No entry starts earlier than this, where given.</param>
    public static Timetable? Of(TinyDay day, IReadOnlyList<Entry> entries, IReadOnlyList<long>? floor = null)
    {
        var table = new Timetable(day, entries, floor);
        for (var sweep = 0; sweep < 150; sweep++)
        {
            table.changed = false;
            for (var i = 0; i < entries.Count; i++)
            {
                if (!table.Push(i))
                    return null;
            }

            if (!table.changed)
                return table;
            if (table.Start.Any(s => s > Horizon))
                return null;
        }

        return null;
    }

    private long Length(int i) => day.Jobs[entries[i].Job].Length(entries[i].Kind, day.CardChange);

    private long End(int i) => Start[i] + Length(i);

    private int Find(int job, int kind)
    {
        for (var i = 0; i < entries.Count; i++)
        {
            if (entries[i].Job == job && entries[i].Kind == kind)
                return i;
        }

        return -1;
    }

    private void NotBefore(int i, long time)
    {
        if (Start[i] >= time)
            return;
        Start[i] = time;
        changed = true;
    }

    /// <summary>Applies every rule to one entry; false where a limit is passed that nothing can mend.</summary>
    private bool Push(int i)
    {
        var entry = entries[i];
        var job = day.Jobs[entry.Job];
        var inTime = entry.Kind switch
        {
            Kind.Mix => Mix(i, job),
            Kind.Load => Load(i, job),
            Kind.Move => Move(i, job),
            Kind.Clear => Clear(i, job),
            Kind.Discard => Discard(i, job),
            _ => true,
        };
        AfterSameHands(i);
        AfterSamePlace(i);
        Calendar(i);
        return inTime;
    }

    private bool Mix(int i, TinyJob job)
    {
        NotBefore(i, day.Ms(job.Request.EffectiveReady(day.Day.Start)));
        foreach (var before in job.After)
        {
            if (day.Jobs[before].Stage == TinyStage.Gone)
                NotBefore(i, day.Jobs[before].Until);
            else
                NotBefore(i, End(Math.Max(Find(before, Kind.Clear), Find(before, Kind.Discard))));
        }

        return true;
    }

    private bool Load(int i, TinyJob job)
    {
        var assay = job.Assay;
        if (job.Request.LoadBy is { } loadBy && End(i) > day.Ms(loadBy))
            return false;
        if (job.Stage == TinyStage.Mixed)
        {
            NotBefore(i, job.EndLatest);
            return Start[i] <= job.EndEarliest + TinyDay.Ms(assay.MixToLoad);
        }

        var mix = Find(entries[i].Job, Kind.Mix);
        NotBefore(i, End(mix));
        NotBefore(mix, Start[i] - TinyDay.Ms(assay.MixShortest) - TinyDay.Ms(assay.MixToLoad));
        // No later mix mends a spread that is wider than the time until the load.
        return TinyDay.Ms(assay.MixShortest) + TinyDay.Ms(assay.MixToLoad) >= TinyDay.Ms(assay.Mix);
    }

    private bool Move(int i, TinyJob job)
    {
        var assay = job.Assay;
        var reaction = TinyDay.Ms(assay.Incubation);
        if (job.Stage == TinyStage.Reacting)
        {
            NotBefore(i, Math.Max(job.EndLatest, job.EndLatest + reaction - Length(i)));
            return End(i) <= job.EndEarliest + reaction + TinyDay.Ms(assay.ReadWindow);
        }

        var load = Find(entries[i].Job, Kind.Load);
        NotBefore(i, Math.Max(End(load), End(load) + reaction - Length(i)));
        var most = TinyDay.Ms(assay.LoadShortest) + reaction + TinyDay.Ms(assay.ReadWindow) - day.Guard;
        NotBefore(load, End(i) - most);
        return most >= TinyDay.Ms(assay.Load) + reaction;
    }

    private bool Clear(int i, TinyJob job)
    {
        if (job.Stage == TinyStage.InReader)
        {
            NotBefore(i, job.Until);
            return true;
        }

        var move = Find(entries[i].Job, Kind.Move);
        NotBefore(i, TinyDay.Ms(job.Assay.Read)
            + (move >= 0 ? End(move) : End(Find(entries[i].Job, Kind.Load)) + TinyDay.Ms(job.Assay.Incubation)));
        return true;
    }

    private bool Discard(int i, TinyJob job)
    {
        NotBefore(i, job.DiscardFrom);
        return true;
    }

    private void AfterSameHands(int i)
    {
        if (Length(i) == 0)
            return;
        NotBefore(i, day.HandFree[entries[i].Hand]);
        for (var k = 0; k < i; k++)
        {
            if (entries[k].Hand == entries[i].Hand && Length(k) > 0)
                NotBefore(i, End(k));
        }
    }

    private void AfterSamePlace(int i)
    {
        var entry = entries[i];
        if (entry.Kind == Kind.Load && entry.Slot >= 0)
        {
            NotBefore(i, day.SlotFree[entry.Slot]);
            for (var k = 0; k < i; k++)
            {
                if (entries[k].Slot == entry.Slot && entries[k].Kind != Kind.Load)
                    NotBefore(i, entries[k].Kind == Kind.Move ? Start[k] : End(k));
            }
        }

        if (entry.Reader < 0 || entry.Kind is Kind.Clear or Kind.Discard)
            return;
        NotBefore(i, day.ReaderFree[entry.Reader]);
        for (var k = 0; k < i; k++)
        {
            if (entries[k].Reader == entry.Reader && entries[k].Kind is Kind.Clear or Kind.Discard or Kind.Card)
                NotBefore(i, End(k));
        }
    }

    private void Calendar(int i)
    {
        var entry = entries[i];
        foreach (var closed in day.Day.Calendar)
        {
            var from = Math.Max(day.Now, day.Ms(closed.From));
            var to = day.Ms(closed.To);
            if (from >= to)
                continue;
            var (kind, which) = closed.Resource.Parts;
            var number = which - 1;
            if (kind == ResourceKind.Hands && number == entry.Hand)
                OutOf(i, Start[i], End(i), from, to);
            var slotClosed = kind == ResourceKind.Incubator || (kind == ResourceKind.Slot && number == entry.Slot);
            if (slotClosed && entry.Kind == Kind.Load && entry.Slot >= 0)
                OutOf(i, Start[i], Find(entry.Job, Kind.Move) is >= 0 and var move ? Start[move] : Start[i], from, to);
            if (kind == ResourceKind.Reader && number == entry.Reader && entry.Kind == Kind.Card)
                OutOf(i, Start[i], End(i), from, to);
            else if (kind == ResourceKind.Reader && number == entry.Reader && entry.Kind is Kind.Load or Kind.Move)
                OutOf(i, Start[i], Find(entry.Job, Kind.Clear) is >= 0 and var clear ? End(clear) : End(i), from, to);
        }
    }

    private void OutOf(int i, long start, long end, long from, long to)
    {
        if (start < end ? start < to && from < end : from <= start && start < to)
            NotBefore(i, to);
    }

    /// <summary>By how much reads start inside the guard.</summary>
    public long GuardMs()
    {
        var used = day.Jobs.Sum(j => j.GuardSpent);
        for (var i = 0; i < entries.Count; i++)
        {
            var job = day.Jobs[entries[i].Job];
            if (entries[i].Kind == Kind.Move && job.Stage == TinyStage.Reacting)
            {
                var to = job.EndEarliest + TinyDay.Ms(job.Assay.Incubation)
                    + TinyDay.Ms(job.Assay.ReadWindow) - day.Guard;
                used += Math.Max(0, End(i) - to);
            }
        }

        return used;
    }

    /// <summary>When a job's clear ends at the earliest, in seconds since the day's start.</summary>
    /// <param name="job">The job.</param>
    /// <param name="next">By job: kind of its next step.</param>
    public double EndSeconds(int job, int[] next) => ClearEnd(job, next[job]) / 1000.0;

    /// <summary>
    /// Rule 8 when every job ends as early as its own steps still to come allow; exact when none is to come.
    /// </summary>
    /// <param name="next">By job: kind of its next step.</param>
    /// <param name="left">By job: whether it is left out.</param>
    public double CostSeconds(int[] next, bool[] left)
    {
        var finish = HandsDone(next);
        var cost = 0.0;
        for (var j = 0; j < day.Jobs.Count; j++)
        {
            var job = day.Jobs[j];
            if (left[j] || job.Discarded)
                continue;
            var end = ClearEnd(j, next[j]);
            finish = Math.Max(finish, end);
            if (job.Request.EffectiveDue(day.Day.Start) is { } due && end > day.Ms(due))
                cost += (end - day.Ms(due)) * (job.Request.Priority == Priority.Urgent ? 10 : 1);
            cost += day.Day.Bench.WaitWeight * (end - day.Ms(job.Request.EffectiveReady(day.Day.Start)));
        }

        return (cost + finish) / 1000;
    }

    /// <summary>
    /// When the hands can at the earliest have done all that is to come, were it shared out evenly; zero where nothing
    /// is.
    /// </summary>
    private long HandsDone(int[] next)
    {
        var work = 0L;
        for (var j = 0; j < next.Length; j++)
        {
            for (var kind = next[j]; kind <= Kind.Clear; kind++)
            {
                var needed = kind != Kind.Move || day.Jobs[j].Assay.Place == IncubationPlace.Incubator;
                work += needed ? day.Jobs[j].Length(kind, day.CardChange) : 0;
            }
        }

        if (work == 0)
            return 0;
        for (var hand = 0; hand < day.Hands; hand++)
        {
            var free = day.HandFree[hand];
            for (var i = 0; i < entries.Count; i++)
            {
                if (entries[i].Hand == hand && Length(i) > 0)
                    free = Math.Max(free, End(i));
            }

            work += free;
        }

        return work / day.Hands;
    }

    private long ClearEnd(int j, int kind)
    {
        var job = day.Jobs[j];
        var assay = job.Assay;
        if (job.Stage == TinyStage.Gone)
            return job.Until;
        var clear = TinyDay.Ms(assay.Clear);
        var read = TinyDay.Ms(assay.Incubation) + TinyDay.Ms(assay.Read) + clear;
        return kind switch
        {
            Kind.Done => End(Find(j, Kind.Clear)),
            Kind.Mix => Math.Max(day.Now, day.Ms(job.Request.EffectiveReady(day.Day.Start))) + TinyDay.Ms(assay.Mix)
                + TinyDay.Ms(assay.Load) + read,
            Kind.Load => Math.Max(day.Now, job.Stage == TinyStage.Mixed ? job.EndLatest : End(Find(j, Kind.Mix)))
                + TinyDay.Ms(assay.Load) + read,
            Kind.Move =>
                Math.Max(day.Now, (job.Stage == TinyStage.Reacting ? job.EndLatest : End(Find(j, Kind.Load)))
                    + TinyDay.Ms(assay.Incubation)) + TinyDay.Ms(assay.Read) + clear,
            _ when job.Stage == TinyStage.InReader => job.Until + clear,
            _ => clear + TinyDay.Ms(assay.Read) + (Find(j, Kind.Move) is >= 0 and var move
                ? End(move) : End(Find(j, Kind.Load)) + TinyDay.Ms(assay.Incubation)),
        };
    }
}
