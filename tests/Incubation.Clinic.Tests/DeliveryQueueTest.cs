using CsCheck;
using Incubation.Clinic.Connections;
using Incubation.Model;
using NodaTime;
using Xunit;

namespace Incubation.Clinic.Tests;

/// <summary>
/// In which order messages go, how long they wait, and what waits behind one that was refused for good.
/// </summary>
public sealed class DeliveryQueueTest
{
    private static readonly Instant Morning = Instant.FromUtc(2026, 3, 2, 8, 0);
    private static readonly DeliveryOutcome Taken = new DeliveryOutcome.Taken("200");
    private static readonly DeliveryOutcome NotNow = new DeliveryOutcome.NotNow("503");
    private static readonly DeliveryOutcome Refused = new DeliveryOutcome.Refused("422");

    [Fact]
    public void After_EachFailure_WaitsLonger_WhateverTheChance()
    {
        // By doubling at least from step to step, and a fifth of chance, no later wait is shorter than an earlier one.
        for (var failures = 1; failures < 6; failures++)
            Assert.True(RetryWaits.After(failures, 1) <= RetryWaits.After(failures + 1, 0), $"after {failures}");
        Assert.Equal(RetryWaits.Longest, RetryWaits.After(1000, 1));
        Assert.Equal(Duration.FromSeconds(4), RetryWaits.After(1, 0));
        Assert.Equal(Duration.FromSeconds(6), RetryWaits.After(1, 1));
    }

    [Fact]
    public void Next_TwoAboutOneRequest_TheSecondWaitsForTheFirst()
    {
        var queue = Queue(Of(1, "A"), Of(2, "A"), Of(3, "B"));
        Assert.Equal(1, queue.Next(Morning)!.Number);
        Assert.Equal(3, queue.Next(Morning)!.Number);
        Assert.Null(queue.Next(Morning));
        queue.Settle(Of(1, "A").Id, Taken, Morning, 0);
        Assert.Equal(2, queue.Next(Morning)!.Number);
    }

    [Fact]
    public void Refused_ForGood_OnlyTheSameRequestWaits_UntilAPersonSays()
    {
        var queue = Queue(Of(1, "A"), Of(2, "A"), Of(3, "B"));
        queue.Next(Morning);
        Assert.Equal(DeliveryStatus.Parked, queue.Settle(Of(1, "A").Id, Refused, Morning, 0).Status);
        Assert.Equal(3, queue.Next(Morning)!.Number);
        queue.Settle(Of(3, "B").Id, Taken, Morning, 0);
        Assert.Null(queue.Next(Morning + Duration.FromDays(9)));
        Assert.Null(queue.DueAt);
        Assert.Equal(DeliveryStatus.GivenUp, queue.GiveUp(Of(1, "A").Id)!.Status);
        Assert.Equal(2, queue.Next(Morning)!.Number);
        Assert.Equal((1, 0), (queue.Count, queue.ParkedCount));
    }

    [Fact]
    public void Resend_WhatWasRefused_GoesNow_BeforeWhatWaitsBehindIt()
    {
        var queue = Queue(Of(1, "A"), Of(2, "A"));
        queue.Next(Morning);
        queue.Settle(Of(1, "A").Id, Refused, Morning, 0);
        Assert.Equal((DeliveryStatus.Waiting, 1), queue.Resend(Of(1, "A").Id, Morning) is { } one
            ? (one.Status, one.Tries) : default);
        Assert.Equal(1, queue.Next(Morning)!.Number);
        // Nobody decides on what is on its way.
        Assert.Null(queue.GiveUp(Of(1, "A").Id));
        Assert.Null(queue.Resend(Of(1, "A").Id, Morning));
    }

    [Fact]
    public void NotNow_ADestinationThatFails_IsTriedWithOneMessage_LessAndLessOften()
    {
        var queue = Queue([.. Enumerable.Range(1, 50).Select(number => Of(number, $"R{number}"))]);
        var (now, tries) = (Morning, new List<Duration>());
        for (var failure = 0; failure < 10; failure++)
        {
            var one = queue.Next(now)!;
            Assert.True(failure == 0 || queue.Next(now) is null);
            queue.Settle(one.Id, NotNow, now, 0.5);
            tries.Add(queue.DueAt!.Value - now);
            Assert.Null(queue.Next(queue.DueAt!.Value - Duration.Epsilon));
            now = queue.DueAt!.Value;
        }

        Assert.Equal([5, 15, 60, 240, 900, 900, 900, 900, 900, 900], tries.Select(wait => (int)wait.TotalSeconds));
        // Back again: everything that waited goes at once.
        queue.Settle(queue.Next(now)!.Id, Taken, now, 0.5);
        for (var left = 49; left > 0; left--)
            queue.Settle(queue.Next(now)!.Id, Taken, now, 0.5);
        Assert.Equal(0, queue.Count);
    }

    [Fact]
    public void NotNow_OneThatNeverGoes_HoldsNoOtherUp()
    {
        var queue = Queue(Of(1, "A"), Of(2, "B"), Of(3, "C"));
        var now = Morning;
        queue.Settle(queue.Next(now)!.Id, NotNow, now, 0.5);
        now = queue.DueAt!.Value;
        Assert.Equal(2, queue.Next(now)!.Number);
        queue.Settle(Of(2, "B").Id, Taken, now, 0.5);
        Assert.Equal([3, 1], [queue.Next(now)!.Number, queue.Next(now)!.Number]);
    }

    [Theory]
    [InlineData(30, 30)]
    [InlineData(1, 5)]
    [InlineData(1_000_000, 72 * 60)]
    public void NotNow_ADestinationThatAsksToBeLeftAlone_IsSo_WithinReason(int asked, int seconds)
    {
        var queue = Queue(Of(1, "A"));
        queue.Settle(queue.Next(Morning)!.Id, new DeliveryOutcome.NotNow("429", Duration.FromSeconds(asked)), Morning,
            0.5);
        Assert.Equal(Duration.FromSeconds(seconds), queue.DueAt - Morning);
    }

    /// <summary>
    /// Random sequences of news, tries, outcomes, persons' words and restarts, against a plain list of what must be so:
    /// nothing is lost, nothing overtakes another about the same request, nothing is tried before its time.
    /// </summary>
    [Fact]
    public void AnySequence_AgainstAPlainList_LosesNothingAndKeepsOrder() => Gen.Int[0, 999_999].Sample(seed =>
    {
        var random = new Random(seed);
        var oracle = new PlainList();
        var queue = new DeliveryQueue();
        var now = Morning;
        for (var turn = 0; turn < 120; turn++)
        {
            now += Duration.FromSeconds(random.Next(0, 400));
            switch (random.Next(9))
            {
                case 0 or 1:
                    var added = oracle.Add(random.Next(6) is 0 ? null : "R" + random.Next(4));
                    queue.Add(added);
                    break;
                case 2 when oracle.Open.Count > 0:
                    var given = oracle.Open[random.Next(oracle.Open.Count)].Id;
                    if (queue.GiveUp(given) is not null)
                        oracle.Leave(given);
                    break;
                case 3 when oracle.Open.Count > 0:
                    if (queue.Resend(oracle.Open[random.Next(oracle.Open.Count)].Id, now) is { } resent)
                        oracle.Put(resent);
                    break;
                case 4:
                    // A restart: what is on the disk is all that is known.
                    queue = Queue([.. oracle.Open]);
                    oracle.OnTheWay.Clear();
                    break;
                default:
                    if (queue.Next(now) is { } next)
                        oracle.Began(next, now);
                    if (oracle.OnTheWay.Count > 0 && random.Next(3) > 0)
                    {
                        var id = oracle.OnTheWay[random.Next(oracle.OnTheWay.Count)];
                        oracle.Settled(queue.Settle(id, random.Next(10) switch
                        {
                            < 5 => Taken,
                            < 8 => NotNow,
                            _ => Refused,
                        }, now, random.NextDouble()), now);
                    }

                    break;
            }

            Assert.Equal(oracle.Open.Select(one => one.Number), queue.All.Select(one => one.Number));
        }

        oracle.AllGoesInTheEnd(queue, now);
    });

    private static DeliveryQueue Queue(params Delivery[] deliveries)
    {
        var queue = new DeliveryQueue();
        foreach (var one in deliveries)
            queue.Add(one);
        return queue;
    }

    private static Delivery Of(long number, string? request) => new(new NoticeId(new BenchId("bench-1"), number,
        request is null ? null : new RequestId(request)), number,
        request is null ? NoticeKind.Alarm : NoticeKind.Ready, 1, DeliveryStatus.Waiting, 0, Instant.MinValue);

    /// <summary>What must be so, written plainly.</summary>
    private sealed class PlainList
    {
        private long last;

        public List<Delivery> Open { get; } = [];

        public List<NoticeId> OnTheWay { get; } = [];

        public Delivery Add(string? request)
        {
            var one = Of(++last, request);
            Open.Add(one);
            return one;
        }

        public void Leave(NoticeId id) => Open.RemoveAll(one => one.Id == id);

        public void Put(Delivery delivery) => Open[Open.FindIndex(one => one.Id == delivery.Id)] = delivery;

        public void Began(Delivery one, Instant now)
        {
            Assert.DoesNotContain(one.Id, OnTheWay);
            Assert.Equal(DeliveryStatus.Waiting, Open.Single(other => other.Id == one.Id).Status);
            Assert.True(one.NextTry <= now);
            // Nothing about the same request that came before is still open.
            Assert.DoesNotContain(Open, other => one.Id.Request is not null && other.Id.Request == one.Id.Request
                && other.Number < one.Number);
            OnTheWay.Add(one.Id);
        }

        public void Settled(Delivery delivery, Instant now)
        {
            OnTheWay.Remove(delivery.Id);
            if (delivery.IsOver)
            {
                Leave(delivery.Id);
                return;
            }

            if (delivery.Status == DeliveryStatus.Waiting)
                Assert.True(delivery.NextTry > now && delivery.NextTry <= now + RetryWaits.Longest);
            Put(delivery);
        }

        public void AllGoesInTheEnd(DeliveryQueue queue, Instant now)
        {
            foreach (var id in OnTheWay.ToList())
                Settled(queue.Settle(id, Taken, now, 0), now);
            foreach (var parked in Open.Where(one => one.Status == DeliveryStatus.Parked).ToList())
                Put(queue.Resend(parked.Id, now)!);
            while (queue.DueAt is { } due)
            {
                now = Instant.Max(now, due);
                var next = queue.Next(now)!;
                Began(next, now);
                Settled(queue.Settle(next.Id, Taken, now, 0), now);
            }

            Assert.Empty(Open);
            Assert.Equal(0, queue.Count);
        }
    }
}
