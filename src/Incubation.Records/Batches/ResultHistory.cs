using System.Collections.Immutable;
using System.Text.Json.Serialization;
using Incubation.Bench;

namespace Incubation.Records.Batches;

/// <summary>
/// Every value that a result has had, the first first: when it was entered or amended to, by whom and why, and who was
/// told of it. Equal where all of them are.
/// </summary>
public sealed record ResultHistory(ImmutableArray<ResultValue> Values)
{
    /// <summary>The present value.</summary>
    [JsonIgnore]
    public ResultValue Last => Values[^1];

    /// <summary>The same with one more value.</summary>
    public ResultHistory With(ResultValue value) => new(Values.Add(value));

    /// <summary>The same with the last one changed.</summary>
    public ResultHistory WithLast(Func<ResultValue, ResultValue> change)
    {
        ArgumentNullException.ThrowIfNull(change);
        return new(Values.SetItem(Values.Length - 1, change(Last)));
    }

    /// <inheritdoc/>
    public bool Equals(ResultHistory? other) => other is not null && Values.AsSpan().SequenceEqual(
        other.Values.AsSpan());

    /// <inheritdoc/>
    public override int GetHashCode() => Values.Length == 0 ? 0 : HashCode.Combine(Values.Length, Last);
}
