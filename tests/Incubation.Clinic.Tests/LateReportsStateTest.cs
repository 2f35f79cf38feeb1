using Incubation.Clinic.TestKit;
using Incubation.Model;
using Xunit;

namespace Incubation.Clinic.Tests;

/// <summary>Reports that came after their batch had been closed wait until somebody has decided, once.</summary>
public sealed class LateReportsStateTest
{
    private readonly MemoryClinic clinic = new(LateReportStory.Commands);

    public static TheoryData<ClinicEvent, ClinicRefusal> Refused => new()
    {
        { LateReportStory.Late("R99", "{}"), ClinicRefusal.UnknownRequest },
        { LateReportStory.Late("R01", "{}") with { Bench = new BenchId("bench-9") }, ClinicRefusal.UnknownBench },
        { Note("R03", "report-214", " "), ClinicRefusal.WhyMissing },
        { Note("R03", "report-999", "why"), ClinicRefusal.NothingToDecide },
        { Note("R01", "report-214", "another's"), ClinicRefusal.NothingToDecide },
        { Note("R01", "report-210", "decided before"), ClinicRefusal.NothingToDecide },
    };

    [Theory]
    [MemberData(nameof(Refused))]
    public void Record_WhatCannotBe_IsRefused(ClinicEvent @event, ClinicRefusal why) =>
        Assert.Equal(why, Assert.IsType<ClinicDecision.Refused>(clinic.Record(@event, StoryProvenance.Of(300))).Why);

    [Fact]
    public void Waiting_ThoseThatNobodyHasDecidedOn()
    {
        var late = Assert.Single(clinic.LateReports.Waiting);
        Assert.Equal("R03", late.Report.Request.Value);

        Assert.IsType<ClinicDecision.Accepted>(
            clinic.Record(Note("R03", late.Provenance.Id.Value, "why"), StoryProvenance.Of(300)));

        Assert.Empty(clinic.LateReports.Waiting);
    }

    [Fact]
    public void Of_ABatch_HasAllWithTheirDecisions()
    {
        Assert.Equal([LateReportDecision.Noted, LateReportDecision.Amended, (LateReportDecision?)null],
            clinic.LateReports.Of(ClinicStory.Bench, 1).Select(late => late.Decision?.Settled.Decision));
        Assert.Empty(clinic.LateReports.Of(ClinicStory.Bench, 2));
        Assert.Equal(2, clinic.LateReports.RowsOf(ClinicStory.Bench, new HashSet<string> { "R02" }).Count);
    }

    private static ClinicEvent Note(string request, string report, string why) =>
        LateReportStory.Settled(request, report, LateReportDecision.Noted, why);
}
