using System.Globalization;
using Incubation.Clinic;
using Incubation.Clinic.Assays;
using Incubation.Clinic.People;
using Incubation.Exchange;
using Incubation.Model;
using Incubation.Service.Clinic;
using Incubation.Service.Clock;
using Incubation.Service.People;
using Incubation.Service.Text;

namespace Incubation.Service.Assays;

/// <summary>What became of a draft: written, or what is wrong with its fields, or with all of it (member "").</summary>
/// <param name="Code">The assay's code where it was written.</param>
/// <param name="Faults">What is wrong.</param>
public sealed record DraftOutcome(AssayCode? Code, IReadOnlyList<FormFault> Faults);

/// <summary>One row of an import.</summary>
/// <param name="Path">Where it stands in the file.</param>
/// <param name="Line">On which line, from 1.</param>
/// <param name="Sheet">What it says, or null where it is faulty.</param>
/// <param name="Faults">What is wrong with it: where, and the sentence.</param>
public sealed record ImportRow(string Path, int Line, AssaySheet? Sheet, IReadOnlyList<string> Faults);

/// <summary>
/// A file that was looked at: its rows, or why it cannot be read. Nothing of it is in the catalogue yet.
/// </summary>
public sealed record ImportPreview(IReadOnlyList<ImportRow> Rows, IReadOnlyList<string> Faults)
{
    /// <summary>How many rows can be taken.</summary>
    public int Good => Rows.Count(row => row.Sheet is not null);
}

/// <summary>
/// Looks after the catalogue of assays: a draft is written by one supervisor and approved by another, and what is
/// approved is never changed.
/// </summary>
public sealed class AssayService(ClinicHost clinic, BenchClock clock)
{
    private const string ListName = "assays";

    /// <summary>What the clinic's stream tells of assays.</summary>
    public AssaysState Assays => clinic.Log.Assays;

    /// <summary>Writes a draft.</summary>
    /// <param name="actor">Who.</param>
    /// <param name="texts">The fields.</param>
    /// <param name="seen">The revision of the draft that the writer began from; 0 for none.</param>
    /// <param name="code">The assay whose draft it is; null for a new one.</param>
    public DraftOutcome Draft(Actor? actor, IReadOnlyDictionary<string, string?> texts, int seen, AssayCode? code)
    {
        if (!Access.May(actor, Right.Supervise))
            return Fault(Words.NotAllowed);
        var (sheet, faults) = SheetReading.Read(texts);
        if (sheet is null)
            return new DraftOutcome(null, faults);
        var state = Assays;
        var written = sheet.Assay.Code;
        if (code is { } own && own != written)
            return new DraftOutcome(null, [new FormFault("Code", AssayWords.FaultCodeFixed)]);
        if (code is null && (state.VersionsOf(written) > 0 || state.Drafts.ContainsKey(written)))
            return new DraftOutcome(null, [new FormFault("Code", AssayWords.FaultCodeTaken)]);
        if ((state.Drafts.GetValueOrDefault(written)?.Revision ?? 0) != seen)
            return Fault(Say.Of(Words.ClinicDraftChanged, written));
        var outcome = Record(actor!, new ClinicEvent.AssayDrafted(sheet, state.NextRevision(written)));
        return outcome.Fault is { } fault ? Fault(fault) : new DraftOutcome(written, []);
    }

    /// <summary>Gives a draft up.</summary>
    public Outcome Drop(Actor? actor, AssayCode code, int revision) =>
        Access.May(actor, Right.Supervise) ? Record(actor!, new ClinicEvent.AssayDraftDropped(code, revision))
            : new Outcome(Words.NotAllowed);

    /// <summary>Approves a draft as it was shown.</summary>
    /// <param name="actor">Who.</param>
    /// <param name="draft">The draft.</param>
    /// <param name="compared">The parts that whoever approves has compared with the instructions: each that the sheet
    /// has.</param>
    public Outcome Approve(Actor? actor, AssayDraft draft, IReadOnlySet<SheetGroup> compared)
    {
        ArgumentNullException.ThrowIfNull(draft);
        ArgumentNullException.ThrowIfNull(compared);
        if (!Access.May(actor, Right.Supervise))
            return new Outcome(Words.NotAllowed);
        var code = draft.Sheet.Assay.Code;
        var state = Assays;
        if (state.Drafts.GetValueOrDefault(code)?.Revision != draft.Revision)
            return new Outcome(Say.Of(Words.ClinicDraftChanged, code));
        var missing = SheetFields.GroupsOf(draft.Sheet).Where(group => !compared.Contains(group)).ToList();
        return missing.Count > 0 ? new Outcome(Say.Of(AssayWords.NotCompared, SheetGroupText.Of(missing[0])))
            : Record(actor!, new ClinicEvent.AssayApproved(draft.Sheet, state.VersionsOf(code) + 1));
    }

    /// <summary>The newest approved version of every assay, or of one, as a file.</summary>
    /// <param name="only">The one; null for all.</param>
    public string Export(AssayCode? only = null) => FieldFile.Write(
        AssayWords.ExportNote, ListName,
        Assays.Versions.Where(pair => only is null || pair.Key == only)
            .OrderBy(pair => pair.Key.Value, StringComparer.Ordinal)
            .Select(pair =>
                SheetFields.All.Select(field => (MemberName(field.Member), InFile(field, pair.Value[^1].Sheet)))
                .ToList()));

    /// <summary>Looks at a file of assays; nothing is taken from it yet.</summary>
    public static ImportPreview Preview(string json)
    {
        var members = SheetFields.All.ToDictionary(field => MemberName(field.Member), field => field.Member);
        var read = FieldFile.Parse(json, ListName, members.Keys);
        if (read.Value is not { } rows)
            return new ImportPreview([],
                [.. read.Faults.Select(fault =>
                    Say.Of(AssayWords.ImportFault, fault.Path, fault.Line, fault.What, fault.Allowed))]);
        var seen = new HashSet<string>(StringComparer.OrdinalIgnoreCase);
        return new ImportPreview([.. rows.Select(row => LookAt(row, members, seen))], []);
    }

    /// <summary>Takes the good rows of a file as drafts, all or none; each waits for approval.</summary>
    public Outcome Take(Actor? actor, ImportPreview look)
    {
        ArgumentNullException.ThrowIfNull(look);
        if (!Access.May(actor, Right.Supervise))
            return new Outcome(Words.NotAllowed);
        var state = Assays;
        var events = look.Rows.Select(row => row.Sheet).OfType<AssaySheet>()
            .Select(sheet => (ClinicEvent)new ClinicEvent.AssayDrafted(sheet, state.NextRevision(sheet.Assay.Code)))
            .ToList();
        return events.Count == 0
            ? new Outcome(AssayWords.ImportNothing)
            : Outcome.Of(() => clinic.Log.Record(events, Provenances.Of(actor!, clock)));
    }

    private static ImportRow LookAt(FieldRow row, Dictionary<string, string> members, HashSet<string> seen)
    {
        var faults = row.Faults.Select(fault =>
            Say.Of(AssayWords.ImportFault, fault.Path, fault.Line, fault.What, fault.Allowed)).ToList();
        if (faults.Count > 0)
            return new ImportRow(row.Path, row.Line, null, faults);
        var (sheet, wrong) =
            SheetReading.Read(row.Fields.ToDictionary(field => members[field.Key], field => (string?)field.Value.Text),
                isFile: true);
        foreach (var fault in wrong)
        {
            var at = row.Fields.GetValueOrDefault(MemberName(fault.Member));
            faults.Add(Say.Of(AssayWords.ImportWrong, at?.Path ?? row.Path + "." + MemberName(fault.Member), at?.Line
                ?? row.Line, fault.Sentence));
        }

        if (sheet is not null && !seen.Add(sheet.Assay.Code.Value))
        {
            faults.Add(Say.Of(AssayWords.ImportWrong, row.Path, row.Line,
                Say.Of(AssayWords.ImportTwice, sheet.Assay.Code)));
            sheet = null;
        }

        return new ImportRow(row.Path, row.Line, sheet, faults);
    }

    private static string? InFile(SheetField field, AssaySheet sheet)
    {
        var text = field.Read(sheet);
        return text is not null && field.IsLength && TypedLength.Read(text, field.Unit).Length is { } length
            ? IsoDuration.Format(length) : text;
    }

    /// <summary>A field as files name it.</summary>
    private static string MemberName(string member) =>
        string.Create(CultureInfo.InvariantCulture, $"{char.ToLowerInvariant(member[0])}{member[1..]}");

    private static DraftOutcome Fault(string sentence) => new(null, [new FormFault("", sentence)]);

    private Outcome Record(Actor actor, ClinicEvent happened) =>
        Outcome.Of(() => clinic.Log.Record(happened, Provenances.Of(actor, clock)));
}
