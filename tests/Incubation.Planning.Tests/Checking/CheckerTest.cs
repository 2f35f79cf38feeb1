using Incubation.Model;
using Incubation.Planning.Checking;
using Xunit;
using static Incubation.Planning.Tests.Checking.SmallDay;

namespace Incubation.Planning.Tests.Checking;

/// <summary>
/// What the tests of the rules share: a valid plan of two cartridges in slots, and ways to ask which rules break.
/// </summary>
public abstract class CheckerTest
{
    /// <summary>Two requests of assay A on a fresh bench.</summary>
    protected static readonly BenchDay TwoInSlots = Day(Request("R1"), Request("R2"));

    /// <summary>
    /// Their plan, valid: R1's window is 580 to 660 (guard from 645), R2's 655 to 735 (guard from 720).
    /// </summary>
    protected static readonly Plan TwoInSlotsPlan = PlanOf(TwoInSlots,
        CardChange("A-L1", 0), Mix("R1", 25), Load("R1", 1, 75), Mix("R2", 100), Load("R2", 2, 150),
        Move("R1", 565), Read("R1", 580), Clear("R1", 620), Move("R2", 640), Read("R2", 655), Clear("R2", 695));

    /// <summary>One request of assay B on a fresh bench, whose reader gets its card first.</summary>
    protected static readonly BenchDay OneInReader = Day(Request("R1", "B"));

    /// <summary>Its plan, valid: the load ends at 100, the read starts by itself at 580.</summary>
    protected static readonly Plan OneInReaderPlan = PlanOf(OneInReader,
        CardChange("B-L1", 0), Mix("R1", 25), LoadReader("R1", 75), Read("R1", 580), Clear("R1", 620));

    protected static void AssertValid(BenchDay day, Plan plan) => Assert.Empty(PlanChecker.Check(day, plan));

    /// <summary>The plan breaks this rule once, and no other.</summary>
    protected static PlanFault AssertBreaks(int rule, BenchDay day, Plan plan)
    {
        var fault = Assert.Single(PlanChecker.Check(day, plan));
        Assert.Equal(rule, fault.Rule);
        Assert.DoesNotContain("{", fault.What, StringComparison.Ordinal);
        return fault;
    }

    /// <summary>The plan breaks this rule, perhaps more than once, and no other.</summary>
    protected static void AssertBreaksOnly(int rule, BenchDay day, Plan plan) =>
        Assert.Equal([rule], PlanChecker.Check(day, plan).Select(fault => fault.Rule).Distinct());
}
