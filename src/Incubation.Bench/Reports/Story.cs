using System.Collections.Immutable;
using Incubation.Model;
using NodaTime;

namespace Incubation.Bench;

/// <summary>
/// A report about a step as it stands now: as it was first told, or as corrected since. The log keeps both.
/// </summary>
/// <param name="Id">The report.</param>
/// <param name="At">When it happened: as told, or as corrected.</param>
/// <param name="Device">Through what it was told.</param>
/// <param name="Event">What happened, with its deviations as judged last.</param>
/// <param name="Claimed">The time as the text that came, where <paramref name="At"/> is the report's arrival instead
/// and nobody has said since when it was; else null.</param>
/// <param name="HeardBy">When the host's clock had gone back after it was told: it had been heard by then at the
/// latest. Null where the clock has not gone back to before it.</param>
public sealed record ReportedStep(ReportId Id, Instant At, DeviceId Device, BenchEvent.StoryEvent Event,
    string? Claimed = null, Instant? HeardBy = null)
{
    /// <summary>
    /// By which time it stands among other reports: when it happened, but not after it was heard, whatever a clock that
    /// was ahead has said.
    /// </summary>
    internal Instant InOrder => HeardBy is { } heard ? Instant.Min(At, heard) : At;

    /// <summary>The cartridge that it is about, or null.</summary>
    public RequestId? Subject => Event.Subject;

    /// <summary>
    /// Where the cartridge was put or taken from, or whose card was changed; null where the step names no place.
    /// </summary>
    public CartridgePlace? Place => Event.Where;

    /// <summary>
    /// The step of hands that it tells; throws <see cref="InvalidOperationException"/> where it tells of a card that
    /// was seen or doubted.
    /// </summary>
    internal BenchEvent.StepEvent Step => Event as BenchEvent.StepEvent
        ?? throw new InvalidOperationException($"The event {Event.GetType().Name} tells of no step.");

    /// <summary>In what it differs, as judged last.</summary>
    public ImmutableArray<Deviation> Deviations => Event.DiffersIn;
}

/// <summary>What a correction changes of an earlier report; null leaves it as it was.</summary>
/// <param name="Report">The earlier report.</param>
/// <param name="At">When it really happened.</param>
/// <param name="Place">In which slot or reader.</param>
/// <param name="Lot">Which card.</param>
public sealed record Correction(ReportId Report, Instant? At, CartridgePlace? Place, LotCode? Lot)
{
    /// <summary>In which reader, where it says one.</summary>
    internal ReaderNumber? Reader => (Place as CartridgePlace.InReader)?.Reader;
}

/// <summary>How a report is judged now.</summary>
public sealed record Verdict(ReportId Report, ImmutableArray<Deviation> Deviations);
