using Incubation.Model;
using static Incubation.Bench.Tests.Scene;

namespace Incubation.Bench.Tests;

/// <summary>R1 run as planned; the assay measures 0.5 to 200 mg/L, and above 150 is critical.</summary>
internal static class ReadResults
{
    private static readonly ResultRule Rule = new(1, new ValueRange(0.5m, 200), ValueRange.Open,
        new ValueRange(null, 150));

    /// <summary>Its result was entered 660 seconds after the start.</summary>
    /// <param name="value">The value.</param>
    /// <param name="kind">Patient or control.</param>
    /// <param name="identity">What the reader showed.</param>
    /// <param name="rule">How results are marked; null for the assay's own.</param>
    public static Scene Of(string value, RequestKind kind = RequestKind.Patient,
        ResultIdentity identity = ResultIdentity.Matches, ResultRule? rule = null)
    {
        var wanted = Request("R1") with
        { Facts = new RunFacts(rule ?? Rule, StepTexts.None, null, ControlGate.None, null, "1980-02-29") };
        var scene = Running(wanted with { Request = wanted.Request with { Kind = kind } });
        scene.Say(50, new BenchCommand.Mixed(R("R1")));
        scene.Plan(50);
        scene.Say(75, new BenchCommand.Loaded(R("R1"), Slot(1), false));
        scene.Say(100, new BenchCommand.CardChanged(Reader1, new LotCode("L1")));
        scene.Say(580, new BenchCommand.ReadStarted(R("R1"), Reader1, false));
        scene.Say(640, new BenchCommand.Cleared(R("R1"), Reader1));
        scene.Say(660, new BenchCommand.ResultEntered(R("R1"), new ShownResult.Value(value), identity switch
        {
            ResultIdentity.Matches => new ShownIdentity("sp-r1 "),
            ResultIdentity.Different => new ShownIdentity("SP-R2"),
            ResultIdentity.Missing => ShownIdentity.None,
            _ => null,
        }));
        return scene;
    }
}
