using System.Collections.Immutable;
using System.Globalization;
using Incubation.Clinic.Panels;
using Incubation.Clinic.Worklist;
using Incubation.Model;
using Incubation.Records.Clinic;
using Incubation.Service.Clock;
using Incubation.Service.Panels;
using Incubation.Service.Requests;
using Incubation.Service.Text;
using NodaTime;

namespace Incubation.Service.Worklist;

/// <summary>Reads stated orders against the catalogue, collecting every fault. Stock is not looked at.</summary>
/// <param name="words">What assays and panels are called.</param>
/// <param name="now">The present.</param>
internal sealed class OrderReading(AssayNames words, Instant now)
{
    /// <summary>So many faults are told at once.</summary>
    private const int MaxFaults = 100;

    private int next;

    /// <summary>What is wrong.</summary>
    public List<IntakeFault> Faults { get; } = [];

    /// <summary>An order's number and what it wants, one content for each assay; null where something is wrong.
    /// </summary>
    public (OrderNumber Number, ImmutableArray<OrderContent> Wanted)? Read(OrderIn? stated)
    {
        var (at, before) = (next++, Faults.Count);
        void Wrong(string member, string sentence, params object?[] things) =>
            Faults.Add(new IntakeFault(string.Create(CultureInfo.InvariantCulture, $"orders[{at}].{member}"),
                Say.Of(sentence, things)));
        if (Faults.Count >= MaxFaults)
            return null;
        if (stated is null)
        {
            Wrong("specimen", WorklistWords.OrderEmpty);
            return null;
        }

        var number = Identifier(stated.Number, "number", Wrong);
        var specimen = Identifier(stated.Specimen, "specimen", Wrong);
        var identifier = string.IsNullOrWhiteSpace(stated.Identifier) ? null
            : Identifier(stated.Identifier, "identifier", Wrong);
        var priority = stated.Priority switch
        {
            null or "" or "routine" => Priority.Routine,
            "urgent" => Priority.Urgent,
            _ => Other(),
        };
        Priority Other()
        {
            Wrong("priority", RequestsWords.IntakeWordUnknown, "routine", "urgent");
            return Priority.Routine;
        }

        var comment = string.IsNullOrWhiteSpace(stated.Comment) ? null : stated.Comment.Trim();
        if (comment is not null && !Bounds.IsWords(comment))
            Wrong("comment", WorklistWords.CommentFault, Bounds.MaxWords);
        if (stated.Due is { } due && !Bounds.IsPlannable(due, now))
            Wrong("due", RequestsWords.IntakeTooFar, Bounds.PlannedWithin.Days);
        var assays = Assays(stated.Assays, Wrong);
        var wanted = assays.Select(assay =>
        {
            var judged = new SpecimenReading(assay.Sheet.Specimens, now, Wrong);
            return specimen is null ? null : new OrderContent(new SpecimenId(specimen), assay.Assay.Code, priority,
                identifier, judged.Type(stated.SpecimenType), judged.Past("collected", stated.Collected),
                stated.Due is { } when ? BenchClock.ToMilliseconds(when) : null, comment);
        }).ToList();
        return Faults.Count > before || number is null ? null
            : (new OrderNumber(number), [.. wanted.OfType<OrderContent>()]);
    }

    private static string? Identifier(string? text, string member, Action<string, string, object?[]> wrong)
    {
        if (Bounds.IsIdentifier(text?.Trim()))
            return Bounds.Normal(text!.Trim());
        wrong(member, Words.IntakeTextFault, []);
        return null;
    }

    private IReadOnlyList<CatalogueAssay> Assays(IReadOnlyList<string>? said,
        Action<string, string, object?[]> wrong)
    {
        if (said is not { Count: > 0 and <= PanelsState.MostAssays })
        {
            wrong("assays", WorklistWords.AssaysFault, [PanelsState.MostAssays]);
            return [];
        }

        var found = new List<CatalogueAssay>();
        foreach (var one in said)
            if (words.Find(one) is { Count: > 0 } meant)
                found.AddRange(meant);
            else
                wrong("assays", RackWords.ListAssayUnknown, [Shown(one)]);
        return [.. found.DistinctBy(assay => assay.Assay.Code)];
    }

    /// <summary>What somebody else sent is told back only as far as a word goes.</summary>
    private static string Shown(string? said) => Bounds.IsIdentifier(said) ? said! : "…";
}
