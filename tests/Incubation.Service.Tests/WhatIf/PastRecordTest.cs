using Incubation.Model;
using Incubation.Records.Batches;
using Incubation.Records.Reports;
using Incubation.Service.WhatIf;
using NodaTime;

namespace Incubation.Service.Tests.WhatIf;

/// <summary>What a period's record says, to stand beside played days.</summary>
public sealed class PastRecordTest
{
    private static readonly Instant Nine = Instant.FromUtc(2026, 11, 2, 9, 0);
    private static readonly Duration Second = Duration.FromSeconds(1);
    private static readonly Assay Sheet = new(
        new AssayCode("DA"), "Demo A", IncubationPlace.Incubator, Second * 50, Second * 120, Second * 25, Second * 480,
            Second * 90, Second * 15, Second * 40, Second * 10, Second * 35, Second * 15);

    [Fact]
    public void Of_OneMissedOneDiscardedOneInterrupted_CountsEachAsPlayedDaysDo()
    {
        CartridgeTimes[] all =
        [
            .. Enumerable.Range(0, 7).Select(_ => Took(Second * 50)), Took(Second * 350),
            Took(Second * 50) with { InWindow = false },
            Took(Second * 50) with { Standing = CartridgeStatus.Discarded },
            Took(Second * 50) with { Mix = default, Load = default, Clear = default },
        ];

        var past = PastRecord.Of(all, new LocalDate(2026, 11, 1), new LocalDate(2026, 11, 30), _ => Sheet);

        Assert.Equal((10, 2, 200.0), (past.Used, past.Missed, past.MissedPerThousand));
        Assert.Equal((8, 20.0), (past.Times!.Count, past.Times.Median));
        // Ten mixes; one took 300 s more than the 50 s that its sheet allows.
        Assert.Equal(0.1, past.Interruptions!.Share, 9);
        Assert.Equal([Second * 300], past.Interruptions.Lengths);
    }

    [Fact]
    public void Interruptions_Drawn_ComeAsOftenAndAsLongAsOnRecord()
    {
        var past = PastRecord.Of([.. Enumerable.Range(0, 9).Select(_ => Took(Second * 50)), Took(Second * 350)],
            new LocalDate(2026, 11, 1), new LocalDate(2026, 11, 30), _ => Sheet);
        var random = new Random(7);
        var drawn = Enumerable.Range(0, 4000).Select(_ => past.Interruptions!.Draw(Second * 50, random)).ToList();
        // Four standard errors of 4,000 draws at 0.1.
        Assert.InRange(drawn.Count(length => length > Second * 300) / 4000.0, 0.081, 0.119);
    }

    private static CartridgeTimes Took(Duration mix) => new()
    {
        Bench = BenchId.Of("bench-1"),
        Batch = 1,
        Request = RequestId.Of("R1"),
        Asked = Nine,
        Assay = Sheet.Code,
        AssayVersion = 1,
        Lot = LotCode.Of("L"),
        Kind = RequestKind.Patient,
        Priority = Priority.Routine,
        Standing = CartridgeStatus.Done,
        Mix = new StepSpan(null, Nine, Nine + mix),
        Clear = new StepSpan(null, null, Nine + Duration.FromMinutes(20)),
        InWindow = true,
    };
}
