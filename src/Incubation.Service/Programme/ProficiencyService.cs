using Incubation.Bench;
using Incubation.Clinic;
using Incubation.Clinic.Controls;
using Incubation.Clinic.People;
using Incubation.Clinic.Programme;
using Incubation.Model;
using Incubation.Records.Batches;
using Incubation.Records.Export;
using Incubation.Service.Clinic;
using Incubation.Service.Clock;
using Incubation.Service.People;
using Incubation.Service.Requests;
using Incubation.Service.Text;
using NodaTime;
using NodaTime.Text;

namespace Incubation.Service.Programme;

/// <summary>
/// External proficiency testing: a round is received, put on a bench, run like patients' specimens, reported, graded.
/// </summary>
public sealed class ProficiencyService(ClinicHost clinic, CartridgeProjection book, Intake intake, BenchClock clock)
{
    private const int MaxRuns = 50;

    /// <summary>A round, or null.</summary>
    public ProficiencyRound? Find(int number) => clinic.Log.Proficiency.Find(number);

    /// <summary>Takes a round in.</summary>
    /// <returns>Its number, or what is wrong, by member.</returns>
    public (int? Number, IReadOnlyList<FormFault> Faults) Receive(Actor? actor, RoundForm form)
    {
        ArgumentNullException.ThrowIfNull(form);
        var faults = new List<FormFault>();
        foreach (var (member, text) in new[]
        {
            (nameof(form.Programme), form.Programme), (nameof(form.Name), form.Name),
        })
            if (!Bounds.IsIdentifier(text?.Trim()))
                faults.Add(new FormFault(member, Words.IntakeTextFault));
        var specimens = (form.Specimens ?? "").Split([',', ';', '\n'],
            StringSplitOptions.TrimEntries | StringSplitOptions.RemoveEmptyEntries);
        if (specimens.Length == 0 || !specimens.All(Bounds.IsIdentifier))
            faults.Add(new FormFault(nameof(form.Specimens), ProgrammeWords.RoundSpecimensFault));
        if (form.Assays.Count == 0)
            faults.Add(new FormFault(nameof(form.Assays), StockWords.AssayFault));
        var due = LocalDatePattern.Iso.Parse(form.Due?.Trim() ?? "");
        if (!due.Success)
            faults.Add(new FormFault(nameof(form.Due), ProgrammeWords.RoundDueFault));
        if (faults.Count > 0)
            return (null, faults);
        var number = clinic.Log.Proficiency.Rounds.Count + 1;
        var outcome = Record(actor, new ClinicEvent.ProficiencyReceived(number, Bounds.Normal(form.Programme!.Trim()),
            Bounds.Normal(form.Name!.Trim()),
            [
                .. specimens.Select(Bounds.Normal).Distinct().SelectMany(specimen => form.Assays
                    .Order(StringComparer.Ordinal)
                    .Select(assay => new ProficiencyItem(new SpecimenId(specimen), new AssayCode(assay)))),
            ],
            due.Value));
        return outcome.IsDone ? (number, []) : (null, [new FormFault("", outcome.Fault!)]);
    }

    /// <summary>A round's items as they are shown.</summary>
    public IReadOnlyList<ItemLine> Lines(ProficiencyRound round)
    {
        ArgumentNullException.ThrowIfNull(round);
        return
        [
            .. round.Items.Select(item =>
            {
                var run = RunOf(round, item);
                return new ItemLine(item, run, ValueOf(run), round.Reported?.Results.FirstOrDefault(result =>
                    result.Specimen == item.Specimen && result.Assay == item.Assay)?.Value, round.GradeOf(item));
            }),
        ];
    }

    /// <summary>Puts what of a round was not run yet on a bench's batch.</summary>
    public async Task<Outcome> AddAsync(Actor? actor, int number, string? bench)
    {
        if (!Access.May(actor, Right.Supervise) || !Access.May(actor, Right.AddRequests, bench))
            return new Outcome(Words.NotAllowed);
        if (Find(number) is not { IsOpen: true } round || bench is null)
            return new Outcome(Words.CommandFailed);
        var missing = Lines(round).Where(line => !IsUnderWay(line.Run)).Select(line => line.Item).ToList();
        if (missing.Count == 0)
            return new Outcome(ProgrammeWords.RoundAllAdded);
        var outcome = await intake.AddAsync(bench, [.. missing.Select(item => new WantedRequest(item.Specimen.Value,
            item.Assay.Value, null, Kind: Intake.ProficiencyKind))], null, actor!.InLog, actor.Device);
        return outcome.Taken ? Outcome.Done() : new Outcome(outcome.Faults[0].Sentence);
    }

    /// <summary>Writes down that the programme was told a round's results, as they stand.</summary>
    public Outcome Report(Actor? actor, int number, string? how)
    {
        if (Find(number) is not { } round)
            return new Outcome(Words.CommandFailed);
        if (!AreWords(how))
            return new Outcome(ProgrammeWords.RoundHowFault);
        var lines = Lines(round);
        if (round.IsOpen && lines.FirstOrDefault(line => line.Value is null) is { } missing)
            return new Outcome(Say.Of(missing.Run?.Result is null ? ProgrammeWords.RoundResultMissing
                : ProgrammeWords.RoundResultHeld, missing.Item.Specimen, missing.Item.Assay));
        return Record(actor, new ClinicEvent.ProficiencyReported(number,
            [.. lines.Select(line => new ProficiencyResult(line.Item.Specimen, line.Item.Assay, line.Value ?? ""))],
            how!.Trim()));
    }

    /// <summary>Writes down that a round is not run.</summary>
    public Outcome Cancel(Actor? actor, int number, string? why) => !AreWords(why)
        ? new Outcome(StockWords.WhyMissing) : Record(actor, new ClinicEvent.ProficiencyCancelled(number, why!.Trim()));

    /// <summary>Enters a grade.</summary>
    /// <returns>What is wrong, by member; empty where it is entered.</returns>
    public IReadOnlyList<FormFault> Grade(Actor? actor, int number, ProficiencyItem item, GradeForm form)
    {
        ArgumentNullException.ThrowIfNull(form);
        var faults = new List<FormFault>();
        if (!Enum.TryParse<ProficiencyGrade>(form.Grade, out var grade))
            faults.Add(new FormFault(nameof(form.Grade), ProgrammeWords.GradeFault));
        var target = string.IsNullOrWhiteSpace(form.Target) ? default : TypedNumber.Read(form.Target);
        if (target.Fault is { } fault)
            faults.Add(new FormFault(nameof(form.Target), fault));
        if (grade == ProficiencyGrade.Unsatisfactory && !AreWords(form.Note))
            faults.Add(new FormFault(nameof(form.Note), ControlsWords.RefusedWordsMissing));
        if (faults.Count > 0)
            return faults;
        var outcome = Record(actor, new ClinicEvent.ProficiencyGraded(number, item, grade, target.Value,
            form.Note?.Trim() ?? ""));
        return outcome.IsDone ? [] : [new FormFault("", outcome.Fault!)];
    }

    /// <summary>Every item of every round as a file: a line for each.</summary>
    public IEnumerable<string> File()
    {
        yield return Csv.Line(["round", "programme", "name", "due", "receivedBy", "receivedAt", "specimen", "assay",
            "bench", "request", "value", "reported", "reportedBy", "reportedAt", "reportedHow", "grade", "target",
            "note", "gradedBy", "gradedAt", "cancelled", "cancelledBy", "cancelledAt", "status", "standing", "unit"]);
        var today = clock.Now.InZone(clinic.Facts.Zone).Date;
        foreach (var round in clinic.Log.Proficiency.Rounds)
            foreach (var line in Lines(round))
                yield return Csv.Line([round.Number, round.Programme, round.Name, Say.Day(round.Due), round.By.Value,
                    round.At.ToString(), line.Item.Specimen.Value, line.Item.Assay.Value, line.Run?.Bench.Value,
                    line.Run?.Request.Value, line.Value, line.Reported, round.Reported?.By.Value,
                    round.Reported?.At.ToString(), round.Reported?.How,
                    line.Grading is { } graded ? KebabCase.Of(graded.Grade) : null, line.Grading?.Target,
                    line.Grading?.Note, line.Grading?.By.Value, line.Grading?.At.ToString(), round.Cancelled?.Why,
                    round.Cancelled?.By.Value, round.Cancelled?.At.ToString(), ProgrammeText.Of(round, today),
                    line.Run is { } run ? KebabCase.Of(run.Standing) : null,
                    UnitText.Of(clinic.Log.Assays, line.Item.Assay)]);
    }

    /// <summary>The cartridge of an item that was asked for last while its round was open, or null.</summary>
    private CartridgeRecord? RunOf(ProficiencyRound round, ProficiencyItem item)
    {
        Instant? end = (round.Reported?.At ?? round.Cancelled?.At) is { } closed ? closed + Duration.Epsilon : null;
        return book.Find(new CartridgeQuery(Specimen: item.Specimen.Value, From: round.At, To: end, Most: MaxRuns))
            .Cartridges.FirstOrDefault(one => one.Kind == RequestKind.Proficiency && one.Specimen == item.Specimen
                && one.Assay == item.Assay && one.Standing != CartridgeStatus.Withdrawn);
    }

    private static string? ValueOf(CartridgeRecord? run) => run is { Hold: ResultHold.None, Result: { } result }
        ? ControlJudgements.Shown(result).Shown : null;

    /// <summary>Whether nothing more is to be asked for: it waits, runs or has a value.</summary>
    private static bool IsUnderWay(CartridgeRecord? run) => run is { Standing: not CartridgeStatus.Discarded }
        and not { Result: ReadResult.NoValue };

    private Outcome Record(Actor? actor, ClinicEvent happened) => !Access.May(actor, Right.Supervise)
        ? new Outcome(Words.NotAllowed)
        : Outcome.Of(() => clinic.Log.Record(happened, Provenances.Of(actor!, clock)));

    private static bool AreWords(string? words) =>
        !string.IsNullOrWhiteSpace(words) && words.Trim().Length <= ComparisonService.MaxWords;
}
