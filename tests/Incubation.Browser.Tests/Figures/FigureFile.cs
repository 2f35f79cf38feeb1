using System.Globalization;

namespace Incubation.Browser.Tests.Figures;

/// <summary>Where figures are noted for a comparison of two programs: a line each of name, tab, number.</summary>
internal static class FigureFile
{
    /// <summary>Appends a figure to the file that INCUBATION_FIGURES names; does nothing where it names none.</summary>
    public static void Add(string name, double figure)
    {
        if (Environment.GetEnvironmentVariable("INCUBATION_FIGURES") is { Length: > 0 } path && double.IsFinite(figure))
            File.AppendAllText(path, string.Create(CultureInfo.InvariantCulture, $"{name}\t{figure:0.####}\n"));
    }
}
