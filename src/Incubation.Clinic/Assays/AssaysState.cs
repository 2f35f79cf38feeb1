using System.Collections.Immutable;
using Incubation.Bench;
using Incubation.Model;
using NodaTime;

namespace Incubation.Clinic.Assays;

/// <summary>A draft that nobody has approved yet.</summary>
/// <param name="Sheet">What it says.</param>
/// <param name="Revision">Which writing it is, from 1.</param>
/// <param name="Writers">Everybody who wrote at it: none of them may approve it.</param>
/// <param name="At">When it was last written.</param>
public sealed record AssayDraft(AssaySheet Sheet, int Revision, ImmutableSortedSet<string> Writers, Instant At);

/// <summary>A version that may be run, or might once.</summary>
/// <param name="Sheet">What it says.</param>
/// <param name="Version">From 1.</param>
/// <param name="At">When it was approved.</param>
/// <param name="By">By whom.</param>
/// <param name="Writers">Who wrote it; empty where the log does not say.</param>
public sealed record AssayVersion(AssaySheet Sheet, int Version, Instant At, PersonId By,
    ImmutableSortedSet<string> Writers);

/// <summary>The catalogue of assays as the clinic's stream tells. Immutable; made from events alone.</summary>
public sealed record AssaysState
{
    /// <summary>No assay yet.</summary>
    public static AssaysState Empty { get; } = new();

    /// <summary>All versions of each assay, the first one first.</summary>
    public ImmutableDictionary<AssayCode, ImmutableArray<AssayVersion>> Versions { get; private init; } =
        ImmutableDictionary<AssayCode, ImmutableArray<AssayVersion>>.Empty;

    /// <summary>The draft of each assay that has one.</summary>
    public ImmutableDictionary<AssayCode, AssayDraft> Drafts { get; private init; } =
        ImmutableDictionary<AssayCode, AssayDraft>.Empty;

    /// <summary>The revision of each assay's latest draft, approved and given up ones too.</summary>
    private ImmutableDictionary<AssayCode, int> Revisions { get; init; } = ImmutableDictionary<AssayCode, int>.Empty;

    /// <summary>The latest version of an assay, or null.</summary>
    public AssayVersion? Latest(AssayCode code) => Versions.TryGetValue(code, out var versions) ? versions[^1] : null;

    /// <summary>How many versions of an assay are approved.</summary>
    public int VersionsOf(AssayCode code) => Versions.TryGetValue(code, out var versions) ? versions.Length : 0;

    /// <summary>
    /// By which rule results of an assay are reported in a version; as displayed where nobody has said.
    /// </summary>
    public ResultRule ResultRuleOf(AssayCode code, int version) =>
        Versions.GetValueOrDefault(code, []).ElementAtOrDefault(version - 1)?.Sheet.Results ?? ResultRule.AsDisplayed;

    /// <summary>The revision that the next writing of a draft bears.</summary>
    public int NextRevision(AssayCode code) => Revisions.GetValueOrDefault(code) + 1;

    /// <summary>The state after one more entry; the same where it is about something else.</summary>
    public AssaysState Apply(ClinicEntry entry)
    {
        ArgumentNullException.ThrowIfNull(entry);
        var provenance = entry.Provenance;
        return entry.Event switch
        {
            ClinicEvent.AssayDrafted drafted => Drafted(drafted, provenance),
            ClinicEvent.AssayDraftDropped dropped => this with { Drafts = Drafts.Remove(dropped.Code) },
            ClinicEvent.AssayApproved approved => Approved(approved, provenance),
            _ => this,
        };
    }

    /// <summary>What speaks against an event, or null. Events about something else: null.</summary>
    internal ClinicObjection? Against(ClinicEvent @event, Provenance provenance) => @event switch
    {
        ClinicEvent.AssayDrafted drafted => AgainstDraft(drafted),
        ClinicEvent.AssayDraftDropped dropped =>
            AgainstRevision(dropped.Code, dropped.Revision, Drafts.GetValueOrDefault(dropped.Code)?.Revision),
        ClinicEvent.AssayApproved approved => AgainstApproval(approved, provenance.Person),
        _ => null,
    };

    private AssaysState Drafted(ClinicEvent.AssayDrafted drafted, Provenance provenance)
    {
        var code = drafted.Sheet.Assay.Code;
        var writers = Drafts.GetValueOrDefault(code)?.Writers ?? [];
        return this with
        {
            Drafts = Drafts.SetItem(code,
                new AssayDraft(drafted.Sheet, drafted.Revision, writers.Add(provenance.Person.Value), provenance.At)),
            Revisions = Revisions.SetItem(code, drafted.Revision),
        };
    }

    private AssaysState Approved(ClinicEvent.AssayApproved approved, Provenance provenance)
    {
        var code = approved.Sheet.Assay.Code;
        var version = new AssayVersion(approved.Sheet, approved.Version, provenance.At, provenance.Person,
            Drafts.GetValueOrDefault(code)?.Writers ?? []);
        return this with
        {
            Versions = Versions.SetItem(code, [.. Versions.GetValueOrDefault(code, []), version]),
            Drafts = Drafts.Remove(code),
        };
    }

    private ClinicObjection? AgainstDraft(ClinicEvent.AssayDrafted drafted)
    {
        var code = drafted.Sheet.Assay.Code;
        return SheetFaults.Against(drafted.Sheet) ?? AgainstRevision(code, drafted.Revision, NextRevision(code));
    }

    private ClinicObjection? AgainstApproval(ClinicEvent.AssayApproved approved, PersonId by)
    {
        var code = approved.Sheet.Assay.Code;
        if (SheetFaults.Against(approved.Sheet) is { } fault)
            return fault;
        if (approved.Version != VersionsOf(code) + 1)
            return new(ClinicRefusal.VersionOutOfOrder, code.Value);
        if (Drafts.GetValueOrDefault(code) is not { } draft || !approved.Sheet.SaysTheSame(draft.Sheet))
            return new(ClinicRefusal.DraftChanged, code.Value);
        return draft.Writers.Contains(by.Value) ? new(ClinicRefusal.OwnDraft, code.Value) : null;
    }

    private static ClinicObjection? AgainstRevision(AssayCode code, int said, int? expected) =>
        said == expected ? null : new(ClinicRefusal.DraftChanged, code.Value);
}
