using System.Text.RegularExpressions;
using Xunit;

namespace Incubation.Architecture.Tests;

/// <summary>
/// Beside each field into which a number or a time of day is typed stands what was understood of it: either decimal
/// mark counts, and a time is the one nearest to now.
/// </summary>
public sealed partial class TypedFieldsTest
{
    [Fact]
    public void Fields_ForNumbersAndTimes_SayWhatIsUnderstood()
    {
        var asking = Directory.EnumerateFiles(Path.Combine(SourceTree.Root, "src", "Incubation.Server"), "*.razor",
                SearchOption.AllDirectories)
            .SelectMany(path => Fields().Matches(File.ReadAllText(path)).Select(field => field.Value)).ToList();

        Assert.True(asking.Count > 15);
        Assert.DoesNotContain(asking, field => !field.Contains("Understand=", StringComparison.Ordinal)
            // The bench's hours have no day.
            && !field.Contains("form.Open", StringComparison.Ordinal)
            && !field.Contains("form.Close", StringComparison.Ordinal));
    }

    [GeneratedRegex("""<Field\s(?:(?!/>).)*?(?:InputMode="decimal"|Type="time").*?/>""", RegexOptions.Singleline)]
    private static partial Regex Fields();
}
