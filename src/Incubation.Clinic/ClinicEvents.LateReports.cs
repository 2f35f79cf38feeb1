using Incubation.Model;

namespace Incubation.Clinic;

/// <summary>What a supervisor makes of a report that came after its batch had been closed.</summary>
public enum LateReportDecision
{
    /// <summary>It is noted, and changes nothing.</summary>
    Noted,

    /// <summary>The cartridge's result was amended for it.</summary>
    Amended,
}

public abstract partial record ClinicEvent
{
    /// <summary>
    /// A report of a cartridge came after its batch had been closed. It changes no result: it waits for a decision.
    /// </summary>
    /// <param name="Bench">The bench that ran it.</param>
    /// <param name="Batch">Number of the batch.</param>
    /// <param name="Request">The cartridge.</param>
    /// <param name="Said">What the report says, in the flat form in which screens send it.</param>
    /// <param name="Checked">Whether it is known that it was this person.</param>
    /// <param name="Claimed">The time as it came, where the report is recorded as of its arrival; else null.</param>
    /// <param name="Sender">Who sent it, where that is another than whose report it is; else null.</param>
    public sealed record ReportedAfterClose(BenchId Bench, int Batch, RequestId Request, string Said, bool Checked,
        string? Claimed, PersonId? Sender) : ClinicEvent;

    /// <summary>A supervisor has decided on a report that came after its batch had been closed.</summary>
    /// <param name="Bench">The bench that ran the cartridge.</param>
    /// <param name="Request">The cartridge.</param>
    /// <param name="Report">The report.</param>
    /// <param name="Decision">What was decided.</param>
    /// <param name="Why">Why, in words.</param>
    public sealed record LateReportSettled(BenchId Bench, RequestId Request, ReportId Report,
        LateReportDecision Decision, string Why) : ClinicEvent;
}
