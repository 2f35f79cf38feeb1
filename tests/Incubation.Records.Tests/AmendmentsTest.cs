using Incubation.Bench;
using Incubation.Clinic.TestKit;
using Incubation.Model;
using Incubation.Records.Batches;
using Incubation.Records.Clinic;
using Incubation.TestKit;
using Xunit;

namespace Incubation.Records.Tests;

/// <summary>Results amended after their batches had been closed: the first one is kept.</summary>
public sealed class AmendmentsTest : IDisposable
{
    private readonly TempFolder folder = new();
    private readonly DataFile file;
    private readonly ClinicLog log;

    public AmendmentsTest()
    {
        file = DataFile.Open(folder.DataFile);
        log = ClinicLog.Open(file);
        Assert.Empty(log.Tell(AmendmentStory.Commands));
    }

    [Fact]
    public void Amended_Twice_ShowsTheLastByItsRuleAndKeepsTheFirst()
    {
        var told = log.Amended(Record("R01"));
        Assert.Equal(new ReadResult.Measured("250", "mg/L"), told.Result);
        Assert.Equal(new ReadResult.Measured("1.4", "mg/L"), told.First);
        // The invented assay measures up to 200 mg/L, and above 150 mg/L is critical.
        Assert.Equal(("> 200.0", true), (told.Marked!.Reported, told.Marked.IsCritical));
    }

    /// <summary>A result that was held when its batch was closed goes out by a supervisor's word.</summary>
    [Fact]
    public void Released_AfterTheClose_ItIsHeldNoLonger()
    {
        var held = Record("R01") with { Standing = CartridgeStatus.ResultHeld, Hold = ResultHold.NoIdentity };
        Assert.False(log.Amended(held).Use.IsReported);
        Assert.Empty(log.Tell(AmendmentStory.Released));
        var told = log.Amended(held);
        Assert.Equal((CartridgeStatus.Done, true, "The label was read again."),
            (told.Standing, told.Use.IsReported, told.Released));
        Assert.Same(Untouched, log.Amended(Untouched));
    }

    /// <summary>
    /// ISO 15189:2022, 7.4.1.8 (an amended report states the time of the change, who made it, and the original; from
    /// memory).
    /// </summary>
    [Fact]
    public void Values_AfterTheClose_SayWhenByWhomAndWhoWasTold()
    {
        Assert.Empty(log.Tell(AmendmentStory.Questioned));
        var asked = log.Amended(Whole());
        Assert.Equal((CartridgeStatus.ResultHeld, ResultHold.ImpossibleValue, ValueQuestion.LessThanInside),
            (asked.Standing, asked.Hold, asked.Question));
        Assert.False(asked.Use.IsReported);
        Assert.Equal((TellingCause.Correction, "Dr. Invented"), (asked.Telling!.Cause, asked.Telling.Known!.Whom));
        Assert.Equal(["1.4", "14", "250", "<200"],
            asked.Values!.Values.Select(one => ((ReadResult.Measured)one.Value).Value));
        Assert.Equal(AmendmentReason.Misread, asked.Values.Last.Reason);
        Assert.Equal(log.Amendments.Of(Rows.Bench, RequestId.Of("R01"))[^1].Provenance.At, asked.Values.Last.At);

        Assert.Empty(log.Tell(AmendmentStory.ToldLater));
        var told = log.Amended(Whole());
        Assert.Equal((CartridgeStatus.Done, ResultHold.None, true), (told.Standing, told.Hold, told.Use.IsReported));
        Assert.Null(told.Telling);
        Assert.Equal(("Nurse", true, "The doctor is away."), (told.Values!.Values[3].Told!.Whom,
            told.Values.Values[3].Told!.ReadBack, told.Values.Values[3].Told!.Why));
        Assert.Equal("The specimen was taken again.", told.Values.Last.Waived!.Why);
    }

    /// <summary>What an amendment to a possible value ends is the question, and no other hold.</summary>
    [Fact]
    public void Amended_ToAPossibleValue_OtherHoldsStay()
    {
        var held = Whole() with
        {
            Standing = CartridgeStatus.ResultHeld,
            Hold = ResultHold.ImpossibleValue,
            HoldOtherwise = ResultHold.Deviation,
            Question = ValueQuestion.AboveRange,
        };
        var told = log.Amended(held);
        Assert.Equal((CartridgeStatus.ResultHeld, ResultHold.Deviation, (ValueQuestion?)null),
            (told.Standing, told.Hold, told.Question));
    }

    private static CartridgeRecord Whole() => Record("R01") with
    {
        Values = new ResultHistory([new ResultValue(new ReadResult.Measured("1.4", "mg/L"), Rows.Morning,
            new PersonId("aide"), null, null, null)]),
    };

    [Fact]
    public void Amended_OtherCartridge_IsAsItWas() => Assert.Same(Untouched, log.Amended(Untouched));

    [Fact]
    public void Open_Again_KnowsTheSame() =>
        Assert.Equal(Any.WriteOut(log.Amended(Record("R01"))),
            Any.WriteOut(ClinicLog.Open(file).Amended(Record("R01"))));

    public void Dispose()
    {
        file.Dispose();
        folder.Dispose();
    }

    private static readonly CartridgeRecord Untouched = Record("R02");

    private static CartridgeRecord Record(string request) => new(
        Rows.Bench, 1, RequestId.Of(request), SpecimenId.Of("SP-1"), ClinicStory.A, "Invented assay", 1,
            LotCode.Of("A-L1"), RequestKind.Patient, Priority.Routine,
        Rows.Morning, CartridgeStatus.Done, RecordedStep.None, RecordedStep.None, RecordedStep.None, RecordedStep.None,
            null, null, 1, 1, true,
        [], 0, new ReadResult.Measured("1.4", "mg/L"), RecordedStep.None, RecordedStep.None, null, null);
}
