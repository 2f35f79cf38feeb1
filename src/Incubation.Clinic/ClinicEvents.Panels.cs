using System.Collections.Immutable;
using Incubation.Model;

namespace Incubation.Clinic;

public abstract partial record ClinicEvent
{
    /// <summary>Several assays can be wanted by one name from now on, or by others than before.</summary>
    /// <param name="Panel">The panel.</param>
    /// <param name="Assays">What it stands for, at least two.</param>
    public sealed record PanelSet(PanelName Panel, ImmutableArray<AssayCode> Assays) : ClinicEvent;

    /// <summary>A panel is offered no more; what was wanted by it stays.</summary>
    /// <param name="Panel">The panel.</param>
    public sealed record PanelRemoved(PanelName Panel) : ClinicEvent;
}
