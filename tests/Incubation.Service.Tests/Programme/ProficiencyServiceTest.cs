using Incubation.Bench;
using Incubation.Clinic.Programme;
using Incubation.Model;
using Incubation.Service.Decisions;
using Incubation.Service.Programme;
using Incubation.Service.Requests;
using Incubation.Service.Tests.Support;
using Incubation.Service.Text;
using static Incubation.Service.Tests.Support.ControlsHouse;

namespace Incubation.Service.Tests.Programme;

/// <summary>A round of proficiency testing, end to end without a screen.</summary>
public sealed class ProficiencyServiceTest : IAsyncLifetime
{
    private ProgrammeHouse? programme;

    private ProgrammeHouse Programme => programme!;

    private ControlsHouse House => Programme.House;

    private ProficiencyService Desk => Programme.Proficiency;

    public async ValueTask InitializeAsync() => programme = await ProgrammeHouse.OpenAsync();

    public async ValueTask DisposeAsync()
    {
        if (programme is not null)
            await programme.DisposeAsync();
    }

    [Fact]
    public async Task ARound_IsRunReportedAndGraded_AndNeverReportedAsAPatients()
    {
        var number = Received("PT-1, PT-2");
        Assert.Equal((DecisionKind.ProficiencyDue, "Invented programme, 2026-A, due 2026-03-09 · run and report"),
            (Assert.Single(Programme.Decisions()).Kind, Programme.Decisions()[0].What));
        Assert.Equal(Words.NotAllowed, (await Desk.AddAsync(Lena, number, "bench-1")).Fault);
        Assert.True((await Desk.AddAsync(Ines, number, "bench-1")).IsDone);
        Assert.Equal(ProgrammeWords.RoundAllAdded, (await Desk.AddAsync(Ines, number, "bench-1")).Fault);
        Assert.All(House.State.Cartridges, one => Assert.Equal(RequestKind.Proficiency, one.Wanted.Request.Kind));

        await House.Must(new BenchCommand.StartBatch());
        var first = House.State.Cartridges[0];
        await House.RunThrough(first);
        await House.Must(new BenchCommand.ResultEntered(first.Id, new ShownResult.Value("4.2")));
        Assert.False(House.State.Find(first.Id)!.Use.IsReported);
        Assert.Equal(Say.Of(ProgrammeWords.RoundResultMissing, "PT-2", "DA"),
            Desk.Report(Ines, number, "portal").Fault);

        var second = House.State.Cartridges[1];
        await House.RunThrough(second);
        await House.Must(new BenchCommand.ResultEntered(second.Id, new ShownResult.Value("8"), ShownIdentity.None));
        Assert.Equal(Say.Of(ProgrammeWords.RoundResultHeld, "PT-2", "DA"), Desk.Report(Ines, number, "portal").Fault);
        await House.Must(new BenchCommand.ReleaseResult(second.Id, "The label was read again."));
        Assert.Equal(ProgrammeWords.RoundHowFault, Desk.Report(Ines, number, " ").Fault);
        Assert.True(Desk.Report(Ines, number, "On its portal.").IsDone);
        Assert.Equal(["4.2", "8"], Desk.Lines(Desk.Find(number)!).Select(line => line.Reported));

        Assert.Equal(DecisionKind.ProficiencyToGrade, Assert.Single(Programme.Decisions()).Kind);
        var items = Desk.Find(number)!.Items;
        Assert.Equal(["Target", "Note"], Desk.Grade(Ines, number, items[0], new GradeForm
        {
            Grade = nameof(ProficiencyGrade.Unsatisfactory),
            Target = "four",
        }).Select(fault => fault.Member));
        Assert.Empty(Desk.Grade(Ines, number, items[0], new GradeForm { Target = "4,3" }));
        Assert.Empty(Desk.Grade(Ines, number, items[1], new GradeForm { Grade = nameof(ProficiencyGrade.Ungraded) }));
        Assert.Empty(Programme.Decisions());
        var file = Desk.File().ToList();
        Assert.Equal(3, file.Count);
        Assert.Contains("\"PT-1\",\"DA\",\"bench-1\",\"R01\",\"4.2\",\"4.2\",\"ines\"", file[1],
            StringComparison.Ordinal);
        Assert.Contains("\"satisfactory\",4.3,", file[1], StringComparison.Ordinal);
    }

    [Fact]
    public async Task ItsSpecimen_IsNotTakenAsAPatients_NorAPatientsAsItsOwn()
    {
        var number = Received("PT-1");
        async Task<string> Refused(string specimen, string? kind) => Assert.Single((await House.Intake.AddAsync(
            "bench-1", [new WantedRequest(specimen, "DA", null, Kind: kind)], null, new PersonId("lena"),
            new DeviceId("tablet"))).Faults).Sentence;
        Assert.Equal(Say.Of(RequestsWords.IntakeIsProficiency, "PT-1"), await Refused("PT-1", null));
        Assert.Equal(Say.Of(RequestsWords.IntakeNoRound, "SP-1"), await Refused("SP-1", Intake.ProficiencyKind));
        Assert.True(Desk.Cancel(Ines, number, "The vials came broken.").IsDone);
        await House.AddPatient("PT-1");
        Assert.Empty(Programme.Decisions());
    }

    /// <summary>The gate of its lot holds it back as it holds a patient's.</summary>
    [Fact]
    public async Task OfAControlledLot_ItWaitsLikeAPatients()
    {
        await using var controlled = new ProgrammeHouse(await ControlsHouse.OpenAsync());
        var (number, faults) = controlled.Proficiency.Receive(Ines, Form("PT-1"));
        Assert.Empty(faults);
        Assert.True((await controlled.Proficiency.AddAsync(Ines, number!.Value, "bench-1")).IsDone);
        Assert.Equal(LotGate.AwaitingControls, controlled.House.Gate);
        Assert.Equal(NotPlannedCause.ControlsAwaited, LiveBench.View(controlled.House.State,
            controlled.House.Clock.Now).NotPlanned.Single().Cause);
        Assert.True(controlled.House.Desk.DueOn(controlled.House.State).Single().IsWanted);
    }

    [Fact]
    public void WhatIsMissing_IsSaidBesideItsField() => Assert.Equal(
        ["Programme", "Name", "Specimens", "Assays", "Due"],
        Desk.Receive(Ines, new RoundForm { Specimens = " , " }).Faults.Select(fault => fault.Member));

    private int Received(string specimens)
    {
        var (number, faults) = Desk.Receive(Ines, Form(specimens));
        Assert.Empty(faults);
        return number!.Value;
    }

    private static RoundForm Form(string specimens)
    {
        var form = new RoundForm
        {
            Programme = "Invented programme",
            Name = "2026-A",
            Specimens = specimens,
            Due = "2026-03-09",
        };
        form.Assays.Add("DA");
        return form;
    }
}
