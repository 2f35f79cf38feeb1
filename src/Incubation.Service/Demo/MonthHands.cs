using System.Globalization;
using Incubation.Bench;
using Incubation.Model;
using Incubation.Model.Controls;
using Incubation.Simulation;
using NodaTime;

namespace Incubation.Service.Demo;

/// <summary>
/// The hands of an invented month: people's times, now and then called away, and the mishaps of the trade.
/// </summary>
/// <param name="month">How often what happens.</param>
/// <param name="targets">What each control should give.</param>
/// <param name="seed">Seed of every chance.</param>
internal sealed class MonthHands(DemoMonthFile month, IReadOnlyDictionary<(AssayCode, int), ControlTarget> targets,
    ulong seed) : VirtualHands
{
    private readonly Random random = new(unchecked((int)seed));
    private readonly RandomStepLengths times = new();
    private readonly Dictionary<LotCode, LotHistory> controls = [];

    /// <summary>Controls that have been judged since this was last emptied, with the instant.</summary>
    public List<ControlRun> Judged { get; } = [];

    /// <inheritdoc/>
    public override Duration LengthOf(StepAction action, Duration allowed)
    {
        var length = times.Draw(allowed, random);
        return Chance(month.Interruption) ? length + Duration.FromSeconds(random.Next(90, 420)) : length;
    }

    /// <inheritdoc/>
    public override IEnumerable<BenchCommand> Then(StepAction done, VirtualBench bench)
    {
        ArgumentNullException.ThrowIfNull(bench);
        return done switch
        {
            StepAction.Load load when Mishap() is { } reason =>
                [new BenchCommand.Discarded(load.Request, reason, null), .. Repeat(load.Request, bench)],
            StepAction.Discard discard => Repeat(discard.Request, bench),
            StepAction.Clear clear => Result(clear.Request, bench),
            _ => [],
        };
    }

    /// <summary>Whether something of a share happens.</summary>
    public bool Chance(double share) => random.NextDouble() < share;

    private DiscardReason? Mishap()
    {
        var at = random.NextDouble();
        return at < month.Bubbles ? DiscardReason.Bubbles
            : at < month.Bubbles + month.WellOverfilled ? DiscardReason.WellOverfilled
            : at < month.Bubbles + month.WellOverfilled + month.Dropped ? DiscardReason.Dropped
            : null;
    }

    private static BenchCommand[] Repeat(RequestId request, VirtualBench bench) =>
        bench.State.Find(request) is { Wanted.Request.RepeatLeft: true }
            ? [new BenchCommand.OrderRepeat(request)]
            : [];

    private IEnumerable<BenchCommand> Result(RequestId request, VirtualBench bench)
    {
        var cartridge = bench.State.Find(request)!;
        var wanted = cartridge.Wanted;
        var shown = new ShownIdentity(wanted.Request.Specimen.Value);
        if (Chance(month.ReaderFault) && wanted.Request.Kind == RequestKind.Patient)
        {
            yield return new BenchCommand.ResultEntered(request, new ShownResult.NoValue("E-12"), shown);
            foreach (var repeat in Repeat(request, bench))
                yield return repeat;
            yield break;
        }

        var value = wanted.Facts?.Control is { } control
            ? Control(cartridge, control, bench) : Patient(wanted.Facts?.Results ?? ResultRule.AsDisplayed);
        yield return new BenchCommand.ResultEntered(request, new ShownResult.Value(value), shown);
        if (bench.State.Find(request)!.MustBeTold)
            yield return new BenchCommand.TellCritical(request, "ward", ReadBack: true);
    }

    /// <summary>An invented result: mostly inside the reference interval, now and then far above it.</summary>
    private string Patient(ResultRule rule)
    {
        var usual = (double)((rule.Reference.From ?? 0) + (rule.Reference.To ?? 10)) / 2;
        var value = (decimal)(usual * Math.Exp(0.8 * Normal()));
        var (least, most) = (rule.Measuring.From ?? 0, rule.Measuring.To ?? decimal.MaxValue);
        return Written(rule, Math.Clamp(value, least, most));
    }

    /// <summary>An invented value near its control's target, drawn until the rules accept it.</summary>
    private string Control(Cartridge cartridge, ControlMaterial control, VirtualBench bench)
    {
        var wanted = cartridge.Wanted;
        var target = targets[(wanted.Assay.Code, control.Level)];
        var history = controls.GetValueOrDefault(wanted.Request.Lot, LotHistory.Empty);
        var run = new ControlRun(
            cartridge.Id, bench.State.Id, bench.State.Batch, wanted.Assay.Code, wanted.Request.Lot, control, 0,
                ((CartridgeStage.Cleared)cartridge.Stage).End, bench.Now,
            "", null, target, [], ControlVerdict.NotJudged);
        while (true)
        {
            var shown = Written(wanted.Facts!.Results, target.Mean + (target.StandardDeviation * (decimal)Normal()));
            var judged =
                history.Judged(run with { Shown = shown, Value = decimal.Parse(shown, CultureInfo.InvariantCulture) },
                    ControlRules.All);
            if (judged.Verdict != ControlVerdict.Accepted)
                continue;
            controls[wanted.Request.Lot] = history with { Runs = history.Runs.Add(judged) };
            Judged.Add(judged);
            return shown;
        }
    }

    private static string Written(ResultRule rule, decimal value) =>
        value.ToString("F" + (rule.Decimals ?? 2).ToString(CultureInfo.InvariantCulture), CultureInfo.InvariantCulture);

    /// <summary>A standard normal number by the method of Box and Muller (1958).</summary>
    private double Normal() =>
        Math.Sqrt(-2 * Math.Log(1 - random.NextDouble())) * Math.Cos(2 * Math.PI * random.NextDouble());
}
