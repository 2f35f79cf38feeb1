using Incubation.Bench;
using Incubation.Clinic.Reports;
using Incubation.Model;
using NodaTime;
using Xunit;

using static Incubation.Bench.Tests.Scene;

namespace Incubation.Clinic.Tests;

/// <summary>What the wall says of a day.</summary>
public sealed class ClinicDayTest
{
    private static readonly BatchTally Empty = BatchTally.Nothing;

    [Fact]
    public void Of_NoBench_SaysNothing()
    {
        var day = ClinicDay.Of([], [], Start, Start);
        Assert.Equal(new ClinicDay(0, 0, 0, null, null, 0, 0, 0, 0, null, 0, null), day);
    }

    [Fact]
    public void Of_ABatchAtItsEnd_CountsItOnceAndMeasuresFromReady()
    {
        var scene = Reacting();
        var planned = Empty.With(scene.Now).Planned[R("R1")];
        scene.Say(560, new BenchCommand.ReadStarted(R("R1"), new ReaderNumber(1), false));
        scene.Say(610, new BenchCommand.Cleared(R("R1"), new ReaderNumber(1)));
        var tally = BatchTally.Of(null, scene.Entries);

        var day = ClinicDay.Of([tally], [scene.Now], Start, At(700));

        Assert.Equal((1, 1, 1, 1, 0), (day.ClearedLastHour, day.Results, day.ReadInWindow, day.Reads, day.Discarded));
        Assert.Equal((Seconds(610), Seconds(610)), (day.MedianToResult, day.NinetiethToResult));
        Assert.Null(day.Finish);
        // The first plan foresaw it, and is not forgotten when later ones move it.
        Assert.InRange(planned, At(555), At(700));
        Assert.Equal(1, ClinicDay.Of([tally], [scene.Now], Start, planned).PlannedLastHour);
        Assert.Equal(0, ClinicDay.Of([tally], [scene.Now], Start, planned - Seconds(1)).PlannedLastHour);
        Assert.Equal(0, ClinicDay.Of([tally], [scene.Now], Start, planned + Seconds(3600)).PlannedLastHour);
    }

    [Fact]
    public void Of_TheHourAfterTheDayBefore_CountsTheDayFromMidnightAndTheHourNot()
    {
        FinishedCartridge Done(string id, double minutes, double end, RequestKind kind = RequestKind.Patient,
            bool thrown = false) => new(
            R(id), kind, At(60 * (end - minutes)), At(60 * end), thrown, thrown ? null : true);
        var tally =
            new BatchTally([Done("A", 10, -1), Done("B", 20, 5), Done("C", 30, 40),
                Done("D", 90, 41, RequestKind.Control), Done("E", 5, 42, thrown: true)],
            Empty.Planned.Add(R("A"), At(-60)).Add(R("B"), At(0)));

        var day = ClinicDay.Of([tally], [], Start, At(60 * 45));

        Assert.Equal((3, 2, 3, 3, 1), (day.ClearedLastHour, day.Results, day.ReadInWindow, day.Reads, day.Discarded));
        Assert.Equal(2, day.PlannedLastHour);
        // The median of 20 and 30 min, and their 90th percentile by linear interpolation; the control counts for
        // neither.
        Assert.Equal((Duration.FromMinutes(25), Duration.FromMinutes(29)), (day.MedianToResult, day.NinetiethToResult));
    }

    [Fact]
    public void Of_UrgentOnesThatWait_SaysSinceWhenTheLongest()
    {
        // Nothing was promised of what is urgent; of what was, it is late once that time has passed.
        var promised = Request("R2");
        var scene = Running(Request("R1", priority: Priority.Urgent),
            promised with { Request = promised.Request with { Due = At(29) } });
        var day = ClinicDay.Of([Empty.With(scene.Now)], [scene.Now], Start, At(30));
        Assert.Equal((1, (Instant?)Start), (day.UrgentWaiting, day.UrgentSince));
        Assert.Equal(1, day.Late);
        Assert.Equal(0, ClinicDay.Of([Empty.With(scene.Now)], [scene.Now], Start, At(29)).Late);
        Assert.NotNull(day.Finish);
    }
}
