using System.Collections.Immutable;
using Incubation.Model;
using Incubation.Model.Controls;
using NodaTime;

namespace Incubation.Clinic;

public abstract partial record ClinicEvent
{
    /// <summary>What a control should give.</summary>
    /// <param name="Assay">By which assay.</param>
    /// <param name="Control">Which control.</param>
    /// <param name="Target">Mean and standard deviation, in the assay's unit.</param>
    /// <param name="Source">Where they come from.</param>
    /// <param name="LastDay">The last day on which controls are judged by it, in the clinic's zone; null for no
    /// end.</param>
    public sealed record ControlTargetSet(AssayCode Assay, ControlMaterial Control, ControlTarget Target,
        TargetSource Source, LocalDate? LastDay = null) : ClinicEvent;

    /// <summary>A control has no target any more: it was set wrongly, or the control is not used.</summary>
    /// <param name="Assay">By which assay.</param>
    /// <param name="Control">Which control.</param>
    /// <param name="Why">Why, in words.</param>
    public sealed record ControlTargetRemoved(AssayCode Assay, ControlMaterial Control, string Why) : ClinicEvent;

    /// <summary>By which rules controls of an assay are judged.</summary>
    public sealed record ControlRulesSet(AssayCode Assay, ControlRules Rules) : ClinicEvent;

    /// <summary>How the moving mean of patients' results of an assay is worked out, and its limits.</summary>
    /// <param name="Assay">The assay.</param>
    /// <param name="Rule">How; null where it is worked out no more.</param>
    public sealed record MovingMeanSet(AssayCode Assay, MovingMeanRule? Rule) : ClinicEvent;

    /// <summary>A control's result was judged, judged anew, or its judgement set aside.</summary>
    public sealed record ControlJudged(ControlRun Run) : ClinicEvent;

    /// <summary>Every judgement was looked at by a rule of what may be judged.</summary>
    /// <param name="Rule">Number of the rule.</param>
    public sealed record JudgementRuleTaken(int Rule) : ClinicEvent;

    /// <summary>What was done about rejected controls.</summary>
    /// <param name="Lot">The kit lot.</param>
    /// <param name="Controls">The rejected controls.</param>
    /// <param name="Found">What was found to be the cause.</param>
    /// <param name="Done">What was done about it.</param>
    public sealed record CorrectiveActionTaken(LotCode Lot, ImmutableArray<RequestId> Controls, string Found,
        string Done) : ClinicEvent;

    /// <summary>Results released between the last good control and a rejected one were looked at.</summary>
    /// <param name="Lot">The kit lot.</param>
    /// <param name="Results">Those results; empty where there was none.</param>
    /// <param name="Finding">What was found, and what was done about it.</param>
    public sealed record ReleasedReviewed(LotCode Lot, ImmutableArray<ReleasedResult> Results, string Finding)
        : ClinicEvent;

    /// <summary>A reader was serviced.</summary>
    /// <param name="Bench">On which bench.</param>
    /// <param name="Reader">Which.</param>
    /// <param name="What">What was done to it.</param>
    public sealed record ReaderServiced(BenchId Bench, ReaderNumber Reader, string What) : ClinicEvent;
}
