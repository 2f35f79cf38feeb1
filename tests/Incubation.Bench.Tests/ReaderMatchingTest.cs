using Incubation.Model;
using NodaTime;
using Xunit;
using static Incubation.Bench.Tests.Scene;

namespace Incubation.Bench.Tests;

/// <summary>
/// The table of what becomes of a result by wire: R1 of assay A1 was read at 580 s and is in reader 1, or was cleared
/// at 640 s; R2 of the same assay waits.
/// </summary>
public sealed class ReaderMatchingTest
{
    private static readonly ReaderTest[] Tests =
        [new("DEMO-A", new AssayCode("A1"), "mg/l"), new("DEMO-B", new AssayCode("B1"), "")];

    private static readonly WiredResult Good = new("SP-R1", "DEMO-A", new ShownResult.Value("4.20"), "mg/l");

    /// <summary>A result, and what becomes of it while R1 is in the reader, and after it was cleared.</summary>
    public static TheoryData<string, WiredResult, string, string> Table => new()
    {
        { "its specimen and test", Good, "enters 4.20 Matches", "enters 4.20 Matches" },
        { "case and spaces", Good with { Specimen = " sp-r1", Test = "demo-a " }, "enters 4.20 Matches",
            "enters 4.20 Matches" },
        { "comparator", Good with { Shown = new ShownResult.Value(">10") }, "enters >10 Matches",
            "enters >10 Matches" },
        { "no value", Good with { Shown = new ShownResult.NoValue("E-17"), Unit = "" }, "enters E-17 Matches",
            "enters E-17 Matches" },
        { "no specimen", Good with { Specimen = null }, "enters 4.20 Missing", "asks NoSpecimen" },
        { "empty specimen", Good with { Specimen = " " }, "enters 4.20 Missing", "asks NoSpecimen" },
        { "no specimen, other test", Good with { Specimen = null, Test = "DEMO-B" }, "asks OtherAssay of R1",
            "asks NoSpecimen" },
        { "other specimen", Good with { Specimen = "SP-R9" }, "asks OtherSpecimen", "asks OtherSpecimen" },
        { "one that waits", Good with { Specimen = "SP-R2" }, "asks OtherSpecimen of R2", "asks OtherSpecimen of R2" },
        { "other test", Good with { Test = "DEMO-B", Unit = "" }, "asks OtherAssay", "asks OtherAssay" },
        { "unknown test", Good with { Test = "DEMO-C" }, "does not know DEMO-C", "does not know DEMO-C" },
        { "other unit", Good with { Unit = "mg/dl" }, "asks OtherUnit of R1", "asks OtherUnit of R1" },
        { "no unit", Good with { Unit = "" }, "asks OtherUnit of R1", "asks OtherUnit of R1" },
        { "unreadable value", Good with { Shown = null }, "asks NotUnderstood of R1", "asks NotUnderstood of R1" },
        { "control's", Good with { IsControl = true }, "asks OtherKind of R1", "asks OtherKind of R1" },
        { "objection", Good with { Objection = MatchQuestion.NotMeant }, "asks NotMeant of R1",
            "asks NotMeant of R1" },
        { "at its time", Good with { ReadAt = Seconds(620, 620) }, "enters 4.20 Matches", "enters 4.20 Matches" },
        { "a minute off", Good with { ReadAt = Seconds(520, 520) }, "enters 4.20 Matches", "enters 4.20 Matches" },
        { "before it", Good with { ReadAt = Seconds(400, 500) }, "asks OtherTime of R1", "asks OtherTime of R1" },
        { "after it", Good with { ReadAt = Seconds(720, 730) }, "asks OtherTime of R1", "asks OtherTime of R1" },
        { "perhaps its time", Good with { ReadAt = Seconds(0, 600) }, "enters 4.20 Matches", "enters 4.20 Matches" },
    };

    [Theory]
    [MemberData(nameof(Table))]
    public void Of_AResult_IsWhatTheTableSays(string what, WiredResult result, string inside, string cleared)
    {
        Assert.NotEmpty(what);
        Assert.Equal(inside, Said(ReadIn().Now, result));
        Assert.Equal(cleared, Said(Cleared(ReadIn()).Now, result));
    }

    [Fact]
    public void Of_AResult_ByAnotherReader_IsNoOnes() =>
        Assert.Equal("asks OtherSpecimen of R1", Said(ReadIn().Now, Good, reader: 2));

    [Fact]
    public void Of_ACartridgeNotYetInTheReader_Asks() =>
        Assert.Equal("asks OtherSpecimen of R1", Said(Reacting().Now, Good));

    /// <summary>
    /// The same again changes nothing, also where it would be asked about; other digits ask, another value waits as an
    /// amendment.
    /// </summary>
    [Theory]
    [InlineData("4.20", "is there: R1")]
    [InlineData("4.2", "asks OtherValue of R1")]
    [InlineData("5", "proposes 5: The reader sent another value.")]
    public void Of_ACartridgeWithAResult_IsTheSameOrAsked(string value, string said)
    {
        var scene = Cleared(ReadIn());
        Enter(scene, Good);
        Assert.Equal(said, Said(scene.Now, Good with { Shown = new ShownResult.Value(value) }));
        Assert.Equal("asks OtherUnit of R1",
            Said(scene.Now, Good with { Shown = new ShownResult.Value(value), Unit = "mg/dl" }));
        Assert.Equal(value == "4.20" ? said : "asks NotMeant of R1", Said(scene.Now, Good with
        {
            Shown = new ShownResult.Value(value),
            Objection = MatchQuestion.NotMeant,
        }));
    }

    /// <summary>
    /// Whatever else the reader says of a read whose value stands is a supervisor's to settle, and holds the value
    /// until then; a doubt about that very value is asked.
    /// </summary>
    [Theory]
    [InlineData(MatchQuestion.Correction, "5", "proposes 5: The reader corrected its value.")]
    [InlineData(MatchQuestion.NotFinal, "5", "proposes 5: The reader sent another value, and doubts it.")]
    [InlineData(MatchQuestion.ReaderRemarks, "4.20", "asks ReaderRemarks of R1")]
    [InlineData(MatchQuestion.NotFinal, "4.20", "asks NotFinal of R1")]
    [InlineData(MatchQuestion.Correction, "4.20", "is there: R1")]
    [InlineData(null, "!X", "proposes X: The reader sent another value.")]
    [InlineData(MatchQuestion.NotMeant, "5", "asks NotMeant of R1")]
    [InlineData(MatchQuestion.SeveralValues, "5", "asks SeveralValues of R1")]
    public void Of_WhatContradictsAResult_WaitsAsAnAmendmentAndHoldsIt(MatchQuestion? objection, string value,
        string said)
    {
        var scene = Cleared(ReadIn());
        Enter(scene, Good);
        Assert.True(scene.Find("R1").Use.IsReported);
        var sent = Good with
        {
            Shown = value[0] == '!' ? new ShownResult.NoValue(value[1..]) : new ShownResult.Value(value),
            Objection = objection,
        };
        Assert.Equal(said, Said(scene.Now, sent));
        if (ReaderMatching.Of(scene.Now, Reader1, Tests, sent) is not ResultMatch.Propose { Report: var report })
            return;
        Assert.IsType<Decision.Accepted>(scene.Say(670, report));
        Assert.Equal(ResultHold.AmendmentWaits, scene.Find("R1").Use.Hold);
        Assert.Equal("waits there: R1", Said(scene.Now, sent));
        Assert.Equal("asks OtherValue of R1", Said(scene.Now, Good with { Shown = new ShownResult.Value("6") }));
    }

    /// <summary>A result without a specimen is entered and held; by its specimen it is held by nothing.</summary>
    [Theory]
    [InlineData("SP-R1", false)]
    [InlineData(null, true)]
    public void Enter_WithOrWithoutASpecimen_IsHeldWhereThereIsNone(string? specimen, bool held)
    {
        var scene = ReadIn();
        Enter(scene, Good with { Specimen = specimen });
        Cleared(scene);
        Assert.Equal(held, scene.Find("R1").IsHeld);
        Assert.Equal(new ReadResult.Measured("4.20", "mg/L"), scene.Find("R1").Result);
    }

    [Fact]
    public void Of_TwoCartridgesOfOneSpecimenAndAssay_AlwaysAsks()
    {
        var scene = ReadIn();
        var repeat = Request("R3");
        scene.Say(600, new BenchCommand.AddRequests([repeat with
        {
            Request = repeat.Request with { Specimen = new SpecimenId("SP-R1") },
        }]));
        Assert.Equal("asks SeveralCartridges", Said(scene.Now, Good));
        scene.Say(610, new BenchCommand.WithdrawRequest(R("R3")));
        Assert.Equal("enters 4.20 Matches", Said(scene.Now, Good));
    }

    [Fact]
    public void Of_ADiscardedCartridge_Asks()
    {
        var scene = ReadIn();
        scene.Say(620, new BenchCommand.Discarded(R("R1"), DiscardReason.ReaderFault, null));
        Assert.Equal("asks Discarded of R1", Said(scene.Now, Good));
    }

    [Fact]
    public void Of_AControl_IsEnteredWhetherTheReaderSaysSoOrNot()
    {
        var scene = ReadIn(RequestKind.Control);
        Assert.Equal("enters 4.20 Matches", Said(scene.Now, Good));
        Assert.Equal("enters 4.20 Matches", Said(scene.Now, Good with { IsControl = true }));
    }

    [Theory]
    [InlineData(new int[0], null)]
    [InlineData(new[] { 5, 5 }, null)]
    [InlineData(new[] { 5, 40, 65 }, 40)]
    [InlineData(new[] { 5, 40, 66 }, null)]
    [InlineData(new[] { 3600, 5, 40, 65 }, 40)]
    [InlineData(new[] { -3600, -3610, -3590 }, -3600)]
    [InlineData(new[] { 5, 5, 5, 3600 }, null)]
    public void AheadBy_LastDifferences_IsKnownWhereTheyAgree(int[] seconds, int? ahead) =>
        Assert.Equal(ahead is { } known ? Duration.FromSeconds(known) : (Duration?)null,
            ReaderClock.AheadBy([.. seconds.Select(second => Duration.FromSeconds(second))]));

    [Fact]
    public void Right_AReadersTime_IsTheBenchsWhereItsClockIsKnown()
    {
        Assert.Equal(Seconds(0, 10), ReaderClock.Right(Seconds(100, 110), Duration.FromSeconds(100)));
        Assert.Null(ReaderClock.Right(Seconds(100, 110), null));
        Assert.Null(ReaderClock.Right(null, Duration.Zero));
    }

    /// <summary>Its read began at 580 s; that it lay in the reader for long says nothing of it.</summary>
    [Theory]
    [InlineData(670, "enters 4.20 Matches")]
    [InlineData(720, "asks OtherTime of R1")]
    [InlineData(1500, "asks OtherTime of R1")]
    public void Of_ACartridgeThatLayInTheReader_IsHeldAgainstItsRead(int at, string said)
    {
        var scene = ReadIn();
        scene.Say(2000, new BenchCommand.Cleared(R("R1"), Reader1));
        Assert.Equal(said, Said(scene.Now, Good with { ReadAt = Seconds(at, at) }));
    }

    private static InstantRange Seconds(double earliest, double latest) => new(At(earliest), At(latest));

    private static Scene ReadIn(RequestKind kind = RequestKind.Patient)
    {
        var scene = Open(readers: 2);
        var one = Request("R1");
        scene.Say(0, new BenchCommand.AddRequests(
            [one with { Request = one.Request with { Kind = kind } }, Request("R2")]));
        scene.Say(0, new BenchCommand.StartBatch());
        scene.Say(50, new BenchCommand.Mixed(R("R1")));
        scene.Say(75, new BenchCommand.Loaded(R("R1"), Slot(1), false));
        scene.Say(100, new BenchCommand.CardChanged(Reader1, new LotCode("L1")));
        scene.Say(580, new BenchCommand.ReadStarted(R("R1"), Reader1, false));
        return scene;
    }

    private static Scene Cleared(Scene scene)
    {
        scene.Say(640, new BenchCommand.Cleared(R("R1"), Reader1));
        return scene;
    }

    private static void Enter(Scene scene, WiredResult result) => Assert.IsType<Decision.Accepted>(scene.Say(660,
        Assert.IsType<ResultMatch.Enter>(ReaderMatching.Of(scene.Now, Reader1, Tests, result)).Report));

    private static string Said(BenchState state, WiredResult result, int reader = 1) =>
        ReaderMatching.Of(state, new ReaderNumber(reader), Tests, result) switch
        {
            ResultMatch.Enter { Report: var report } =>
                $"enters {Words(report.Result)} {(report.Identity!.Specimen is null ? "Missing" : "Matches")}",
            ResultMatch.Same same => $"{(same.Waits ? "waits" : "is")} there: {same.Request}",
            ResultMatch.Propose { Report: var report } => $"proposes {Words(report.Result)}: {report.Why}",
            ResultMatch.Ask ask => $"asks {ask.Why}" + (ask.Request is { } of ? $" of {of}" : ""),
            ResultMatch.UnknownTest unknown => $"does not know {unknown.Test}",
            _ => throw new InvalidOperationException(),
        };

    private static string Words(ShownResult shown) => shown switch
    {
        ShownResult.Value value => value.Text,
        ShownResult.NoValue none => none.Code,
        _ => throw new InvalidOperationException(),
    };
}
