using System.Globalization;
using Incubation.Clinic.People;
using Incubation.Model;
using Incubation.Service.Clinic;
using Incubation.Service.Clock;
using Incubation.Service.Settings;
using Incubation.Service.Text;
using NodaTime;

namespace Incubation.Service.Decisions;

/// <summary>When what waits for a decision is escalated, and to whom, checked.</summary>
/// <param name="After">After so long.</param>
/// <param name="To">The user name of a person; null for the administrators.</param>
public sealed record EscalationSettings(Duration After, string? To)
{
    /// <summary>Hours where nothing is set: a day, judged.</summary>
    public const int UsualHours = 24;

    private const int MostHours = 720;

    /// <summary>Reads the settings; every fault is a sentence in <paramref name="faults"/>.</summary>
    public static EscalationSettings Read(IConfiguration configuration, ICollection<string> faults)
    {
        var section = configuration.GetSection(ServerSettings.Section);
        var (text, to) = (section["EscalateAfter"], section["EscalateTo"]?.Trim());
        if (!int.TryParse(string.IsNullOrWhiteSpace(text) ? UsualHours.ToString(CultureInfo.InvariantCulture) : text,
            NumberStyles.None, CultureInfo.InvariantCulture, out var hours) || hours is < 1 or > MostHours)
        {
            faults.Add(Say.Of(DecisionWords.EscalateAfterFault, text, MostHours));
            hours = UsualHours;
        }

        if (!string.IsNullOrEmpty(to) && !TextId.IsValid(to))
            faults.Add(Say.Of(DecisionWords.EscalateToFault, to));
        return new EscalationSettings(Duration.FromHours(hours), string.IsNullOrEmpty(to) ? null : to);
    }
}

/// <summary>What has waited for a decision for longer than it may, and the people to whom it is escalated.</summary>
public sealed class DecisionEscalation(ClinicHost clinic, BenchClock clock, EscalationSettings settings)
{
    /// <summary>
    /// To whom: the person who is named, or the administrators where nobody is, or where that person can decide nothing
    /// any more. By name.
    /// </summary>
    public IReadOnlyList<ClinicPerson> To
    {
        get
        {
            var people = clinic.Log.People.Persons.Values.Where(one => one is { IsActive: true, HasPassword: true })
                .OrderBy(one => one.Name, StringComparer.CurrentCultureIgnoreCase).ToList();
            var named = people.Where(one => one.Id.Value == settings.To && one.Role >= Role.Supervisor).ToList();
            return named.Count > 0 ? named : [.. people.Where(one => one.Role == Role.Administrator)];
        }
    }

    /// <summary>Whether it is escalated to an actor.</summary>
    public bool IsTo(Actor? actor) => actor is Actor.Person own && To.Any(one => one.Id == own.Who.Id);

    /// <summary>
    /// Whether a line has waited for too long. What has a day of its own, weeks ahead, waits for that day.
    /// </summary>
    public bool Has(DecisionLine line)
    {
        ArgumentNullException.ThrowIfNull(line);
        return line.Kind is not (DecisionKind.TargetEnding or DecisionKind.ComparisonOpen
            or DecisionKind.ProficiencyDue or DecisionKind.ProficiencyToGrade
            or DecisionKind.CertificateEnding)
            && clock.Now - line.Since >= settings.After;
    }

    /// <summary>The lines, for those to whom they are escalated with what has waited for too long first.</summary>
    public IReadOnlyList<DecisionLine> InOrder(Actor? actor, IReadOnlyList<DecisionLine> lines) =>
        IsTo(actor) ? [.. lines.OrderByDescending(Has)] : lines;

    /// <summary>That a line is escalated, and to whom, in words; null where it is not.</summary>
    public string? Of(DecisionLine line) => Has(line) ? Say.Of(DecisionWords.Escalated, Hours,
        string.Join(", ", To.Select(one => one.Name))) : null;

    /// <summary>What is escalated to an actor, in a sentence; null where nothing is.</summary>
    public string? For(Actor? actor, IEnumerable<DecisionLine> lines)
    {
        if (!IsTo(actor) || lines.Where(Has).ToList() is not { Count: > 0 } late)
            return null;
        return Say.Of(DecisionWords.EscalatedToYou,
            Say.Counted(late.Count, DecisionWords.ThingOne, DecisionWords.ThingMany), Hours,
            Say.DateAndTime(late.Min(line => line.Since), clinic.Facts.Zone));
    }

    private double Hours => settings.After.TotalHours;
}
