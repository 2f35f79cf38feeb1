using System.Collections.Immutable;
using Incubation.Model;

namespace Incubation.Clinic.Panels;

/// <summary>Several assays that are wanted together, by one name.</summary>
/// <param name="Name">The name.</param>
/// <param name="Assays">The assays, in the order in which they were named.</param>
public sealed record Panel(PanelName Name, ImmutableArray<AssayCode> Assays);

/// <summary>The clinic's panels as its stream tells. Immutable; made from events alone.</summary>
public sealed record PanelsState
{
    /// <summary>A panel of fewer is an assay.</summary>
    public const int LeastAssays = 2;

    /// <summary>More assays than are run on one tube.</summary>
    public const int MostAssays = 20;

    /// <summary>No panel yet.</summary>
    public static PanelsState Empty { get; } = new();

    /// <summary>The panels, by name.</summary>
    public ImmutableSortedDictionary<string, Panel> All { get; private init; } =
        ImmutableSortedDictionary.Create<string, Panel>(StringComparer.OrdinalIgnoreCase);

    /// <summary>The state after one more entry; the same where it is about something else.</summary>
    public PanelsState Apply(ClinicEntry entry)
    {
        ArgumentNullException.ThrowIfNull(entry);
        return entry.Event switch
        {
            ClinicEvent.PanelSet set => this with
            {
                All = All.Remove(set.Panel.Value).Add(set.Panel.Value, new Panel(set.Panel, set.Assays)),
            },
            ClinicEvent.PanelRemoved removed => this with { All = All.Remove(removed.Panel.Value) },
            _ => this,
        };
    }

    /// <summary>What speaks against an event, or null. Events about something else: null.</summary>
    /// <param name="event">The event.</param>
    /// <param name="isApproved">Whether an assay may be run.</param>
    internal ClinicObjection? Against(ClinicEvent @event, Func<AssayCode, bool> isApproved) => @event switch
    {
        ClinicEvent.PanelSet set when set.Assays.Length is < LeastAssays or > MostAssays
            || set.Assays.Distinct().Count() < set.Assays.Length =>
            new(ClinicRefusal.PanelImpossible, set.Panel.Value),
        ClinicEvent.PanelSet set when !set.Assays.All(isApproved) =>
            new(ClinicRefusal.UnknownAssay, set.Assays.First(assay => !isApproved(assay)).Value),
        ClinicEvent.PanelRemoved removed when !All.ContainsKey(removed.Panel.Value) =>
            new(ClinicRefusal.UnknownPanel, removed.Panel.Value),
        _ => null,
    };
}
