using Incubation.Clinic;
using Incubation.Clinic.Controls;
using Incubation.Clinic.People;
using Incubation.Model;
using Incubation.Model.Controls;
using Incubation.Records.Batches;
using Incubation.Records.Export;
using Incubation.Service.Clinic;
using Incubation.Service.Clock;
using Incubation.Service.People;
using Incubation.Service.Text;
using NodaTime;
using NodaTime.Text;

namespace Incubation.Service.Programme;

/// <summary>How a moving mean is worked out, as it was filled in.</summary>
public sealed class MovingMeanForm
{
    /// <summary>The weight of the newest result.</summary>
    public string? Weight { get; set; } = "0.1";

    /// <summary>What the mean should be.</summary>
    public string? Center { get; set; }

    /// <summary>The lower limit.</summary>
    public string? Low { get; set; }

    /// <summary>The upper limit.</summary>
    public string? High { get; set; }
}

/// <summary>The moving mean after a patient's result.</summary>
/// <param name="Request">The result's cartridge.</param>
/// <param name="Read">When the result was read.</param>
/// <param name="Value">The result, in the assay's unit.</param>
/// <param name="Point">The mean.</param>
public sealed record MeanLine(RequestId Request, Instant Read, decimal Value, MovingPoint Point);

/// <summary>
/// Moving means of patients' results: of each that may be reported (<see cref="Incubation.Bench.ResultUse"/>), as it
/// stands after every amendment. They warn, and hold nothing back.
/// </summary>
public sealed class MovingMeanService(ClinicHost clinic, CartridgeProjection book, BenchClock clock)
{
    /// <summary>The results of so many days are looked at.</summary>
    public const int Days = 30;

    private const int MaxResults = 5000;

    /// <summary>How the moving mean of an assay is worked out; null where it is not.</summary>
    public MovingMeanRule? RuleOf(AssayCode assay) => clinic.Log.Controls.MovingMeanOf(assay);

    /// <summary>The means of an assay on a bench, the first first; empty where there is no rule.</summary>
    public IReadOnlyList<MeanLine> Of(AssayCode assay, BenchId bench)
    {
        if (RuleOf(assay) is not { } rule)
            return [];
        var results = book.Find(new CartridgeQuery(Bench: bench, From: clock.Now - Duration.FromDays(Days),
                Most: MaxResults)).Cartridges
            .Where(one => one.Assay == assay && one.Use.IsReported && one.Result is not null)
            .Select(one => (one.Request, Read: one.Read.From ?? one.At, ControlJudgements.Shown(one.Result!).Value))
            .Where(one => one.Value is not null).OrderBy(one => one.Read).ToList();
        return [.. results.Zip(MovingMean.Of(rule, results.Select(one => one.Value!.Value)),
            (result, point) => new MeanLine(result.Request, result.Read, result.Value!.Value, point))];
    }

    /// <summary>
    /// The means of an assay on a bench as a file: a line for each result, with the result and how it is worked out;
    /// null where there is no rule.
    /// </summary>
    public IEnumerable<string>? File(AssayCode assay, BenchId bench) => RuleOf(assay) is not { } rule ? null
        : Of(assay, bench).Select(line => Csv.Line([assay.Value, bench.Value, line.Request.Value,
                InstantPattern.ExtendedIso.Format(line.Read), line.Value, rule.Weight, rule.Center, rule.Low, rule.High,
                Math.Round(line.Point.Mean, 12), line.Point.IsBeyond ? "outside" : "inside"]))
            .Prepend(Csv.Line(["assay", "bench", "request", "read", "value", "weight", "center", "low", "high", "mean",
                "verdict"]));

    /// <summary>Sets how the moving mean of an assay is worked out.</summary>
    /// <returns>What is wrong, by member; empty where it is set.</returns>
    public IReadOnlyList<FormFault> Set(Actor? actor, AssayCode assay, MovingMeanForm form)
    {
        ArgumentNullException.ThrowIfNull(form);
        var faults = new List<FormFault>();
        decimal Read(string member, string? text)
        {
            var number = TypedNumber.Read(text);
            if (number.Fault is { } fault)
                faults.Add(new FormFault(member, fault));
            return number.Value ?? 0;
        }

        var rule = new MovingMeanRule(Read(nameof(form.Weight), form.Weight), Read(nameof(form.Center), form.Center),
            Read(nameof(form.Low), form.Low), Read(nameof(form.High), form.High));
        if (faults.Count == 0 && rule.Weight is not (> 0 and <= 1))
            faults.Add(new FormFault(nameof(form.Weight), ProgrammeWords.MeanWeightFault));
        if (faults.Count == 0 && !rule.IsPossible)
            faults.Add(new FormFault(nameof(form.Low), ProgrammeWords.MeanLimitsFault));
        if (faults.Count > 0)
            return faults;
        var outcome = Record(actor, new ClinicEvent.MovingMeanSet(assay, rule));
        return outcome.IsDone ? [] : [new FormFault("", outcome.Fault!)];
    }

    /// <summary>Says that no moving mean of an assay is worked out any more.</summary>
    public Outcome Remove(Actor? actor, AssayCode assay) => Record(actor, new ClinicEvent.MovingMeanSet(assay, null));

    private Outcome Record(Actor? actor, ClinicEvent happened) => !Access.May(actor, Right.Supervise)
        ? new Outcome(Words.NotAllowed)
        : Outcome.Of(() => clinic.Log.Record(happened, Provenances.Of(actor!, clock)));
}
