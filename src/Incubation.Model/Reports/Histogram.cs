namespace Incubation.Model.Reports;

/// <summary>How many values lie in each of equal classes; a class holds its lower end and not its upper one.</summary>
/// <param name="From">Lower end of the first class.</param>
/// <param name="Width">Width of a class.</param>
/// <param name="Counts">How many lie in each class.</param>
/// <param name="Below">How many lie below the first.</param>
/// <param name="Above">How many lie above the last; the last class holds its upper end too.</param>
public sealed record Histogram(double From, double Width, IReadOnlyList<int> Counts, int Below, int Above)
{
    /// <summary>All values, those outside the classes too.</summary>
    public int Total => Below + Above + Counts.Sum();

    /// <summary>Upper end of the last class.</summary>
    public double To => From + (Width * Counts.Count);

    /// <summary>Counts values.</summary>
    /// <param name="values">The values.</param>
    /// <param name="from">Lower end of the first class.</param>
    /// <param name="width">Width of a class; more than zero.</param>
    /// <param name="classes">How many classes; at least one.</param>
    public static Histogram Of(IEnumerable<double> values, double from, double width, int classes)
    {
        ArgumentNullException.ThrowIfNull(values);
        ArgumentOutOfRangeException.ThrowIfNegativeOrZero(width);
        ArgumentOutOfRangeException.ThrowIfNegativeOrZero(classes);
        var counts = new int[classes];
        var (below, above, to) = (0, 0, from + (width * classes));
        foreach (var value in values)
            if (value < from)
                below++;
            else if (value > to)
                above++;
            else
                counts[Math.Min(classes - 1, (int)((value - from) / width))]++;
        return new Histogram(from, width, counts, below, above);
    }
}
