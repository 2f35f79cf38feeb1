using Incubation.Model;
using NodaTime;
using Xunit;
using static Incubation.Bench.Tests.Scene;

namespace Incubation.Bench.Tests;

/// <summary>
/// Whatever is said to a bench, in whatever order: it believes nothing impossible, asks what can be answered, and
/// replays to the same.
/// </summary>
public sealed class ChaosTest
{
    private const int Requests = 4;
    private const int Said = 60;

    private static readonly DeviceId[] Devices = [Tablet, new("other"), new("third")];

    public static TheoryData<int> Seeds => [.. Enumerable.Range(1, 60)];

    [Theory]
    [MemberData(nameof(Seeds))]
    public void AnythingSaid_LeavesABenchThatHoldsTogether(int seed)
    {
        var (scene, now) = Chaos(seed);
        Assert.Equal(Dump.Of(scene.Now), Dump.Of(scene.Entries.Aggregate((BenchState?)null, LiveBench.Apply)));
        AnswerEverything(scene, now, new Random(seed));
        Assert.Empty(scene.View(now).Questions);
        AssertHoldsTogether(scene, now);
    }

    private static (Scene Scene, double Now) Chaos(int seed)
    {
        var random = new Random(seed);
        var hands = random.Next(1, 3);
        var scene = Open(hands, slots: 2, readers: random.Next(1, 3));
        scene.Say(0,
            new BenchCommand.AddRequests(
                [.. Enumerable.Range(1, Requests)
                    .Select(i => Request($"R{i}", Assay(place: (IncubationPlace)random.Next(3))))]));
        scene.Say(0, new BenchCommand.StartBatch());
        scene.Plan(0);
        var now = 0.0;
        for (var said = 0; said < Said; said++)
        {
            now += random.Next(4) == 0 ? random.Next(1, 200) : random.Next(1, 30);
            // Some reports tell of the past, as a tablet that was alone does.
            var at = random.Next(6) == 0 ? Math.Max(0, now - random.Next(300)) : now;
            var command = Anything(scene, random, now);
            var decision = scene.Say(at, command, Devices[random.Next(Devices.Length)], arrived: now);
            Assert.False(command is BenchCommand.Report && decision is Decision.Refused,
                $"{command} was refused: {decision}");
            AssertHoldsTogether(scene, now);
            if (random.Next(2) == 0)
                scene.Plan(now, decision is Decision.Accepted accepted ? ReplanCauses.Of(command, accepted.Events)
                    ?? PlanCause.Report : PlanCause.Report);
            AssertHoldsTogether(scene, now);
        }

        return (scene, now);
    }

    private static StepPatience Impatient { get; } = new(Duration.Zero, Duration.Zero, Duration.Zero, Duration.Zero,
        Duration.Zero, Duration.Zero);

    private static BenchCommand Anything(Scene scene, Random random, double now)
    {
        var request = R($"R{random.Next(1, Requests + 1)}");
        var reader = new ReaderNumber(random.Next(1, scene.Now.Setup.Readers + 1));
        var lot = new LotCode(random.Next(5) == 0 ? "L2" : "L1");
        CartridgePlace place = random.Next(4) == 0 ? new CartridgePlace.InReader(reader) : Slot(random.Next(1, 4));
        // Mostly what is offered, so that the day comes somewhere.
        if (random.Next(2) == 0 && scene.View(now).Offers is [var offer, ..])
            return Report(offer.Action, random);
        if (random.Next(12) == 0 && LiveBench.NotKnown(scene.Now, At(now), Impatient) is [var unknown, ..])
            return unknown;
        return random.Next(20) switch
        {
            0 => new BenchCommand.Mixed(request, random.Next(2) == 0),
            1 or 2 => new BenchCommand.Loaded(request, place, random.Next(2) == 0),
            3 or 4 => new BenchCommand.ReadStarted(request, reader, random.Next(2) == 0),
            5 => new BenchCommand.Cleared(request, reader),
            6 => new BenchCommand.CardChanged(reader, lot),
            7 => new BenchCommand.CardSeen(reader, lot),
            8 => random.Next(4) == 0 ? new BenchCommand.Discarded(request, DiscardReason.Dropped, null)
                : new BenchCommand.NotBegun(new HandsNumber(1)),
            9 => new BenchCommand.TemperatureMeasured(new Celsius(random.Next(20, 30))),
            10 =>
                new BenchCommand.SetIncubator(new IncubatorRule(new Celsius(25), new Celsius(2),
                    [new TemperatureRule(new AssayCode("A1"), Seconds(100))])),
            11 => new BenchCommand.PutOutOfUse(AnyResource(random), Seconds(random.Next(20, 400)), null,
                random.Next(2) == 0),
            12 => new BenchCommand.PutBackInUse(AnyResource(random)),
            13 => new BenchCommand.ChangeHands(random.Next(1, 4)),
            14 => random.Next(3) == 0
                ? new BenchCommand.WithdrawRequest(request) : new BenchCommand.ChangeReady(request, random.Next(3) == 0
                    ? null : At(now + random.Next(60))),
            15 => new BenchCommand.NoteRestart(At(now - 20), random.Next(2) == 0),
            16 => new BenchCommand.NoteClock(random.Next(3) == 0 ? Seconds(9) : null),
            17 or 18 when scene.Now.Story is { IsEmpty: false } story =>
                Correction(story[random.Next(story.Count)], random, now, place, lot),
            17 or 18 => new BenchCommand.PauseIntake(random.Next(2) == 0),
            _ => Undo(scene, random),
        };
    }

    private static BenchCommand Report(StepAction action, Random random) => action switch
    {
        StepAction.Mix mix => new BenchCommand.Mixed(mix.Request),
        StepAction.Load load => new BenchCommand.Loaded(load.Request, load.Place, false),
        StepAction.Move move => new BenchCommand.ReadStarted(move.Request, move.Reader, false),
        StepAction.Clear clear => new BenchCommand.Cleared(clear.Request, clear.Reader),
        StepAction.CardChange change => new BenchCommand.CardChanged(change.Reader, change.Lot),
        _ => new BenchCommand.Discarded(action.Subject!.Value, (DiscardReason)random.Next(7), null),
    };

    private static BenchCommand.CorrectReport Correction(ReportedStep told, Random random, double now,
        CartridgePlace place, LotCode lot) => new(
        told.Id,
        random.Next(2) == 0 ? At(Math.Max(0, now - random.Next(600))) : null,
        random.Next(2) == 0 ? place : null,
        random.Next(3) == 0 ? lot : null,
        "because");

    private static BenchResource AnyResource(Random random)
    {
        var kind = (ResourceKind)random.Next(4);
        var number = random.Next(1, 3);
        return BenchResource.Of(kind, kind == ResourceKind.Incubator ? null : number)!;
    }

    private static BenchCommand.Undo Undo(Scene scene, Random random)
    {
        var of = Revisions.Undoable(scene.Now, Devices[random.Next(Devices.Length)]) ?? new ReportId("none");
        return new BenchCommand.Undo(of, [.. Revisions.RestingOn(scene.Now, of).Select(told => told.Id).Distinct()]);
    }

    /// <summary>Each question takes each of the answers that it offers, and is over then.</summary>
    private static void AnswerEverything(Scene scene, double now, Random random)
    {
        for (var asked = 0; scene.View(now).Questions is [var question, ..]; asked++)
        {
            Assert.True(asked < 200, "Answers lead to questions without end.");
            var option = question.Answers[random.Next(question.Answers.Length)];
            var answer = new BenchCommand.AnswerQuestion(
                question.Key, option.Answer, option.Slots.IsEmpty
                    ? null : option.Slots[0], option.TakesTime, option.TakesLot ? new LotCode("L1") : null);
            var decision = scene.Say(now, answer);
            Assert.True(decision is Decision.Accepted, $"{question.Key} does not take {option.Answer}: {decision}");
            Assert.DoesNotContain(scene.View(now).Questions, still => still.Key == question.Key);
            AssertHoldsTogether(scene, now);
            scene.Plan(now, PlanCause.Corrected);
        }
    }

    private static void AssertHoldsTogether(Scene scene, double now)
    {
        var state = scene.Now;
        // Two in one place only while one of them is being moved out, or where a question asks for it.
        var asked = scene.View(now).Questions.Select(question => question.Other).ToHashSet();
        var places = state.Cartridges.Where(c => !asked.Contains(c.Id) && !IsMovedNext(state, c.Id))
            .Select(cartridge => cartridge.Phase switch
        {
            CartridgePhase.Reacting reacting => reacting.Place,
            CartridgePhase.Reading reading => new CartridgePlace.InReader(reading.Reader),
            _ => null,
        }).OfType<CartridgePlace>().ToList();
        Assert.Equal(places.Distinct().Count(), places.Count);
        foreach (var load in scene.View(now).Offers.Select(offer => offer.Action).OfType<StepAction.Load>())
            if (load.Place is CartridgePlace.InSlot at)
                Assert.DoesNotContain(state.Cartridges, c => c.Id != load.Request
                    && c.Phase is CartridgePhase.Reacting { Place: var taken } && taken == at
                    && !state.Adopted!.Remaining.Any(row => row.Step.Action.Subject == c.Id));
        Assert.Equal(scene.View(now).Questions.Length, scene.View(now).Questions.Select(question => question.Key)
            .Distinct().Count());
        Assert.All(state.Story, told => Assert.Contains(told.Id, state.Recorded));
    }

    private static bool IsMovedNext(BenchState state, RequestId request) =>
        state.Adopted?.MoveOf(request) is { Step.Hands: { } hands } row && state.Adopted.NextOf(hands) == row;
}
