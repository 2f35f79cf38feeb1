using Incubation.Bench;
using Incubation.Clinic;
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

    /// <summary>
    /// While an amendment waits the old value is used for nothing; then the record has both people and both times.
    /// </summary>
    [Fact]
    public void SecondLooks_AfterTheClose_HoldTheResultAndKeepBothPeople()
    {
        var stories = AmendmentStory.SecondLooks;
        Assert.Empty(log.Tell([.. stories.Take(2)]));
        var waits = log.Amended(Whole());
        Assert.Equal((CartridgeStatus.ResultHeld, ResultHold.AmendmentWaits, false),
            (waits.Standing, waits.Hold, waits.Use.IsReported));
        Assert.Equal(new ReadResult.Measured("250", "mg/L"), waits.Result);
        Assert.Equal((new ReadResult.Measured("25", "mg/L"), new PersonId("aide")),
            (waits.Proposal!.After, waits.Proposal.By));

        Assert.Empty(log.Tell([stories[2]]));
        var declined = log.Amended(Whole());
        Assert.Equal((CartridgeStatus.Done, ResultHold.None, null),
            (declined.Standing, declined.Hold, declined.Proposal));
        Assert.Equal("second", Assert.Single(declined.Declined).Look.By.Value);

        Assert.Empty(log.Tell([stories[3], stories[4]]));
        var confirmed = log.Amended(Whole());
        Assert.Equal((new ReadResult.Measured("20", "mg/L"), ResultHold.None), (confirmed.Result, confirmed.Hold));
        var last = confirmed.Values!.Last;
        Assert.Equal(("aide", "second", true), (last.By.Value, last.Second!.By.Value, last.Second.At > last.At));
        Assert.Equal(last.Second, confirmed.Amendments[^1].Second);
    }

    /// <summary>Entered on the bench, its batch was closed, and decided afterwards.</summary>
    [Theory]
    [InlineData(true)]
    [InlineData(false)]
    public void SecondLooks_OfWhatWasEnteredBeforeTheClose_EndTheHold(bool confirmed)
    {
        var decided = AmendmentStory.Looked(330, "250", "20", "Read again.", 320, confirmed);
        var proposal = ((ClinicEvent.ClosedAmendmentDecided)decided.Events[0]).Proposal;
        var closed = Record("R02") with
        {
            Standing = CartridgeStatus.ResultHeld,
            Hold = ResultHold.AmendmentWaits,
            HoldUnamended = ResultHold.None,
            Result = proposal.Before,
            Proposal = proposal,
        };
        Assert.Equal(ResultHold.AmendmentWaits, log.Amended(closed).Hold);
        var events = decided.Events.Select(one => one switch
        {
            ClinicEvent.ClosedAmendmentDecided of => of with { Request = new RequestId("R02") },
            ClinicEvent.ClosedResultAmended of => of with { Request = new RequestId("R02") },
            _ => one,
        }).ToList();
        Assert.IsType<ClinicOutcome.Recorded>(log.Record(events, decided.Provenance));
        var told = log.Amended(closed);
        Assert.Equal((CartridgeStatus.Done, ResultHold.None, null, confirmed ? proposal.After : proposal.Before),
            (told.Standing, told.Hold, told.Proposal, told.Result));
        Assert.Equal(confirmed ? 0 : 1, told.Declined.Length);
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
