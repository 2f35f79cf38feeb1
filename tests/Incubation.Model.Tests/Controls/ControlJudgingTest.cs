using System.Globalization;
using CsCheck;
using Incubation.Model.Controls;
using Xunit;

namespace Incubation.Model.Tests.Controls;

/// <summary>
/// The rules against the published base of westgard.com lesson 12 (read): control 1 mean 200 SD 4, control 2 mean 250
/// SD 5. The values on it and what they break were worked out from the rules' definitions (check-values.md §4).
/// </summary>
public sealed class ControlJudgingTest
{
    private static readonly ControlTarget[] Targets = [new(200, 4), new(250, 5)];

    public static TheoryData<string, string> Vectors => new()
    {
        { "204,252", "" },
        { "208,250", "" }, // z is 2.00: exceeds is strict
        { "209,255", "C1a OneTwoS" },
        { "213,250", "C1a OneTwoS, C1a OneThreeS" },
        { "209,261", "C1a OneTwoS, C2a OneTwoS, C2a TwoTwoS C1a" },
        { "209,;210,", "C1a OneTwoS, C1b OneTwoS, C1b TwoTwoS C1a" },
        { "209,239", "C1a OneTwoS, C2a OneTwoS, C2a RFourS C1a" },
        { "209,;,239", "C1a OneTwoS, C2b OneTwoS" },
        { "205,256;206,257", "C2b FourOneS C1a C2a C1b" },
        { "201,251;201,251;201,251;201,251", "" },
        { "201,251;201,251;201,251;201,251;201,251", "C2e TenX C1a C2a C1b C2b C1c C2c C1d C2d C1e" },
    };

    [Theory]
    [MemberData(nameof(Vectors))]
    public void Violations_OfThePublishedVectors_AreThose(string runs, string broken) =>
        Assert.Equal(broken, Broken(runs, ControlRules.All));

    /// <summary>The same values below the mean.</summary>
    [Theory]
    [InlineData("191,245", "C1a OneTwoS")]
    [InlineData("187,250", "C1a OneTwoS, C1a OneThreeS")]
    [InlineData("191,239", "C1a OneTwoS, C2a OneTwoS, C2a TwoTwoS C1a")]
    [InlineData("195,244;194,243", "C2b FourOneS C1a C2a C1b")]
    [InlineData("191,261", "C1a OneTwoS, C2a OneTwoS, C2a RFourS C1a")]
    public void Violations_BelowTheMean_AreTheSame(string runs, string broken) =>
        Assert.Equal(broken, Broken(runs, ControlRules.All));

    /// <summary>Of one material alone, while the other's values between them lie on the other side.</summary>
    [Theory]
    [InlineData("209,249;210,249", "C1a OneTwoS, C1b OneTwoS, C1b TwoTwoS C1a")]
    [InlineData("205,249;205,249;205,249;205,249", "C1d FourOneS C1a C1b C1c")]
    [InlineData("201,249;201,249;201,249;201,249;201,249;201,249;201,249;201,249;201,249;201,250",
        "C1j TenX C1a C1b C1c C1d C1e C1f C1g C1h C1i")]
    public void Violations_WithinOneMaterial_DoNotMindTheOther(string runs, string broken) =>
        Assert.Equal(broken, Broken(runs, ControlRules.All));

    [Theory]
    [InlineData(ControlRule.OneTwoS, "209,255")]
    [InlineData(ControlRule.OneThreeS, "213,250")]
    [InlineData(ControlRule.TwoTwoS, "209,261")]
    [InlineData(ControlRule.RFourS, "209,239")]
    [InlineData(ControlRule.FourOneS, "205,256;206,257")]
    [InlineData(ControlRule.TenX, "201,251;201,251;201,251;201,251;201,251")]
    public void Violations_WithTheRuleOff_LeaveItOut(ControlRule rule, string runs)
    {
        Assert.Contains(rule.ToString(), Broken(runs, ControlRules.All), StringComparison.Ordinal);
        Assert.DoesNotContain(rule.ToString(), Broken(runs, ControlRules.All.With(rule, false)),
            StringComparison.Ordinal);
        Assert.Equal(Broken(runs, ControlRules.All), Broken(runs, ControlRules.All.With(rule, false).With(rule, true)));
    }

    [Fact]
    public void Rejects_TheWarning_Not() =>
        Assert.Equal([ControlRule.OneTwoS], Enum.GetValues<ControlRule>().Where(rule => !ControlRules.Rejects(rule)));

    /// <summary>
    /// Held against the rules written once more, over z alone and without looking at materials, for one control.
    /// </summary>
    [Fact]
    public void Violations_OfAnyValues_AreTheDefinitions() =>
        Gen.Int[184, 216].Array[1, 14].Sample(values =>
        {
            var points = values.Select((value, at) => Point(0, at, value)).ToList();
            var z = values.Select(value => (value - 200) / 4.0).ToList();
            var found = ControlJudging.Violations(ControlRules.All, points[..^1], points[^1])
                .Select(violation => violation.Rule).ToHashSet();
            bool Last(int count, Func<double, bool> holds) => z.Count >= count && z.TakeLast(count).All(holds);
            Assert.Equal(Math.Abs(z[^1]) > 2, found.Contains(ControlRule.OneTwoS));
            Assert.Equal(Math.Abs(z[^1]) > 3, found.Contains(ControlRule.OneThreeS));
            Assert.Equal(Last(2, one => one > 2) || Last(2, one => one < -2), found.Contains(ControlRule.TwoTwoS));
            Assert.Equal(Last(4, one => one > 1) || Last(4, one => one < -1), found.Contains(ControlRule.FourOneS));
            Assert.Equal(Last(10, one => one > 0) || Last(10, one => one < 0), found.Contains(ControlRule.TenX));
            Assert.DoesNotContain(ControlRule.RFourS, found); // one value a run
        });

    [Fact]
    public void Violations_MirroredAtTheMean_AreTheSame() =>
        Gen.Int[-16, 16].Array[1, 14].Sample(offsets =>
        {
            var above = offsets.Select((offset, at) => Point(at % 2, at / 2, Targets[at % 2].Mean + offset)).ToList();
            var below = offsets.Select((offset, at) => Point(at % 2, at / 2, Targets[at % 2].Mean - offset)).ToList();
            Assert.Equal(
                ControlJudging.Violations(ControlRules.All, above[..^1], above[^1]),
                ControlJudging.Violations(ControlRules.All, below[..^1], below[^1]));
        });

    private static ControlPoint Point(int control, int run, decimal value) => new(
        new RequestId(string.Create(CultureInfo.InvariantCulture, $"C{control + 1}{(char)('a' + run)}")),
            new LotCode("CTRL"), control + 1, run, value, Targets[control]);

    /// <summary>
    /// What runs break, one value after the other: "C2a TwoTwoS C1a" says that C2 of the first run breaks 2-2s with C1
    /// of that run.
    /// </summary>
    private static string Broken(string runs, ControlRules rules)
    {
        var earlier = new List<ControlPoint>();
        var broken = new List<string>();
        foreach (var (run, number) in runs.Split(';').Select((run, number) => (run, number)))
        {
            foreach (var (text, control) in run.Split(',').Select((text, control) => (text, control))
                .Where(pair => pair.text.Length > 0))
            {
                var point = Point(control, number, decimal.Parse(text, CultureInfo.InvariantCulture));
                broken.AddRange(ControlJudging.Violations(rules, earlier, point)
                    .Select(violation =>
                        string.Join(' ',
                            [point.Request.Value, violation.Rule.ToString(),
                                .. violation.With.Select(with => with.Value)])));
                earlier.Add(point);
            }
        }

        return string.Join(", ", broken);
    }
}
