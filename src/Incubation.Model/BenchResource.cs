namespace Incubation.Model;

/// <summary>A kind of resource, as files and the log write it beside its number.</summary>
public enum ResourceKind
{
    Hands,
    Slot,
    Reader,

    /// <summary>All slots.</summary>
    Incubator,
}

/// <summary>What a bench works with, and what can be out of use.</summary>
public abstract record BenchResource
{
    private BenchResource() { }

    /// <summary>A pair of hands.</summary>
    public sealed record Hands(HandsNumber Number) : BenchResource;

    /// <summary>A slot of the incubator.</summary>
    public sealed record Slot(SlotNumber Number) : BenchResource;

    /// <summary>A reader.</summary>
    public sealed record Reader(ReaderNumber Number) : BenchResource;

    /// <summary>The incubator: all its slots.</summary>
    public sealed record Incubator : BenchResource;

    /// <summary>
    /// What a kind and a number name; null where a number is missing, is below 1, or stands beside the incubator.
    /// </summary>
    public static BenchResource? Of(ResourceKind kind, int? number) => (kind, number) switch
    {
        (ResourceKind.Incubator, null) => new Incubator(),
        (ResourceKind.Hands, >= 1) => new Hands(new HandsNumber(number.Value)),
        (ResourceKind.Slot, >= 1) => new Slot(new SlotNumber(number.Value)),
        (ResourceKind.Reader, >= 1) => new Reader(new ReaderNumber(number.Value)),
        _ => null,
    };

    /// <summary>Its kind and its number; the incubator has none.</summary>
    public (ResourceKind Kind, int? Number) Parts => this switch
    {
        Hands hands => (ResourceKind.Hands, hands.Number.Value),
        Slot slot => (ResourceKind.Slot, slot.Number.Value),
        Reader reader => (ResourceKind.Reader, reader.Number.Value),
        _ => (ResourceKind.Incubator, null),
    };

    /// <summary>Whether another is this, or one of its slots.</summary>
    public bool Includes(BenchResource other) => this == other || (this is Incubator && other is Slot);
}
