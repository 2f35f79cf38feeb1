using Incubation.Clinic.TestKit;
using Incubation.Model;
using NodaTime;
using Xunit;

namespace Incubation.Clinic.Tests;

/// <summary>What may not be said to a clinic, and that nothing of it is taken.</summary>
public sealed class LiveClinicTest
{
    public static TheoryData<ClinicEvent, ClinicRefusal> Refusals => new()
    {
        { ClinicStory.Opened, ClinicRefusal.ClinicAlreadyOpen },
        { new ClinicEvent.BenchRegistered(ClinicStory.Bench, "Again"), ClinicRefusal.BenchAlreadyRegistered },
        { new ClinicEvent.BenchRegistered(BenchId.Of("bench-9"), " "), ClinicRefusal.NameMissing },
        { ClinicStory.Approved(ClinicStory.A, 4, 2), ClinicRefusal.VersionOutOfOrder },
        { ClinicStory.Approved(ClinicStory.A, 4, 4), ClinicRefusal.VersionOutOfOrder },
        { ClinicStory.Approved(ClinicStory.A, 4, 3), ClinicRefusal.DraftChanged },
        { ClinicStory.Drafted(ClinicStory.A, 4, 3), ClinicRefusal.DraftChanged },
        { new ClinicEvent.AssayDraftDropped(ClinicStory.A, 3), ClinicRefusal.DraftChanged },
        { new ClinicEvent.AssayDrafted(ClinicStory.Sheet(ClinicStory.A, 3) with { Unit = "" }, 4),
            ClinicRefusal.NameMissing },
        { ClinicStory.Drafted(ClinicStory.A, -3, 4), ClinicRefusal.LengthsImpossible },
        { DraftOf(assay => assay with { MixShortest = Duration.FromSeconds(51) }), ClinicRefusal.LengthsImpossible },
        { DraftOf(assay => assay with { LoadShortest = Duration.FromSeconds(26) }), ClinicRefusal.LengthsImpossible },
        { DraftThat(sheet => sheet with { Materials = new MaterialRule(Duration.FromSeconds(-1), null) }),
            ClinicRefusal.LengthsImpossible },
        { DraftThat(sheet => sheet with { Results = sheet.Results with { Reference = new ValueRange(5, 4.9m) } }),
            ClinicRefusal.SheetImpossible },
        { DraftThat(sheet => sheet with { Results = sheet.Results with { Decimals = 7 } }),
            ClinicRefusal.SheetImpossible },
        { DraftThat(sheet => sheet with { Controls = sheet.Controls with { Levels = 4 } }),
            ClinicRefusal.SheetImpossible },
        { ClinicStory.Lot("A-L1", ClinicStory.A), ClinicRefusal.LotAlreadyReceived },
        { ClinicStory.Lot("X-L1", AssayCode.Of("X")), ClinicRefusal.UnknownAssay },
        { ClinicStory.Request("R01", ClinicStory.A, "A-L1"), ClinicRefusal.DuplicateRequest },
        { ClinicStory.Request("R99", AssayCode.Of("X"), "A-L1"), ClinicRefusal.UnknownAssay },
        { ClinicStory.Request("R99", ClinicStory.A, "A-L1", version: 3), ClinicRefusal.UnknownAssay },
        { ClinicStory.Request("R99", ClinicStory.A, "A-L1", version: 0), ClinicRefusal.UnknownAssay },
        { ClinicStory.Request("R99", ClinicStory.A, "A-L9"), ClinicRefusal.UnknownLot },
        { ClinicStory.Request("R99", ClinicStory.A, "B-L1"), ClinicRefusal.LotOfAnotherAssay },
        { ClinicStory.Request("R99", ClinicStory.A, "A-L1", bench: "bench-9"), ClinicRefusal.UnknownBench },
    };

    private static ClinicEvent DraftOf(Func<Assay, Assay> change) =>
        DraftThat(sheet => sheet with { Assay = change(sheet.Assay) });

    private static ClinicEvent DraftThat(Func<AssaySheet, AssaySheet> change) =>
        new ClinicEvent.AssayDrafted(change(ClinicStory.Sheet(ClinicStory.A, 3)), 4);

    [Theory]
    [MemberData(nameof(Refusals))]
    public void Record_AgainstARule_IsRefusedAndNothingChanges(ClinicEvent @event, ClinicRefusal why)
    {
        var clinic = new MemoryClinic(ClinicStory.Commands);
        var before = clinic.State;
        var decision = clinic.Record([new ClinicEvent.BenchRegistered(BenchId.Of("bench-8"), "Bench 8"), @event],
            StoryProvenance.Of(50));
        Assert.Equal(why, Assert.IsType<ClinicDecision.Refused>(decision).Why);
        Assert.Same(before, clinic.State);
        Assert.Equal(ClinicStory.Commands.Sum(command => command.Events.Length), clinic.Entries.Count);
    }

    [Fact]
    public void Record_BeforeTheClinicIsOpen_IsRefused()
    {
        var clinic = new MemoryClinic();
        Assert.Null(clinic.State.Zone);
        var decision = clinic.Record(new ClinicEvent.BenchRegistered(ClinicStory.Bench, "Bench 1"),
            StoryProvenance.Of(1));
        Assert.Equal(ClinicRefusal.ClinicNotOpen, Assert.IsType<ClinicDecision.Refused>(decision).Why);
    }

    [Theory]
    [InlineData("Middle/Nowhere", "A clinic", ClinicRefusal.UnknownTimeZone)]
    [InlineData("Europe/Berlin", "", ClinicRefusal.NameMissing)]
    public void Record_ClinicThatCannotBe_IsRefused(string zone, string name, ClinicRefusal why)
    {
        var decision = new MemoryClinic().Record(new ClinicEvent.ClinicOpened(name, zone), StoryProvenance.Of(1));
        Assert.Equal(why, Assert.IsType<ClinicDecision.Refused>(decision).Why);
    }

    /// <summary>The lot's last day ends at midnight in the clinic, an hour before midnight in UTC.</summary>
    [Theory]
    [InlineData(22, 59, true)]
    [InlineData(23, 0, false)]
    public void Record_RequestOnTheLotsLastDay_IsRecordedUntilMidnightInTheClinic(int hour, int minute, bool recorded)
    {
        var clinic = new MemoryClinic(ClinicStory.Commands);
        var provenance = StoryProvenance.Of(60) with { Arrived = Instant.FromUtc(2026, 3, 2, hour, minute) };
        var decision = clinic.Record(ClinicStory.Request("R50", ClinicStory.A, "A-L1"), provenance);
        Assert.Equal(recorded, decision is ClinicDecision.Accepted);
        if (!recorded)
            Assert.Equal(new ClinicDecision.Refused(ClinicRefusal.LotExpired, "A-L1"), decision);
    }

    [Fact]
    public void Record_EventRestsOnOneOfItsOwnCommand_IsRecorded()
    {
        var clinic = new MemoryClinic();
        clinic.Record(ClinicStory.Opened, StoryProvenance.Of(1));
        var decision = clinic.Record(
            [
                new ClinicEvent.BenchRegistered(ClinicStory.Bench, "Bench 1"),
                ClinicStory.Drafted(ClinicStory.A, 3, 1), ClinicStory.Drafted(ClinicStory.A, 4, 2),
            ],
            StoryProvenance.Of(2));
        Assert.IsType<ClinicDecision.Accepted>(decision);
        Assert.Equal(4, clinic.State.Revision);
    }

    [Fact]
    public void Record_SameCommandAgain_IsHarmless()
    {
        var clinic = new MemoryClinic(ClinicStory.Commands);
        var before = clinic.State;
        Assert.All(
            ClinicStory.Commands,
            again => Assert.IsType<ClinicDecision.AlreadyRecorded>(clinic.Record(again.Events, again.Provenance)));
        Assert.Same(before, clinic.State);
    }

    [Fact]
    public void Decide_CommandThatWantsNothing_Throws() => Assert.Throws<ArgumentOutOfRangeException>(
        () => LiveClinic.Decide(ClinicState.Empty, [], StoryProvenance.Of(1)));
}
