using Incubation.Clinic.TestKit;
using Incubation.Clinic.Worklist;
using Incubation.Model;
using NodaTime;
using Xunit;
using static Incubation.Clinic.TestKit.WorklistStory;

namespace Incubation.Clinic.Tests;

/// <summary>Orders in the clinic's stream: what waits, what is run, what may not be said.</summary>
public sealed class WorklistStateTest
{
    private int said = 900;

    [Fact]
    public void Story_Told_EachOrderStandsWhereItShould()
    {
        var state = new MemoryClinic(Commands).State.Worklist;
        Assert.Equal([Before + 2], state.Waiting.Select(order => order.Row));
        Assert.Equal([Before + 1, Before + 2], state.Find(Source, new OrderNumber("N-1")).Select(order => order.Row));
        Assert.Equal([Before + 2], state.WaitingFor(Content.Specimen).Select(order => order.Row));
        Assert.Empty(state.WaitingFor(SpecimenId.Of("SP-72")));
        Assert.Equal([Before + 1], state.RunAs(RequestId.Of("R02")).Select(order => order.Row));
        Assert.Empty(state.RunAs(RequestId.Of("R01")));
        Assert.Equal("Ordered by mistake.", state.Find(Before + 3)!.Cancelled!.Why);
        Assert.Equal([Before + 3], state.CancelledFor(state.Find(Before + 3)!.Content.Specimen)
            .Select(order => order.Row));
        Assert.Equal([Before + 3], state.All.Values.SelectMany(order => state.CancelledFor(order.Content.Specimen))
            .Select(order => order.Row).Distinct());
        // Each row about the one that was run twice goes with the batch of its request.
        Assert.Equal([Before + 1, Before + 4, Before + 5, Before + 6],
            state.RowsOf(ClinicStory.Bench, new HashSet<string>(["R02", "R01"])));
        Assert.Empty(state.RowsOf(BenchId.Of("bench-2"), new HashSet<string>(["R02"])));
    }

    public static TheoryData<ClinicEvent, ClinicRefusal> Impossible => new()
    {
        { Received("N-1", Content), ClinicRefusal.OrderIsSo },
        { Received("N-9", Content with { Assay = AssayCode.Of("X") }), ClinicRefusal.UnknownAssay },
        { Placed(2, "R09"), ClinicRefusal.UnknownRequest },
        { Placed(2, "R01", "bench-9"), ClinicRefusal.UnknownBench },
        { Placed(1, "R01"), ClinicRefusal.OrderIsSo },
        { Placed(3, "R01"), ClinicRefusal.OrderIsSo },
        { Placed(99, "R01"), ClinicRefusal.OrderIsSo },
        { new ClinicEvent.OrderReturned(Before + 1, RequestId.Of("R01")), ClinicRefusal.OrderIsSo },
        { new ClinicEvent.OrderReturned(Before + 2, RequestId.Of("R01")), ClinicRefusal.OrderIsSo },
        { new ClinicEvent.OrderCancelled(Before + 1, "It is on a bench."), ClinicRefusal.OrderIsSo },
        { new ClinicEvent.OrderCancelled(Before + 3, "Again."), ClinicRefusal.OrderIsSo },
        { new ClinicEvent.OrderCancelled(Before + 2, " "), ClinicRefusal.WhyMissing },
        { new ClinicEvent.OrderCancelled(Before + 2, new string('x', 501)), ClinicRefusal.WhyMissing },
        { Erased.Events[0], ClinicRefusal.RetentionNotOver },
    };

    [Theory]
    [MemberData(nameof(Impossible))]
    public void Decide_WhatCannotBe_IsRefused(ClinicEvent happened, ClinicRefusal why) =>
        Assert.Equal(why, Assert.IsType<ClinicDecision.Refused>(Say(new MemoryClinic(Commands), happened)).Why);

    [Fact]
    public void Order_IsNeverRefusedForStock_OnlyForThereBeingTooMany()
    {
        var clinic = new MemoryClinic(Commands);
        // No lot of the story is in date any more by then.
        var late = StoryProvenance.Of(++said) with { Arrived = StoryProvenance.Morning + Duration.FromDays(900) };
        Assert.IsType<ClinicDecision.Accepted>(clinic.Record(Received("late", Content), late));
        while (clinic.State.Worklist.WaitingCount < WorklistState.MostWaiting)
            clinic.Record(Received($"many-{++said}", Content), StoryProvenance.Of(said));
        Assert.Equal(ClinicRefusal.WorklistFull,
            Assert.IsType<ClinicDecision.Refused>(Say(clinic, Received("more", Content))).Why);
        Say(clinic, new ClinicEvent.OrderCancelled(Before + 2, "Room for another."));
        Assert.IsType<ClinicDecision.Accepted>(Say(clinic, Received("more", Content)));
    }

    [Fact]
    public void PlacedBy_APatientsRequest_IsEveryOrderOfItsSpecimenAndAssay_Once()
    {
        var clinic = new MemoryClinic(Commands);
        Say(clinic, Received("N-5", Content with { Assay = ClinicStory.B, Comment = null }));
        var request = ClinicStory.Request("R50", ClinicStory.B, "B-L1", after: "R03").Request with
        {
            Specimen = Content.Specimen,
        };
        Assert.Equal([(Before + 2, "R50"), (Before + 8, "R50")],
            Placed(request, request with { Id = RequestId.Of("R51") }));
        Assert.Empty(Placed(request with { Kind = RequestKind.Control }));
        Assert.Empty(Placed(request with { Assay = ClinicStory.A }));
        Assert.Empty(Placed(request with { Specimen = SpecimenId.Of("sp-71") }));

        IEnumerable<(long, string)> Placed(params Request[] requests) => clinic.State.Worklist
            .PlacedBy(ClinicStory.Bench, requests).Select(one => (one.Order, one.Request.Value));
    }

    [Fact]
    public void Erased_AfterItsDays_IsForgotten_AndTheSameCanComeAgain()
    {
        var clinic = new MemoryClinic([.. Commands, Erased]);
        Assert.Null(clinic.State.Worklist.Find(Before + 3));
        Assert.Empty(clinic.State.Worklist.CancelledFor(
            new MemoryClinic(Commands).State.Worklist.Find(Before + 3)!.Content.Specimen));
        Assert.Empty(clinic.State.Worklist.Find(Source, new OrderNumber("N-2")));
        Assert.IsType<ClinicDecision.Accepted>(Say(clinic, Received("N-2", Content)));
        // With rows of another, a day early, or of one that was not cancelled.
        var erased = (ClinicEvent.OrdersErased)Erased.Events[0];
        ClinicEvent.OrdersErased[] forged =
        [
            erased with { Rows = [new RowRange(Before + 1, Before + 3), erased.Rows[1]] },
            erased with { Rows = [] }, erased with { Days = 1 }, erased with { Orders = [Before + 3, Before + 3] },
            erased with { Orders = [Before + 2], Rows = [new RowRange(Before + 2, Before + 2)] },
        ];
        foreach (var one in forged)
            Assert.Equal(ClinicRefusal.RetentionNotOver, Assert.IsType<ClinicDecision.Refused>(
                new MemoryClinic(Commands).Record(one, Erased.Provenance)).Why);
        var early = Erased.Provenance with { Arrived = StoryProvenance.Morning + Duration.FromDays(89) };
        Assert.IsType<ClinicDecision.Refused>(new MemoryClinic(Commands).Record(erased, early));
    }

    private static ClinicEvent.OrderPlaced Placed(long order, string request, string bench = "bench-1") =>
        new(Before + order, BenchId.Of(bench), RequestId.Of(request));

    private ClinicDecision Say(MemoryClinic clinic, ClinicEvent happened) =>
        clinic.Record(happened, StoryProvenance.Of(++said));
}
