using Incubation.Bench;
using Incubation.Service.Programme;
using Incubation.Service.Tests.Support;
using static Incubation.Service.Tests.Support.ControlsHouse;

namespace Incubation.Service.Tests.Programme;

/// <summary>Moving means of patients' results: of what may be reported alone, as it stands.</summary>
public sealed class MovingMeanServiceTest : IAsyncLifetime
{
    private ProgrammeHouse? programme;

    private ProgrammeHouse Programme => programme!;

    private MovingMeanService Desk => Programme.Means;

    public async ValueTask InitializeAsync() => programme = await ProgrammeHouse.OpenAsync();

    public async ValueTask DisposeAsync()
    {
        if (programme is not null)
            await programme.DisposeAsync();
    }

    [Fact]
    public async Task OfWhatMayBeReported_AsItStandsAfterAmendments()
    {
        Assert.Empty(Desk.Set(Ines, Da, Form("0,5")));
        var first = await Programme.Run("SP-1", Kit, "12");
        await Programme.Run("SP-2", Kit, "8");
        // Beyond what the reader measures: no number.
        await Programme.Run("SP-3", Kit, "<0.5");
        Assert.Equal([11m, 9.5m], Means());

        await Programme.House.Must(new BenchCommand.AmendResult(first.Id, new ShownResult.Value("14"), "Read again."));
        Assert.Equal([12m, 10m], Means());
        Assert.True(Desk.Of(Da, BenchOne)[0].Point.IsBeyond);

        // Another identity holds it: it is in no mean until a supervisor releases it.
        await Programme.House.Must(new BenchCommand.AmendResult(first.Id, new ShownResult.Value("12"), "Read again."));
        var held = await Programme.Held("SP-4", "30");
        Assert.Equal([11m, 9.5m], Means());
        await Programme.House.Must(new BenchCommand.ReleaseResult(held.Id, "The label was read again."));
        Assert.Equal([11m, 9.5m, 19.75m], Means());
    }

    [Fact]
    public void WhatCannotBe_IsSaidBesideItsField_AndOnlySupervisorsSetIt()
    {
        Assert.Equal("Weight", Assert.Single(Desk.Set(Ines, Da, Form("2"))).Member);
        Assert.Equal("Weight", Assert.Single(Desk.Set(Ines, Da, Form("a tenth"))).Member);
        Assert.Equal("Low", Assert.Single(Desk.Set(Ines, Da, new MovingMeanForm
        {
            Center = "10",
            Low = "11",
            High = "12",
        })).Member);
        Assert.Equal("", Assert.Single(Desk.Set(Lena, Da, Form("0.1"))).Member);
        Assert.Empty(Desk.Of(Da, BenchOne));
        Assert.Empty(Desk.Set(Ines, Da, Form("0.1")));
        Assert.True(Desk.Remove(Ines, Da).IsDone);
        Assert.Null(Desk.RuleOf(Da));
    }

    private IEnumerable<decimal> Means() => Desk.Of(Da, BenchOne).Select(line => line.Point.Mean);

    private static MovingMeanForm Form(string weight) => new()
    {
        Weight = weight,
        Center = "10",
        Low = "8",
        High = "11,5",
    };
}
