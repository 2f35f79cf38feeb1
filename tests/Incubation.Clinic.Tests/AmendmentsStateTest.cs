using Incubation.Bench;
using Incubation.Clinic.TestKit;
using Incubation.Model;
using Xunit;

namespace Incubation.Clinic.Tests;

/// <summary>What may not be said of a closed result, and that each amendment is kept.</summary>
public sealed class AmendmentsStateTest
{
    private readonly MemoryClinic clinic = new(AmendmentStory.Commands);

    public static TheoryData<ClinicEvent, ClinicRefusal> Refused => new()
    {
        { AmendmentStory.Amended("R01", "250", "1", " "), ClinicRefusal.WhyMissing },
        { AmendmentStory.Amended("R99", "1", "2", "why"), ClinicRefusal.UnknownRequest },
        { AmendmentStory.Amended("R01", "1.4", "2", "another has amended it meanwhile"), ClinicRefusal.ResultChanged },
        { AmendmentStory.Amended("R01", "250", "250", "the same"), ClinicRefusal.ResultChanged },
    };

    [Theory]
    [MemberData(nameof(Refused))]
    public void Record_WhatCannotBe_IsRefused(ClinicEvent @event, ClinicRefusal why) =>
        Assert.Equal(why, Assert.IsType<ClinicDecision.Refused>(clinic.Record(@event, StoryProvenance.Of(300))).Why);

    [Fact]
    public void Released_AHeldResult_IsKnownAndStandsInItsRow()
    {
        Assert.Null(clinic.Amendments.ReleaseOf(ClinicStory.Bench, RequestId.Of("R01")));
        clinic.Record(AmendmentStory.Released[0].Events, AmendmentStory.Released[0].Provenance);
        var release = clinic.Amendments.ReleaseOf(ClinicStory.Bench, RequestId.Of("R01"))!;
        Assert.Equal("The label was read again.", release.Released.Why);
        Assert.Contains(release.Sequence,
            clinic.Amendments.RowsOf(ClinicStory.Bench, new HashSet<string> { "R01" }));
        Assert.Equal([(ClinicStory.Bench, 1, RequestId.Of("R01"))], clinic.Amendments.Cartridges);
        // Once is enough.
        Assert.Equal(ClinicRefusal.ResultChanged, Assert.IsType<ClinicDecision.Refused>(
            clinic.Record(AmendmentStory.Released[0].Events, StoryProvenance.Of(301))).Why);
    }

    /// <summary>In force at once what a replay of what is left would tell.</summary>
    [Fact]
    public void Erased_WhatWasSaidOfIt_IsForgotten()
    {
        Tell(AmendmentStory.Questioned[0]);
        Assert.NotEmpty(clinic.Amendments.Untold);
        var rows = clinic.Amendments.RowsOf(ClinicStory.Bench, new HashSet<string> { "R01" });
        var erased = new ClinicEvent.RecordErased(ClinicStory.Bench, 1, 1, 40, 1, StoryProvenance.Of(400).At, 24,
            [.. rows.Select(row => new RowRange(row, row))]);
        var left = clinic.Entries.Append(new ClinicEntry(erased, StoryProvenance.Of(400)))
            .Aggregate(ClinicState.Empty, LiveClinic.Apply).Amendments;
        Assert.Empty(left.Untold);
        Assert.Empty(left.Questioned);
        Assert.Empty(left.Cartridges);
        Assert.Empty(left.Of(ClinicStory.Bench, RequestId.Of("R01")));
    }

    /// <summary>42 CFR 493.1291(k): users are told of corrected reports; the list loses none (from memory).</summary>
    [Fact]
    public void Untold_AnAmendmentToTell_IsListedUntilSomebodyIsToldOrNeedNotBe()
    {
        var r01 = RequestId.Of("R01");
        Assert.Empty(clinic.Amendments.Untold);
        Tell(AmendmentStory.Questioned[0]);
        var due = Assert.Single(clinic.Amendments.Untold);
        Assert.Equal((TellingCause.Correction, ValueQuestion.LessThanInside), (due.Due, due.Question));
        Tell(AmendmentStory.ToldLater[0]);
        Assert.Empty(clinic.Amendments.Untold);
        Tell(AmendmentStory.ToldLater[1]);
        Assert.Equal(r01, Assert.Single(clinic.Amendments.Untold).Amended.Request);
        Tell(AmendmentStory.ToldLater[2]);
        Assert.Empty(clinic.Amendments.Untold);
        Assert.Equal([("Nurse", null), (null, "The specimen was taken again.")],
            clinic.Amendments.TellingsOf(ClinicStory.Bench, r01)
                .Select(one => (one.Told?.Whom, one.Waived?.Why)));
        // Every row names the request, and goes with it.
        Assert.Equal(clinic.Entries.Index().Where(row => row.Item.Event is ClinicEvent.ClosedResultAmended
                or ClinicEvent.ClosedResultQuestioned or ClinicEvent.ClosedTellingDue or ClinicEvent.ClosedResultTold
                or ClinicEvent.ClosedTellingWaived).Select(row => row.Index + 1L),
            clinic.Amendments.RowsOf(ClinicStory.Bench, new HashSet<string> { "R01" }));
    }

    [Fact]
    public void Questioned_AValueThatCannotBe_TakesTheReleaseBackAndWaits()
    {
        var r01 = RequestId.Of("R01");
        Tell(AmendmentStory.Released[0]);
        Tell(AmendmentStory.Questioned[0]);
        Assert.Null(clinic.Amendments.ReleaseOf(ClinicStory.Bench, r01));
        Assert.Equal(r01, Assert.Single(clinic.Amendments.Questioned).Amended.Request);
        Assert.IsNotType<ClinicDecision.Refused>(clinic.Record(AmendmentStory.Released[0].Events,
            StoryProvenance.Of(301)));
        Assert.Empty(clinic.Amendments.Questioned);
    }

    /// <summary>
    /// An amendment waits for another person; what that person decides is kept with both people and both times.
    /// </summary>
    [Fact]
    public void SecondLooks_AreAnotherPersons_AndKeepBoth()
    {
        var r01 = RequestId.Of("R01");
        Assert.False(clinic.Amendments.NeedsSecond);
        Tell(AmendmentStory.SecondLooks[0]);
        Assert.True(clinic.Amendments.NeedsSecond);
        Tell(AmendmentStory.SecondLooks[1]);
        Assert.Equal(r01, Assert.Single(clinic.Amendments.Waiting).Proposed.Request);
        var look = AmendmentStory.SecondLooks[2];
        // Whoever entered it may undo it, and never confirms it.
        var decline = Assert.IsType<ClinicEvent.ClosedAmendmentDecided>(look.Events[0]);
        Assert.False(decline.Confirmed);
        Assert.IsType<ClinicDecision.Accepted>(LiveClinic.Decide(clinic.State, [decline], StoryProvenance.Of(389)));
        Assert.Equal(ClinicRefusal.OwnAmendment, Refusal(decline with { Confirmed = true },
            StoryProvenance.Of(390)));
        Assert.Equal(ClinicRefusal.OwnAmendment, Refusal(look.Events[0],
            look.Provenance with { Id = ReportId.Of("report-391"), Identity = Identity.NotChecked }));
        Assert.Equal(ClinicRefusal.AmendmentWaits, Refusal(AmendmentStory.Amended("R01", "250", "1", "why"),
            StoryProvenance.Of(392)));
        Assert.Equal(ClinicRefusal.AmendmentWaits, Refusal(AmendmentStory.Released[0].Events[0],
            StoryProvenance.Of(393)));
        Assert.Equal(ClinicRefusal.ResultChanged, Refusal(AmendmentStory.Looked(394, "250", "26", "other", 301,
            confirmed: true).Events[0], look.Provenance with { Id = ReportId.Of("report-394") }));

        Tell(look);
        Assert.Empty(clinic.Amendments.Waiting);
        Assert.Equal("250", ((ReadResult.Measured)clinic.Amendments.Of(ClinicStory.Bench, r01)[^1].Amended.After)
            .Value);
        Assert.Equal(ClinicRefusal.ResultChanged, Refusal(look.Events[0],
            look.Provenance with { Id = ReportId.Of("report-395") }));
        Tell(AmendmentStory.SecondLooks[3]);
        Tell(AmendmentStory.SecondLooks[4]);
        var confirmed = clinic.Amendments.Of(ClinicStory.Bench, r01)[^1];
        Assert.Equal((StoryProvenance.Of(320).At, PersonId.Of("aide")), (confirmed.EnteredAt, confirmed.EnteredBy));
        Assert.Equal(new SecondLook("Compared with the reader's memory.", StoryProvenance.Of(330).At,
            PersonId.Of("second")), confirmed.Proposal!.Confirmed);
        Assert.Equal([false, true],
            clinic.Amendments.DecidedOf(ClinicStory.Bench, r01).Select(one => one.Decided.Confirmed));
        // An amendment by another way afterwards is its own.
        Assert.Null(clinic.Amendments.Of(ClinicStory.Bench, r01)[0].Proposal);
    }

    private ClinicRefusal Refusal(ClinicEvent @event, Provenance provenance) =>
        Assert.IsType<ClinicDecision.Refused>(clinic.Record(@event, provenance)).Why;

    private void Tell(StoryCommand command) =>
        Assert.IsNotType<ClinicDecision.Refused>(clinic.Record(command.Events, command.Provenance));

    [Fact]
    public void Amended_Twice_BothAreKeptInOrder()
    {
        var told = clinic.Amendments.Of(ClinicStory.Bench, RequestId.Of("R01"));
        Assert.Equal(["1.4", "14"], told.Select(one => ((ReadResult.Measured)one.Amended.Before).Value));
        Assert.Equal(
            [.. told.Select(one => one.Sequence)],
            clinic.Amendments.RowsOf(ClinicStory.Bench, new HashSet<string> { "R01" }));
        Assert.All(told, one => Assert.Same(one.Amended, clinic.Entries[(int)one.Sequence - 1].Event));
    }
}
