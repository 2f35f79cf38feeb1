using Incubation.Bench;
using Incubation.Model;

namespace Incubation.Clinic.TestKit;

/// <summary>Reports of an invented clinic that came after their batch had been closed.</summary>
public static class LateReportStory
{
    /// <summary>The story of amendments, and then this one.</summary>
    public static IReadOnlyList<StoryCommand> Commands { get; } =
    [
        .. AmendmentStory.Commands,
        .. StoryCommand.Numbered(
            [
                [Late("R01", """{"kind":"cleared","reader":1}""")],
                [Late("R02", """{"kind":"result","value":"1.9"}""") with
                    { Checked = false, Claimed = "1970-01-01T00:00:00Z", Sender = new PersonId("tomas") }],
                [Settled("R01", "report-210", LateReportDecision.Noted, "The tablet was away.")],
                [new ClinicEvent.ClosedResultAmended(ClinicStory.Bench, 1, RequestId.Of("R02"),
                    new ReadResult.Measured("1.8", "mg/L"), new ReadResult.Measured("1.9", "mg/L"), "Typed late.",
                    null), Settled("R02", "report-211", LateReportDecision.Amended, "Typed late.")],
                [Late("R03", """{"kind":"mixed"}""")],
            ],
            210),
    ];

    public static ClinicEvent.ReportedAfterClose Late(string request, string said) =>
        new(ClinicStory.Bench, 1, RequestId.Of(request), said, true, null, null);

    public static ClinicEvent.LateReportSettled Settled(string request, string report, LateReportDecision decision,
        string why) => new(ClinicStory.Bench, RequestId.Of(request), new ReportId(report), decision, why);
}
