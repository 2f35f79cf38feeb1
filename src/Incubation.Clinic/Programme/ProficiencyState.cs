using System.Collections.Immutable;
using System.Globalization;
using Incubation.Model;

namespace Incubation.Clinic.Programme;

/// <summary>
/// External proficiency testing as the clinic's stream tells of it. Immutable; made from events alone; reads no clock.
/// </summary>
/// <remarks>
/// 42 CFR 493.801(b): such specimens are examined in the same manner as patients' specimens; 493.1236(a) and (d): the
/// results are reviewed and evaluated, and all of it is documented.
/// </remarks>
public sealed record ProficiencyState
{
    /// <summary>No round yet.</summary>
    public static ProficiencyState Empty { get; } = new();

    /// <summary>The most specimens and assays of one round.</summary>
    public const int MostItems = 100;

    /// <summary>Every round; the n-th one has number n.</summary>
    public ImmutableList<ProficiencyRound> Rounds { get; private init; } = [];

    /// <summary>A round, or null.</summary>
    public ProficiencyRound? Find(int number) => number >= 1 && number <= Rounds.Count ? Rounds[number - 1] : null;

    /// <summary>The open round that a specimen is of, or null.</summary>
    public ProficiencyRound? OpenRoundOf(SpecimenId specimen) =>
        Rounds.Find(round => round.IsOpen && round.Items.Any(item => item.Specimen == specimen));

    /// <summary>The state after one more entry; the same where it is about something else.</summary>
    internal ProficiencyState Apply(ClinicEntry entry)
    {
        var (by, at) = (entry.Provenance.Person, entry.Provenance.At);
        return entry.Event switch
        {
            ClinicEvent.ProficiencyReceived received => this with
            {
                Rounds = Rounds.Add(new ProficiencyRound(Rounds.Count + 1, received.Programme, received.Name,
                    received.Items, received.Due, by, at)),
            },
            ClinicEvent.ProficiencyReported reported => With(reported.Round, round => round with
            {
                Reported = new ProficiencyReporting(reported.Results, reported.How, by, at),
            }),
            ClinicEvent.ProficiencyCancelled cancelled => With(cancelled.Round, round => round with
            {
                Cancelled = new ProficiencyCancelling(cancelled.Why, by, at),
            }),
            ClinicEvent.ProficiencyGraded graded => With(graded.Round, round => round with
            {
                Grades = With(round.Grades, new ProficiencyGrading(graded.Item, graded.Grade, graded.Target,
                    graded.Note, by, at)),
            }),
            _ => this,
        };
    }

    /// <summary>What speaks against an event, or null.</summary>
    /// <param name="event">The event.</param>
    /// <param name="assays">Whether there is such an assay.</param>
    internal ClinicObjection? Against(ClinicEvent @event, Func<AssayCode, bool> assays) => @event switch
    {
        ClinicEvent.ProficiencyReceived received => AgainstReceiving(received, assays),
        ClinicEvent.ProficiencyReported reported => AgainstOpen(reported.Round)
            ?? (string.IsNullOrWhiteSpace(reported.How) ? new(ClinicRefusal.WhyMissing, Number(reported.Round))
                : IsOfAll(reported, Find(reported.Round)!) ? null
                : new(ClinicRefusal.RoundImpossible, Number(reported.Round))),
        ClinicEvent.ProficiencyCancelled cancelled => AgainstOpen(cancelled.Round)
            ?? (string.IsNullOrWhiteSpace(cancelled.Why)
                ? new(ClinicRefusal.WhyMissing, Number(cancelled.Round)) : null),
        ClinicEvent.ProficiencyGraded graded => Find(graded.Round) switch
        {
            null => new(ClinicRefusal.UnknownRound, Number(graded.Round)),
            { Reported: null } => new(ClinicRefusal.RoundIsSo, Number(graded.Round)),
            var round when !round.Items.Contains(graded.Item) =>
                new(ClinicRefusal.RoundImpossible, Number(graded.Round)),
            _ when graded.Grade == ProficiencyGrade.Unsatisfactory && string.IsNullOrWhiteSpace(graded.Note) =>
                new(ClinicRefusal.WordsMissing, Number(graded.Round)),
            _ => null,
        },
        _ => null,
    };

    private ClinicObjection? AgainstReceiving(ClinicEvent.ProficiencyReceived received, Func<AssayCode, bool> assays) =>
        received.Round != Rounds.Count + 1 || received.Items.IsEmpty || received.Items.Length > MostItems
            || received.Items.Distinct().Count() != received.Items.Length
            || string.IsNullOrWhiteSpace(received.Programme) || string.IsNullOrWhiteSpace(received.Name)
            ? new(ClinicRefusal.RoundImpossible, received.Name)
            : received.Items.Where(item => !assays(item.Assay)).Select(item => item.Assay.Value).FirstOrDefault() is
            { } unknown
            ? new(ClinicRefusal.UnknownAssay, unknown)
            : received.Items.Select(item => OpenRoundOf(item.Specimen)).FirstOrDefault(round => round is not null) is
            { } other
            ? new(ClinicRefusal.RoundIsSo, Number(other.Number))
            : null;

    /// <summary>Whether a report tells of each item once.</summary>
    private static bool IsOfAll(ClinicEvent.ProficiencyReported reported, ProficiencyRound round) =>
        reported.Results.Length == round.Items.Length && reported.Results
            .Select(result => new ProficiencyItem(result.Specimen, result.Assay)).ToHashSet().SetEquals(round.Items);

    private ClinicObjection? AgainstOpen(int number) => Find(number) switch
    {
        null => new(ClinicRefusal.UnknownRound, Number(number)),
        { IsOpen: false } => new(ClinicRefusal.RoundIsSo, Number(number)),
        _ => null,
    };

    private ProficiencyState With(int number, Func<ProficiencyRound, ProficiencyRound> change) =>
        Find(number) is { } one ? this with { Rounds = Rounds.SetItem(number - 1, change(one)) } : this;

    private static ImmutableArray<ProficiencyGrading> With(ImmutableArray<ProficiencyGrading> grades,
        ProficiencyGrading set) => grades.Any(grade => grade.Item == set.Item)
            ? [.. grades.Select(grade => grade.Item == set.Item ? set : grade)] : grades.Add(set);

    private static string Number(int number) => number.ToString(CultureInfo.InvariantCulture);
}
