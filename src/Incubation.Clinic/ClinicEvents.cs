using Incubation.Bench;
using Incubation.Model;
using NodaTime;

namespace Incubation.Clinic;

/// <summary>Something that happened in the clinic's catalogue or intake.</summary>
public abstract partial record ClinicEvent
{
    private ClinicEvent() { }

    /// <summary>The clinic exists; first event of its stream.</summary>
    /// <param name="Name">The name that people read.</param>
    /// <param name="TimeZone">Id of its zone in the IANA time zone database.</param>
    /// <param name="Sealed">Whether the program that opened it seals what lies beside the log, from its first row
    /// on.</param>
    public sealed record ClinicOpened(string Name, string TimeZone, bool Sealed = true) : ClinicEvent;

    /// <summary>
    /// A kit lot has come in, with its buffer and its reader card; what was recorded before stock was counted.
    /// </summary>
    /// <param name="Lot">The lot.</param>
    /// <param name="Assay">The assay that it is for.</param>
    /// <param name="Expiry">The last day on which it may be used, in the clinic's zone.</param>
    public sealed record LotReceived(LotCode Lot, AssayCode Assay, LocalDate Expiry) : ClinicEvent;

    /// <summary>A bench belongs to the clinic; its set-up stands in its own stream.</summary>
    public sealed record BenchRegistered(BenchId Bench, string Name) : ClinicEvent;

    /// <summary>A request has come in for a bench.</summary>
    /// <param name="Bench">The bench that is to run it.</param>
    /// <param name="Request">What is wanted.</param>
    /// <param name="AssayVersion">The version of the assay that it runs under.</param>
    /// <param name="Particulars">What else is known of it, or null.</param>
    public sealed record RequestReceived(BenchId Bench, Request Request, int AssayVersion,
        Particulars? Particulars = null) : ClinicEvent;

    /// <summary>A person has confirmed the server's time while it was in doubt.</summary>
    /// <param name="Shown">The server's time that was confirmed.</param>
    /// <param name="LogAhead">The latest arrival in the log up to then that lies after it, or null: such rows are
    /// doubted no more.</param>
    public sealed record ClockConfirmed(Instant Shown, Instant? LogAhead) : ClinicEvent;
}

/// <summary>
/// An event of the clinic as it stands in the log: what happened, and who said so, when, through what.
/// </summary>
public sealed record ClinicEntry(ClinicEvent Event, Provenance Provenance);
