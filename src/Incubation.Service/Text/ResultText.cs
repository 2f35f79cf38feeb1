using System.Text.RegularExpressions;
using Incubation.Model;

namespace Incubation.Service.Text;

/// <summary>What counts as a value that a reader displays.</summary>
public static partial class ResultText
{
    /// <summary>Digits with at most one decimal point, optionally led by &lt; or &gt;; at most 16 characters.</summary>
    public static bool IsValue(string text) => text.Length <= Bounds.MaxValue && Value().IsMatch(text);

    [GeneratedRegex(@"\A[<>]?\d+(\.\d+)?\z", RegexOptions.CultureInvariant)]
    private static partial Regex Value();
}
