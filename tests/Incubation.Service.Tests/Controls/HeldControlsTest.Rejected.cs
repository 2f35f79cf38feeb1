using Incubation.Bench;
using Incubation.Clinic;
using Incubation.Model;
using Incubation.Model.Controls;
using Incubation.Records.Export;
using Incubation.Service.Decisions;
using NodaTime;
using static Incubation.Service.Tests.Support.ControlsHouse;

namespace Incubation.Service.Tests.Controls;

/// <content>Rejected controls.</content>
public sealed partial class HeldControlsTest
{
    /// <summary>A rejection stands, and its lot is shut, until another value of its control is judged.</summary>
    [Theory]
    [InlineData("proposed")]
    [InlineData("entered anew")]
    [InlineData("thrown away")]
    [InlineData("read never was")]
    [InlineData("taken out later")]
    public async Task ARejectedControl_StaysRejectedWhateverAnAideSays(string what)
    {
        await House.RunControl(1, "400");
        await House.RunControl(2, "250");
        Assert.Equal(LotGate.Failed, House.Gate);

        if (what == "entered anew")
            Assert.True((await House.Runner.SendAsync(new BenchCommand.ResultEntered(Control(1),
                new ShownResult.Value("201")), House.Provenance() with { Identity = Identity.NotChecked })).Recorded);
        else
            await House.Must(what switch
            {
                "proposed" => new BenchCommand.ProposeAmendment(Control(1), new ShownResult.Value("201"), "Typed."),
                "thrown away" => new BenchCommand.Discarded(Control(1), DiscardReason.Dropped, null),
                "taken out later" => new BenchCommand.CorrectReport(Of<BenchEvent.Cleared>(), House.Clock.Now, null,
                    null, "A slip."),
                _ => new BenchCommand.CorrectReport(Of<BenchEvent.ReadStarted>(), null, null, null, "Another one.",
                    true),
            });
        await House.Gates.SettleAsync();
        Assert.Equal((LotGate.Failed, ControlVerdict.Rejected, "400"),
            (House.Gate, House.Clinic.Log.Controls.LatestOf(Control(1))!.Verdict,
                House.Clinic.Log.Controls.LatestOf(Control(1))!.Shown));
        Assert.Contains(Decisions().For(Ines), line => line.Kind == DecisionKind.RejectedControl);
        if (what != "proposed")
            return;
        Assert.True((await House.Runner.SendAsync(new BenchCommand.ConfirmAmendment(Control(1), "Compared."),
            House.Provenance() with { Person = new PersonId("second") })).Recorded);
        await House.Gates.SettleAsync();
        Assert.Equal((LotGate.Open, ControlVerdict.Accepted),
            (House.Gate, House.Clinic.Log.Controls.LatestOf(Control(1))!.Verdict));

        ReportId Of<TEvent>() =>
            House.State.Story.Find(told => told.Subject == Control(1) && told.Event is TEvent)!.Id;
    }

    /// <summary>
    /// A result that was out, and whose cartridge was thrown away since, is among those to be looked at when its lot's
    /// control proves wrong.
    /// </summary>
    [Fact]
    public async Task ResultsThatWereOut_AreReviewedThoughTheirCartridgeWasThrownAway()
    {
        var patient = await RunPatient("4.2");
        await House.Must(new BenchCommand.Discarded(patient, DiscardReason.Dropped, null));
        await House.Must(new BenchCommand.AmendResult(Control(1), new ShownResult.Value("400"), "Read again."));
        await House.Gates.SettleAsync();
        var (bench, span) = Assert.Single(History.AwaitingReview);
        Assert.Equal([patient], Book().WentOut(Kit, bench, span)
            .Select(one => one.Request));
        Assert.Equal(["\"yes\""], InReview());

        House.Clinic.Log.Record(new ClinicEvent.ReleasedReviewed(Kit, [new ReleasedResult(bench, patient)],
            "None was affected."), House.Provenance());
        Assert.Equal([""], InReview());

        // The list of the page of controls, as the export gives it.
        IEnumerable<string> InReview() => RecordExport.Lines(House.File, Book(), House.Clinic.Log.Controls,
            ExportForm.Csv, DateTimeZone.Utc)
            .Where(line => line.Contains($"\"{patient.Value}\"", StringComparison.Ordinal))
            .Select(line => line.TrimEnd()[(line.TrimEnd().LastIndexOf(',') + 1)..]);
    }
}
