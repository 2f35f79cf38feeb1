using Incubation.Model;
using NodaTime;
using Xunit;
using static Incubation.Bench.Tests.Scene;

namespace Incubation.Bench.Tests;

/// <summary>
/// Whatever is said at whatever time, from the first instant there is to the last: it is recorded or refused, the bench
/// goes on, and a replay ends where the bench stands. Logs that hold such times already, too.
/// </summary>
public sealed class AnyTimeTest
{
    private static readonly Instant[] Extremes =
    [
        Instant.MinValue, Instant.MinValue + Seconds(1), Instant.FromUtc(-9998, 1, 2, 0, 0),
        Instant.FromUtc(1, 1, 1, 0, 0), Instant.FromUtc(1677, 9, 21, 0, 12, 43), Instant.FromUtc(1970, 1, 1, 0, 0),
        Instant.FromUtc(2038, 1, 19, 3, 14, 8),
        Instant.FromUtc(2262, 4, 11, 23, 47, 17), Instant.FromUtc(9999, 12, 31, 0, 0), Instant.MaxValue - Seconds(1),
        Instant.MaxValue,
    ];

    public static TheoryData<int> Seeds => [.. Enumerable.Range(1, 12)];

    [Theory]
    [MemberData(nameof(Seeds))]
    public void AnythingSaid_AtAnyTime_IsRecordedOrRefused(int seed)
    {
        var random = new Random(seed);
        var scene = Running(Request("R1"), Request("R2"), Request("R3"));
        for (var (at, said) = (10.0, 0); said < 60; at += random.Next(1, 60), said++)
        {
            var (arrived, command) = (At(at), Any(random, scene, at));
            var stated = TimeOf(random, arrived);
            var decision = scene.Say(stated, arrived, command);
            Assert.True(command is not BenchCommand.Report || decision is not Decision.Refused
            { Why: Refusal.UnreadableTime }, $"{command} at {stated}: {decision}");
            Holds(scene, at);
        }

        Assert.Equal(Told(scene.Now), Told(scene.Entries.Aggregate((BenchState?)null, LiveBench.Apply)!));
        Assert.All(scene.Now.Story, told => Assert.InRange(told.At, Start - Seconds(5), scene.Now.LastArrived));
    }

    [Theory]
    [MemberData(nameof(Seeds))]
    public void LogWithAnyTimes_StopsNothing(int seed)
    {
        var random = new Random(seed);
        var scene = Running(Request("R1"), Request("R2"), Request("R3"));
        for (var (at, told) = (10.0, 0); told < 40; at += random.Next(1, 60), told++)
        {
            // As a program of before would have recorded it.
            if (told % 3 == 0)
                scene.Record(Old(random, scene, told), At(at));
            else
                scene.Say(TimeOf(random, At(at)), At(at), Any(random, scene, at));
            Holds(scene, at);
        }

        Assert.Equal(Told(scene.Now), Told(scene.Entries.Aggregate((BenchState?)null, LiveBench.Apply)!));
    }

    /// <summary>Everything that is worked out of the bench can be, and a plan is made of times that can be.</summary>
    private static void Holds(Scene scene, double at)
    {
        var (state, now) = (LiveBench.Readable(scene.Now), At(at));
        var (first, last) = (state.Run.Since - Bounds.PlannedWithin, now + Bounds.PlannedWithin);
        Assert.Equal(now, LiveBench.View(scene.Now, now).At);
        Assert.All(LiveBench.Problem(scene.Now, now).Requests, request => Assert.InRange(request.Ready, first, last));
        scene.Plan(at);
        Assert.NotNull(scene.Now.Adopted);
    }

    private static Instant TimeOf(Random random, Instant arrived) => random.Next(3) switch
    {
        0 => Extremes[random.Next(Extremes.Length)],
        1 => arrived + Seconds(random.Next(-4000, 20)),
        _ => arrived,
    };

    private static BenchCommand Any(Random random, Scene scene, double at)
    {
        var request = R("R" + random.Next(1, 4));
        var story = scene.Now.Story;
        var stated = TimeOf(random, At(at));
        var questions = LiveBench.View(scene.Now, At(at)).Questions;
        return random.Next(12) switch
        {
            0 => new BenchCommand.Mixed(request, random.Next(2) == 0),
            1 => new BenchCommand.Loaded(request, Slot(random.Next(1, 4)), random.Next(2) == 0),
            2 => new BenchCommand.ReadStarted(request, Reader1, random.Next(2) == 0),
            3 => new BenchCommand.Cleared(request, Reader1),
            4 => new BenchCommand.Discarded(request, DiscardReason.Dropped, null),
            5 => new BenchCommand.CardSeen(Reader1, new LotCode("L1")),
            6 => new BenchCommand.CardChanged(Reader1, new LotCode("L1")),
            7 => new BenchCommand.TemperatureMeasured(new Celsius(25)),
            8 => new BenchCommand.NotBegun(new HandsNumber(1)),
            9 when !story.IsEmpty => new BenchCommand.CorrectReport(story[random.Next(story.Count)].Id, stated, null,
                null, "so it was"),
            10 when !questions.IsEmpty && questions[random.Next(questions.Length)] is var asked =>
                new BenchCommand.AnswerQuestion(asked.Key, asked.Answers[0].Answer,
                    asked.Answers[0].Slots.FirstOrDefault(), TimeStated: true, new LotCode("L1")),
            _ => new BenchCommand.ResultEntered(request, new ShownResult.Value("1")),
        };
    }

    private static BenchEvent Old(Random random, Scene scene, int number)
    {
        var request = R("R" + random.Next(1, 4));
        var at = Extremes[random.Next(2, Extremes.Length - 2)];
        var (hands, story) = (new HandsNumber(1), scene.Now.Story);
        return random.Next(6) switch
        {
            0 => new BenchEvent.ReadyChanged(request, at),
            1 => new BenchEvent.Mixed(request, hands, at, new InstantRange(at, at), []),
            2 => new BenchEvent.Loaded(request, hands, Slot(1), at, new InstantRange(at, at), []),
            3 => new BenchEvent.StepNotBegun(hands, at),
            4 when story.FindLast(told => told.Event.IsReport) is { } last =>
                new BenchEvent.ReportsRevised([], [new Correction(last.Id, at, null, null)], [], null),
            _ => new BenchEvent.PutOutOfUse(new CalendarEntry(new BenchResource.Slot(new SlotNumber(1 + (number % 3))),
                at, Extremes[^3], "")),
        };
    }
}
