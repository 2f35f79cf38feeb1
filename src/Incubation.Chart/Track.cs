using Incubation.Bench;
using Incubation.Model;
using NodaTime;

namespace Incubation.Chart;

/// <summary>A step's time, and whether it is only planned.</summary>
internal readonly record struct Span(Instant From, Instant To, bool Planned)
{
    public static Span Of(PlannedStep step, bool planned) => new(step.Start, step.End, planned);

    public static Span Of(DoneStep step) => new(step.Start, step.End, false);
}

/// <summary>One cartridge's way over the bench, as far as it is known or planned.</summary>
/// <param name="Request">Whose.</param>
/// <param name="Assay">Under which assay.</param>
internal sealed record Track(Request Request, Assay Assay)
{
    /// <summary>Where it reacts, or null while nothing says so.</summary>
    public CartridgePlace? Place { get; init; }

    /// <summary>Its load, or null where that lies too far back to be known.</summary>
    public Span? Load { get; init; }

    /// <summary>When its load ended.</summary>
    public InstantRange? LoadEnd { get; init; }

    public Span? Move { get; init; }
    public Span? Read { get; init; }
    public Span? Clear { get; init; }
    public Span? Discard { get; init; }

    /// <summary>When it was seen to be out of its slot though no move was reported, or null.</summary>
    public Instant? OutOfSlot { get; init; }

    public bool IsUrgent => Request.Priority == Priority.Urgent;

    public string Name => Request.Specimen.Value;

    /// <summary>
    /// The slot's number as it is written on its blocks, or null for a cartridge that reacts in a reader.
    /// </summary>
    public string? SlotText => Place is CartridgePlace.InSlot at ? at.Slot.ToString() : null;

    /// <summary>Adds a step that is planned or was done.</summary>
    public Track With(StepAction action, Span span, Instant now) => action switch
    {
        StepAction.Load load => this with
        {
            Place = load.Place,
            Load = span,
            LoadEnd = span.Planned ? Expected(span, now) : LoadEnd ?? new InstantRange(span.To, span.To),
        },
        StepAction.Move =>
            this with { Move = span, Read = Read ?? span with { From = span.To, To = span.To + Assay.Read } },
        StepAction.Read => this with { Read = span },
        StepAction.Clear => this with
        {
            Clear = span,
            Read = Read is { } read && read.To > span.From
            ? read with { To = Instant.Max(read.From, span.From) } : Read
        },
        StepAction.Discard => this with { Discard = span },
        _ => this,
    };

    private InstantRange Expected(Span load, Instant now)
    {
        var earliest = load.From + Assay.LoadShortest;
        if (load.From < now)
            earliest = Instant.Max(earliest, now);
        return new InstantRange(earliest, Instant.Max(earliest, load.To));
    }
}
