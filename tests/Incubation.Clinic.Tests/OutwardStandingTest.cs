using Incubation.Bench;
using Incubation.Clinic.Connections;
using Incubation.Model;
using Xunit;

namespace Incubation.Clinic.Tests;

/// <summary>What the world outside is told when what it may know has changed.</summary>
public sealed class OutwardStandingTest
{
    private static readonly OutwardStanding None = OutwardStanding.None;
    private static readonly OutwardStanding Cancelled = new(null, false, true);

    public static TheoryData<OutwardStanding, OutwardStanding, NoticeKind?> Changes => new()
    {
        { None, None, null },
        { None, Out("4.2"), NoticeKind.Ready },
        { None, Out("4.2", isAmended: true), NoticeKind.Amended },
        { Out("4.2"), Out("4.2"), null },
        { Out("4.2"), Out("4.2", isAmended: true), null },
        { Out("4.2"), Out("4.3", isAmended: true), NoticeKind.Amended },
        // Entered anew, without a word of an amendment: whoever has the first is told all the same.
        { Out("4.2"), Out("4.3"), NoticeKind.Amended },
        { Out("4.2"), None, NoticeKind.Withheld },
        { Out("4.2"), Cancelled, NoticeKind.Cancelled },
        { None, Cancelled, NoticeKind.Cancelled },
        { Cancelled, None, NoticeKind.Reopened },
        { Cancelled, Out("4.2"), NoticeKind.Ready },
    };

    [Theory]
    [MemberData(nameof(Changes))]
    public void NewsOf_AChange_IsToldAsWhatItIs(OutwardStanding before, OutwardStanding after, NoticeKind? news) =>
        Assert.Equal(news, OutwardStanding.NewsOf(before, after));

    /// <summary>Of a closed batch's result: the one rule of use says whether it is out.</summary>
    [Theory]
    [InlineData(RequestKind.Patient, ResultHold.None, true)]
    [InlineData(RequestKind.Patient, ResultHold.Controls, false)]
    [InlineData(RequestKind.Patient, ResultHold.AmendmentWaits, false)]
    [InlineData(RequestKind.Control, ResultHold.None, false)]
    [InlineData(RequestKind.Proficiency, ResultHold.None, false)]
    public void Of_AResult_IsOutOnlyWhereItIsReported(RequestKind kind, ResultHold hold, bool isOut) =>
        Assert.Equal(isOut, OutwardStanding.Of(kind, hold, new ReadResult.Measured("4.2", "mg/L"), false).Result
            is not null);

    private static OutwardStanding Out(string value, bool isAmended = false) =>
        new(new ReadResult.Measured(value, "mg/L"), isAmended, false);
}
