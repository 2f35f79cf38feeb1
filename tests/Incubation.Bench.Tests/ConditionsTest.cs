using System.Globalization;
using System.Runtime.CompilerServices;
using System.Text.RegularExpressions;
using Xunit;

namespace Incubation.Bench.Tests;

/// <summary>The table of conditions is whole, and its page says what the code does.</summary>
public sealed partial class ConditionsTest
{
    private static readonly string Page = Path.Combine(Path.GetDirectoryName(Here())!, "..", "..", "src",
        "Incubation.Bench", "Conditions.md");

    [Fact]
    public void All_EveryKindOfAlarm_HasOneRowWithACodeOfItsOwn()
    {
        Assert.Equal(Enum.GetValues<AlarmKind>(), Conditions.All.Select(c => c.Kind).Order());
        Assert.Equal(Conditions.All.Length, Conditions.All.Select(c => c.Code).Distinct().Count());
        Assert.All(Conditions.All, c => Assert.Same(c, Conditions.Find(c.Code)));
        Assert.All(Conditions.All,
            c => Assert.All([c.Name, c.When, c.Do, c.Ends, c.Act],
                words => Assert.False(string.IsNullOrWhiteSpace(words))));
        Assert.Null(Conditions.Find("fire"));
    }

    [Fact]
    public void All_InTheirOrder_TheMostUrgentFirst() =>
        Assert.Equal(Conditions.All.OrderByDescending(c => c.Priority), Conditions.All);

    [Fact]
    public void All_EachAlarm_CanBeAcknowledged() =>
        Assert.All(Conditions.All.Where(c => !c.IsLine), c => Assert.Equal(AlarmAction.Acknowledge, c.Actions[^1]));

    [Fact]
    public void All_WithNothingAtRisk_AreLinesThatAskForNothing() =>
        Assert.Equal([AlarmKind.CannotPlanAtRest, AlarmKind.SetAside, AlarmKind.ProbeSilent],
            Conditions.All.Where(c => c.IsLine && c.Priority == AlarmPriority.Low).Select(c => c.Kind).Order());

    [Fact]
    public void Page_OfTheTable_IsTheTable() =>
        Assert.Equal(WithTables(File.ReadAllText(Page)), File.ReadAllText(Page));

    [Fact(Explicit = true)]
    public void Page_OfTheTable_IsWrittenAnew() => File.WriteAllText(Page, WithTables(File.ReadAllText(Page)));

    private static string WithTables(string page) => Put(Put(page, "alarms", AlarmTable()), "prompts", PromptTable());

    private static string Put(string page, string name, IEnumerable<string> lines) =>
        Regex.Replace(page, $"(<!-- {name} -->\n).*?(<!-- end -->)", found => found.Groups[1].Value
            + string.Concat(lines.Select(line => line + "\n")) + found.Groups[2].Value, RegexOptions.Singleline);

    private static IEnumerable<string> AlarmTable() =>
    [
        "| alarm | priority | act | latching | when | what the aide must do | when it ends | taps |",
        "| --- | --- | --- | --- | --- | --- | --- | --- |",
        .. Conditions.All.Select(c =>
            $"| {c.Name} (`{c.Code}`) | {(c.IsLine ? "line" : Small(c.Priority))} | {c.Act} | "
            + $"{(c.IsLatching ? "yes" : "no")} | "
            + $"{c.When}{(c.GoesOnAtOnce ? " Goes on at once." : "")} | {c.Do} | {c.Ends} | "
            + $"{string.Join(", ", c.Actions.Select(a => Small(a)))} |"),
    ];

    private static IEnumerable<string> PromptTable() =>
    [
        "| step | what the aide must do | when it ends |",
        "| --- | --- | --- |",
        .. Conditions.Prompts.Select(p => $"| {p.Code} | {p.Do} | {p.Ends} |"),
    ];

    private static string Small<T>(T value)
        where T : struct, Enum => Words().Replace(value.ToString(), " $0").Trim().ToLower(CultureInfo.InvariantCulture);

    [GeneratedRegex("[A-Z]")]
    private static partial Regex Words();

    private static string Here([CallerFilePath] string path = "") => path;
}
