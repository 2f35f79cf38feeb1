using System.Diagnostics.CodeAnalysis;
using Incubation.Model;

namespace Incubation.Records.Log;

/// <summary>Names a stream of the log: <c>clinic</c>, or <c>bench/</c> with the bench's id.</summary>
public readonly record struct StreamName
{
    private const string ClinicName = "clinic";
    private const string BenchPrefix = "bench/";

    private readonly string? text;

    private StreamName(string text) => this.text = text;

    /// <summary>The clinic's one stream; also the default value.</summary>
    public static StreamName Clinic => new(ClinicName);

    /// <summary>The stream of a bench.</summary>
    public static StreamName OfBench(BenchId bench) => new(BenchPrefix + bench.Value);

    /// <summary>The bench whose stream this is, or null for the clinic's.</summary>
    public BenchId? Bench =>
        ToString().StartsWith(BenchPrefix, StringComparison.Ordinal)
            ? BenchId.Of(ToString()[BenchPrefix.Length..]) : null;

    /// <summary>Reads a name as <see cref="ToString"/> writes it.</summary>
    public static bool TryParse([NotNullWhen(true)] string? text, out StreamName stream)
    {
        var known = text == ClinicName
            || (text is not null && text.StartsWith(BenchPrefix, StringComparison.Ordinal)
                && TextId.IsValid(text[BenchPrefix.Length..]));
        stream = known ? new StreamName(text!) : Clinic;
        return known;
    }

    public override string ToString() => text ?? ClinicName;

    public bool Equals(StreamName other) => ToString() == other.ToString();

    public override int GetHashCode() => ToString().GetHashCode(StringComparison.Ordinal);
}
