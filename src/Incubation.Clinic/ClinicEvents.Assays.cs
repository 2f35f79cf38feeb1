using Incubation.Model;

namespace Incubation.Clinic;

public abstract partial record ClinicEvent
{
    /// <summary>A draft of an assay is written, or written anew.</summary>
    /// <param name="Sheet">The whole draft.</param>
    /// <param name="Revision">Which writing of this assay's draft it is, from 1: two people who write at once are told
    /// of each other.</param>
    public sealed record AssayDrafted(AssaySheet Sheet, int Revision) : ClinicEvent;

    /// <summary>A draft is given up; what is approved stays.</summary>
    /// <param name="Code">Of which assay.</param>
    /// <param name="Revision">The writing that is given up.</param>
    public sealed record AssayDraftDropped(AssayCode Code, int Revision) : ClinicEvent;

    /// <summary>
    /// An assay may be run as its kit's instructions state it: its draft, as another person than its writers has
    /// approved it.
    /// </summary>
    /// <param name="Sheet">The assay.</param>
    /// <param name="Version">Its version, from 1, each approval one more.</param>
    public sealed record AssayApproved(AssaySheet Sheet, int Version) : ClinicEvent;
}
