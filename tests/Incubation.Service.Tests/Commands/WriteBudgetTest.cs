using Incubation.Clinic.People;
using Incubation.Model;
using Incubation.Service.Clock;
using Incubation.Service.Commands;
using Incubation.Service.Tests.Support;
using Microsoft.Extensions.Time.Testing;
using NodaTime;

namespace Incubation.Service.Tests.Commands;

/// <summary>What one sender may have recorded: far more than hands can do, and an end to it.</summary>
public sealed class WriteBudgetTest
{
    private readonly FakeTimeProvider time = new();
    private readonly WriteBudget budget;

    public WriteBudgetTest() => budget = new WriteBudget(new BenchClock(time, 1), WriteBudget.UsualRate);

    private static Actor.Tablet Locked { get; } = new(
        new ClinicDevice(new DeviceId("tablet-1"), "Tablet", DeviceKind.Tablet, null, Instant.MinValue,
            new PersonId("ines"), false), null);

    [Fact]
    public void Take_ABurstAndThenMore_SaysWhenAgainAndThenGivesIt()
    {
        Assert.All(Enumerable.Range(0, 120), _ => Assert.Null(budget.Take(AnAide.Lena)));
        Assert.Equal(1, budget.Take(AnAide.Lena));

        time.Advance(TimeSpan.FromSeconds(1));

        Assert.Null(budget.Take(AnAide.Lena));
        Assert.Null(budget.Take(AnAide.Lena));
        Assert.NotNull(budget.Take(AnAide.Lena));
    }

    [Fact]
    public void Take_WhatOneHasUsedUp_IsThereForOthers()
    {
        while (budget.Take(AnAide.Lena) is null)
        {
        }

        Assert.Null(budget.Take(Locked));
    }

    [Fact]
    public void Take_LockedTablet_HasLess()
    {
        Assert.Equal(60, Enumerable.Range(0, 200).TakeWhile(_ => budget.Take(Locked) is null).Count());
        Assert.Equal(3, budget.Take(Locked));
    }

    /// <summary>What is told together is as much writing as what is told by itself.</summary>
    [Fact]
    public void Take_SeveralTogether_CountAsMany()
    {
        Assert.Null(budget.Take(AnAide.Lena, 50));
        Assert.Null(budget.Take(AnAide.Lena, 50));
        Assert.Equal(15, budget.Take(AnAide.Lena, 50));
        Assert.Null(budget.Take(Locked, 1000));
    }

    [Fact]
    public void Take_TwoHandsForADay_IsNeverRefused()
    {
        for (var at = Duration.Zero; at < Duration.FromHours(24); at += Duration.FromSeconds(5))
        {
            Assert.Null(budget.Take(AnAide.Lena));
            Assert.Null(budget.Take(AnAide.Lena));
            time.Advance(TimeSpan.FromSeconds(5));
        }
    }
}
