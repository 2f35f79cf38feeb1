using Incubation.Model;
using Xunit;

namespace Incubation.Bench.Tests;

/// <summary>The one rule of what a result may be used for, row by row.</summary>
public sealed class ResultUseTest
{
    /// <summary>What each hold comes from, in the order of the rule.</summary>
    private static readonly (ResultHold Hold, Func<Cartridge, Cartridge> By)[] Rows =
    [
        (ResultHold.NoResult, one => one with { Result = null }),
        (ResultHold.AmendmentWaits, one => With(one, status => status with
        {
            Proposal = new AmendmentProposal(one.Result ?? new ReadResult.NoValue("E1"),
                new ReadResult.Measured("5", "mg/L"), "Typing", null, Scene.At(700), new PersonId("aide")),
        })),
        (ResultHold.OtherIdentity, one => With(one, status => status with { Identity = ResultIdentity.Different })),
        (ResultHold.NoIdentity, one => With(one, status => status with { Identity = ResultIdentity.Missing })),
        (ResultHold.NotChecked, one => With(one, status => status with { NotChecked = true })),
        (ResultHold.HeldBefore, one => one with { HeldBefore = true }),
        (ResultHold.ImpossibleValue,
            one => With(one, status => status with { Question = ValueQuestion.AboveRange })),
        (ResultHold.Corrected, one => With(one, status => status with { Kept = new KeptHold(null, null) })),
        (ResultHold.Deviation, one => one with { Deviations = [Deviation.LateRead] }),
        (ResultHold.Controls, one => one with { HeldForControls = true }),
    ];

    public static TheoryData<RequestKind> Kinds => [.. Enum.GetValues<RequestKind>()];

    [Fact]
    public void Rows_AreEveryHold() =>
        Assert.Equal(Enum.GetValues<ResultHold>().Where(hold => hold != ResultHold.None), Rows.Select(row => row.Hold));

    [Theory]
    [MemberData(nameof(Kinds))]
    public void Of_EachRowAlone_IsUsedForNothing(RequestKind kind)
    {
        Assert.Equal(new ResultUse(ResultHold.None, kind == RequestKind.Patient, kind == RequestKind.Control),
            Read(kind).Use);
        foreach (var (hold, by) in Rows)
            Assert.Equal(new ResultUse(hold, false, false), by(Read(kind)).Use);
    }

    [Fact]
    public void Of_SeveralRows_NamesTheFirst()
    {
        for (var first = 0; first < Rows.Length; first++)
            Assert.Equal(Rows[first].Hold,
                Rows[first..].Reverse().Aggregate(Read(RequestKind.Patient), (one, row) => row.By(one)).Use.Hold);
    }

    /// <summary>
    /// A supervisor's word lets out whatever waits, but nothing that is not there, and not one of two values of which
    /// nobody knows yet which is right.
    /// </summary>
    [Theory]
    [MemberData(nameof(Kinds))]
    public void Of_WhatWasReleased_IsUsed(RequestKind kind)
    {
        foreach (var (hold, by) in Rows)
            Assert.Equal(hold is ResultHold.NoResult or ResultHold.AmendmentWaits ? hold : ResultHold.None,
                With(by(Read(kind)), status => status with { Released = "The label was read again." }).Use.Hold);
    }

    [Fact]
    public void Of_ACartridgeThatWasThrownAway_IsNone() => Assert.Equal(ResultHold.NoResult,
        (Read(RequestKind.Patient) with
        {
            Stage = new CartridgeStage.Discarded(Scene.At(700), DiscardReason.Dropped, null),
        }).Use.Hold);

    private static Cartridge With(Cartridge one, Func<ResultStatus, ResultStatus> change) =>
        one with { Status = change(one.Status!) };

    private static Cartridge Read(RequestKind kind)
    {
        var read = ReadResults.Of("4.2").Find("R1");
        return read with { Wanted = read.Wanted with { Request = read.Wanted.Request with { Kind = kind } } };
    }
}
