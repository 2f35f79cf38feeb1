using Incubation.Clinic.Programme;
using Incubation.Clinic.TestKit;
using Incubation.Model;
using Xunit;
using static Incubation.Clinic.TestKit.ProgrammeStory;

namespace Incubation.Clinic.Tests;

/// <summary>Proficiency testing in the clinic's stream, and what may not be said of it.</summary>
public sealed class ProficiencyStateTest
{
    private int said = 600;

    [Fact]
    public void Story_Told_IsAllThere()
    {
        var state = new MemoryClinic(ProgrammeStory.Proficiency).Proficiency;
        var round = state.Rounds[0];
        Assert.False(round.IsOpen || round.AwaitsGrades);
        Assert.Equal(Told.Results, round.Reported!.Results);
        Assert.Equal((ProficiencyGrade.Unsatisfactory, "The vial was old."),
            (round.GradeOf(Second)!.Grade, round.GradeOf(Second)!.Note));
        Assert.Equal("The vials came broken.", state.Rounds[1].Cancelled!.Why);
        Assert.Null(state.OpenRoundOf(First.Specimen));
    }

    [Fact]
    public void ARound_IsOpenUntilItIsReported_AndThenAwaitsEachGrade()
    {
        var clinic = new MemoryClinic(Compared);
        Say(clinic, Round);
        Assert.Equal(1, clinic.Proficiency.OpenRoundOf(Second.Specimen)!.Number);
        Say(clinic, Told);
        Assert.True(clinic.Proficiency.Rounds[0].AwaitsGrades);
        foreach (var item in Round.Items)
            Say(clinic, new ClinicEvent.ProficiencyGraded(1, item, ProficiencyGrade.Ungraded, null, ""));
        Assert.False(clinic.Proficiency.Rounds[0].AwaitsGrades);
        Say(clinic, new ClinicEvent.ProficiencyGraded(1, First, ProficiencyGrade.Satisfactory, null, "corrected"));
        Assert.Equal(2, clinic.Proficiency.Rounds[0].Grades.Length);
    }

    public static TheoryData<ClinicEvent, ClinicRefusal> Refused => new()
    {
        { Round with { Round = 3 }, ClinicRefusal.RoundImpossible },
        { Round with { Round = 2, Items = [] }, ClinicRefusal.RoundImpossible },
        { Round with { Round = 2, Items = [First, First] }, ClinicRefusal.RoundImpossible },
        { Round with { Round = 2, Name = " " }, ClinicRefusal.RoundImpossible },
        { Round with { Round = 2, Items = [First with { Assay = AssayCode.Of("X") }] }, ClinicRefusal.UnknownAssay },
        { Round with { Round = 2 }, ClinicRefusal.RoundIsSo },
        { Told with { Round = 4 }, ClinicRefusal.UnknownRound },
        { Told with { How = " " }, ClinicRefusal.WhyMissing },
        { Told with { Results = [Told.Results[0]] }, ClinicRefusal.RoundImpossible },
        { Told with { Results = [Told.Results[0], Told.Results[0]] }, ClinicRefusal.RoundImpossible },
        { new ClinicEvent.ProficiencyCancelled(1, ""), ClinicRefusal.WhyMissing },
        { new ClinicEvent.ProficiencyGraded(1, First, ProficiencyGrade.Satisfactory, 1, ""),
            ClinicRefusal.RoundIsSo },
    };

    [Theory]
    [MemberData(nameof(Refused))]
    public void Record_WhatMayNotBeSaid_IsRefused(ClinicEvent @event, ClinicRefusal why)
    {
        var clinic = new MemoryClinic(Compared);
        Say(clinic, Round);
        Assert.Equal(why, No(clinic, @event));
    }

    [Fact]
    public void AReportedRound_IsReportedOnce_AndAnUnsatisfactoryGradeNeedsWords()
    {
        var clinic = new MemoryClinic(Compared);
        Say(clinic, Round);
        Say(clinic, Told);
        Assert.Equal(ClinicRefusal.RoundIsSo, No(clinic, Told));
        Assert.Equal(ClinicRefusal.RoundIsSo, No(clinic, new ClinicEvent.ProficiencyCancelled(1, "late")));
        Assert.Equal(ClinicRefusal.WordsMissing,
            No(clinic, new ClinicEvent.ProficiencyGraded(1, First, ProficiencyGrade.Unsatisfactory, 1, " ")));
        Assert.Equal(ClinicRefusal.RoundImpossible, No(clinic, new ClinicEvent.ProficiencyGraded(1,
            First with { Specimen = SpecimenId.Of("PT-9") }, ProficiencyGrade.Satisfactory, 1, "")));
    }

    private ClinicRefusal No(MemoryClinic clinic, ClinicEvent @event) =>
        Assert.IsType<ClinicDecision.Refused>(clinic.Record(@event, StoryProvenance.Of(++said))).Why;

    private void Say(MemoryClinic clinic, ClinicEvent @event) =>
        Assert.IsType<ClinicDecision.Accepted>(clinic.Record(@event, StoryProvenance.Of(++said)));
}
