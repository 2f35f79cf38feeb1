using Incubation.Model;

namespace Incubation.Bench;

/// <summary>
/// A result as a person reads it from the reader's display. The assay's unit is added when it is recorded.
/// </summary>
public abstract record ShownResult
{
    private ShownResult() { }

    /// <summary>A value as displayed, digits and decimals kept, optionally led by &lt; or &gt;.</summary>
    public sealed record Value(string Text) : ShownResult;

    /// <summary>The reader gave no value; its code or words.</summary>
    public sealed record NoValue(string Code) : ShownResult;

    /// <summary>The result in a UCUM unit.</summary>
    public ReadResult In(string unit) => this switch
    {
        Value value => new ReadResult.Measured(value.Text, unit),
        NoValue none => new ReadResult.NoValue(none.Code),
        _ => throw new InvalidOperationException($"The result {GetType().Name} is not known."),
    };
}

/// <summary>What a reader shows as the specimen's identity beside a result.</summary>
/// <param name="Specimen">What it shows; null where it shows none.</param>
public sealed record ShownIdentity(string? Specimen)
{
    /// <summary>None.</summary>
    public static ShownIdentity None { get; } = new((string?)null);

    /// <summary>
    /// Compares with the specimen's id, ignoring case and surrounding spaces; a control's is also its lot and level as
    /// people write them.
    /// </summary>
    public ResultIdentity Against(BenchRequest wanted)
    {
        ArgumentNullException.ThrowIfNull(wanted);
        return Specimen?.Trim() is not { Length: > 0 } shown ? ResultIdentity.Missing
            : string.Equals(shown, wanted.Request.Specimen.Value, StringComparison.OrdinalIgnoreCase)
            || wanted is { Request.Kind: RequestKind.Control, Facts.Control: { } control } && control.IsWrittenAs(shown)
            ? ResultIdentity.Matches : ResultIdentity.Different;
    }
}
