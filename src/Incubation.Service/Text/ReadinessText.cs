using Incubation.Bench;

namespace Incubation.Service.Text;

/// <summary>The words of what must be so before cartridges are started.</summary>
public static class ReadinessText
{
    /// <summary>What must be so: "Incubator at 25 °C, within 1 °C".</summary>
    public static string What(BenchState state, ReadinessKey key)
    {
        ArgumentNullException.ThrowIfNull(key);
        var warmth = Readiness.BatchWarmth(state);
        return key.Kind switch
        {
            ReadinessKind.Incubator => Say.Of(TextWords.Incubator, warmth?.Set.Degrees, warmth?.Tolerance.Degrees),
            ReadinessKind.Materials => Say.Of(TextWords.Materials, key.Of),
            _ => Say.Of(TextWords.Reader, key.Of),
        };
    }
}
