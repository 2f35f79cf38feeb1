using System.Globalization;
using Incubation.Bench;
using Incubation.Model;
using NodaTime;

namespace Incubation.Simulation;

/// <summary>
/// A day by a plain habit, with kitchen timers and no plan. Free hands do the first of these that can be done: take out
/// a cartridge whose read has ended; throw one away whose window has closed; move the one whose window is open and
/// closes first, its card put in before; mix and load the next request (urgent first, then by ready time) where there
/// is a place for it; put in the card of the cartridge that will be due next. Hands finish what they have begun. The
/// two habits differ in how many cartridges may be in work at once, and in where one goes that may react in either
/// place.
/// </summary>
internal sealed class HabitDay
{
    private const int MaxTurns = 100_000;

    private readonly BenchDay day;
    private readonly HandsLengths lengths;
    private readonly bool prefersReader;
    private readonly int mostInWork;
    private readonly Course[] courses;
    private readonly Course[] queue;
    private readonly Instant[] handFree;
    private readonly Instant[] slotFree;
    private readonly Post[] readers;
    private readonly List<DoneStep> done = [];
    private Instant now;

    private HabitDay(BenchDay day, Dispatch habit, HandsLengths lengths)
    {
        this.day = day;
        this.lengths = lengths;
        prefersReader = habit == Dispatch.OneAtATime || day.Bench.Slots == 0;
        mostInWork = habit == Dispatch.OneAtATime ? Math.Min(day.Bench.Hands, day.Bench.Readers) : int.MaxValue;
        var assays = day.Assays.ToDictionary(assay => assay.Code);
        courses = [.. day.Requests.Select(request => new Course(request, assays[request.Assay]))];
        queue = [.. courses.OrderBy(course => course.Request.Priority == Priority.Urgent ? 0 : 1)
            .ThenBy(course => course.Request.EffectiveReady(day.Start))];
        handFree = [.. Enumerable.Repeat(day.Start, day.Bench.Hands)];
        slotFree = [.. Enumerable.Repeat(day.Start, day.Bench.Slots)];
        readers = [.. Enumerable.Range(1, day.Bench.Readers)
            .Select(number => new Post(new ReaderNumber(number)) { FreeFrom = day.Start })];
        now = day.Start;
    }

    /// <summary>Plays a day by a habit.</summary>
    public static DayOutcome Play(BenchDay day, Dispatch habit, HandsLengths lengths)
    {
        var played = new HabitDay(day, habit, lengths);
        played.Run();
        return played.Outcome();
    }

    /// <summary>A cartridge on its way; an instant that is not known yet is <see cref="Instant.MaxValue"/>.</summary>
    private sealed class Course(Request request, Assay assay)
    {
        public Request Request { get; } = request;
        public Assay Assay { get; } = assay;
        public bool IsBegun { get; set; }
        public bool IsWaitingInSlot { get; set; }
        public int Slot { get; set; } = -1;
        public Instant Opens { get; set; } = Instant.MaxValue;
        public Instant Closes { get; set; } = Instant.MaxValue;
        public Instant Over { get; set; } = Instant.MaxValue;
        public bool IsReadInWindow { get; set; }
    }

    /// <summary>A reader: what is in it, its card, and from when it is free where nothing is.</summary>
    private sealed class Post(ReaderNumber number)
    {
        public ReaderNumber Number { get; } = number;
        public LotCode? Card { get; set; }
        public Course? Inside { get; set; }
        public Instant ReadEnds { get; set; } = Instant.MaxValue;
        public Instant FreeFrom { get; set; }
    }

    private void Run()
    {
        for (var turn = 0; turn < MaxTurns; turn++)
        {
            for (var hand = 0; hand < handFree.Length; hand++)
                while (handFree[hand] <= now && Act(hand))
                {
                }
            if (Next() is not { } next)
                return;
            now = next;
        }
        throw new InvalidOperationException(
            string.Create(CultureInfo.InvariantCulture, $"The day did not end in {MaxTurns} turns."));
    }

    /// <summary>The next instant at which something that could not be done can.</summary>
    private Instant? Next()
    {
        var next = Instant.MaxValue;
        void Look(Instant at)
        {
            if (at > now && at < next)
                next = at;
        }
        foreach (var free in handFree)
            Look(free);
        foreach (var free in slotFree)
            Look(free);
        foreach (var reader in readers)
        {
            Look(reader.FreeFrom);
            Look(reader.ReadEnds);
        }
        foreach (var course in courses)
        {
            Look(course.Over);
            if (!course.IsBegun)
                Look(course.Request.EffectiveReady(day.Start));
            if (course.IsWaitingInSlot)
            {
                Look(course.Opens);
                Look(course.Closes + Duration.Epsilon);
            }
        }
        return next == Instant.MaxValue ? null : next;
    }

    private bool Act(int hand) => Clear(hand) || Discard(hand) || Move(hand) || Begin(hand) || PutCardIn(hand);

    private bool Clear(int hand)
    {
        foreach (var reader in readers)
        {
            if (reader.Inside is not { } course || reader.ReadEnds > now)
                continue;
            course.Over = Do(hand, new StepAction.Clear(course.Request.Id, reader.Number), course.Assay.Clear);
            (reader.Inside, reader.ReadEnds, reader.FreeFrom) = (null, Instant.MaxValue, course.Over);
            return true;
        }
        return false;
    }

    private bool Discard(int hand)
    {
        if (courses.FirstOrDefault(waiting => waiting.IsWaitingInSlot && waiting.Closes < now) is not { } course)
            return false;
        course.Over = Do(hand, new StepAction.Discard(course.Request.Id), course.Assay.Clear);
        course.IsWaitingInSlot = false;
        slotFree[course.Slot] = course.Over;
        return true;
    }

    private bool Move(int hand)
    {
        var due = courses.Where(course => course.IsWaitingInSlot && course.Opens <= now && now <= course.Closes)
            .MinBy(course => course.Closes);
        if (due is null || FreeReaderFor(due) is not { } reader)
            return false;
        if (reader.Card != due.Request.Lot)
            return ChangeCard(hand, reader, due.Request.Lot);
        var starts = Do(hand, new StepAction.Move(due.Request.Id, reader.Number), due.Assay.Move);
        due.IsWaitingInSlot = false;
        slotFree[due.Slot] = now;
        Read(reader, due, starts);
        return true;
    }

    private void Read(Post reader, Course course, Instant starts)
    {
        course.IsReadInWindow = starts <= course.Closes;
        (reader.Inside, reader.ReadEnds) = (course, starts + course.Assay.Read);
        done.Add(new DoneStep(new StepAction.Read(course.Request.Id, reader.Number), null, starts, reader.ReadEnds));
    }

    private bool Begin(int hand)
    {
        if (courses.Count(course => course.IsBegun && course.Over > now) >= mostInWork)
            return false;
        foreach (var course in queue)
            if (!course.IsBegun && MayBegin(course) && Begin(hand, course))
                return true;
        return false;
    }

    private bool MayBegin(Course course) =>
        course.Request.EffectiveReady(day.Start) <= now
        && (course.Request.LoadBy is not { } by || now + course.Assay.Mix + course.Assay.Load <= by)
        && course.Request.After.All(id => Array.Find(courses, found => found.Request.Id == id) is not { } before
            || before.Over <= now);

    private bool Begin(int hand, Course course)
    {
        var inReader = course.Assay.Place == IncubationPlace.Reader
            || (course.Assay.Place == IncubationPlace.Either && prefersReader);
        if (inReader)
        {
            if (FreeReaderFor(course) is not { } reader)
                return false;
            if (reader.Card != course.Request.Lot)
                return ChangeCard(hand, reader, course.Request.Lot);
            MixAndLoad(hand, course, new CartridgePlace.InReader(reader.Number));
            Read(reader, course, course.Opens);
            return true;
        }
        course.Slot = Array.FindIndex(slotFree, free => free <= now);
        if (course.Slot < 0)
            return false;
        MixAndLoad(hand, course, new CartridgePlace.InSlot(new SlotNumber(course.Slot + 1)));
        (course.IsWaitingInSlot, slotFree[course.Slot]) = (true, Instant.MaxValue);
        return true;
    }

    private void MixAndLoad(int hand, Course course, CartridgePlace place)
    {
        course.IsBegun = true;
        Do(hand, new StepAction.Mix(course.Request.Id), course.Assay.Mix);
        var loaded = Do(hand, new StepAction.Load(course.Request.Id, place), course.Assay.Load);
        course.Opens = loaded + course.Assay.Incubation;
        course.Closes = course.Opens + course.Assay.ReadWindow;
    }

    private bool PutCardIn(int hand)
    {
        var next = courses.Where(course => course.IsWaitingInSlot).MinBy(course => course.Opens);
        return next is not null && FreeReaderFor(next) is { } reader && reader.Card != next.Request.Lot
            && ChangeCard(hand, reader, next.Request.Lot);
    }

    private bool ChangeCard(int hand, Post reader, LotCode lot)
    {
        reader.Card = lot;
        reader.FreeFrom = Do(hand, new StepAction.CardChange(reader.Number, lot), day.Bench.CardChange);
        return true;
    }

    /// <summary>
    /// A reader that holds nothing and is not being handled; one with the right card before any other.
    /// </summary>
    private Post? FreeReaderFor(Course course)
    {
        Post? other = null;
        foreach (var reader in readers)
        {
            if (reader.Inside is not null || reader.FreeFrom > now)
                continue;
            if (reader.Card == course.Request.Lot)
                return reader;
            other ??= reader;
        }
        return other;
    }

    /// <summary>Hands do a step as soon as they are free of the one before; gives its end.</summary>
    private Instant Do(int hand, StepAction action, Duration allowed)
    {
        var begins = Instant.Max(now, handFree[hand]);
        var ends = begins + lengths.Of(action, allowed);
        handFree[hand] = ends;
        done.Add(new DoneStep(action, new HandsNumber(hand + 1), begins, ends));
        return ends;
    }

    private DayOutcome Outcome()
    {
        var outcomes = courses.Select(course => course.IsReadInWindow && course.Over < Instant.MaxValue
            ? new CartridgeOutcome(CartridgeEnd.ReadInWindow, course.Over - course.Request.EffectiveReady(day.Start))
            : new CartridgeOutcome(course.IsBegun ? CartridgeEnd.Missed : CartridgeEnd.NotRun, null));
        var finish = done.Select(step => step.End).DefaultIfEmpty(day.Start).Max() - day.Start;
        return new DayOutcome([.. outcomes], [.. done.OrderBy(step => step.End)], finish);
    }
}
