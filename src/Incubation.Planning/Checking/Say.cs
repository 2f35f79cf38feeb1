using System.Globalization;
using Incubation.Model;
using NodaTime;
using NodaTime.Text;

namespace Incubation.Planning.Checking;

/// <summary>Makes the sentences of the checker: instants as the files write them, lengths in seconds.</summary>
internal static class Say
{
    public static PlanFault Fault(int rule, Row? row, string pattern, params object[] arguments) =>
        new(rule, Text(pattern, arguments), row?.Index);

    /// <summary>Fills a sentence in.</summary>
    public static string Text(string pattern, params object[] arguments) =>
        string.Format(CultureInfo.InvariantCulture, pattern, [.. arguments.Select(InWords)]);

    /// <summary>The step's name as a plan file writes it.</summary>
    public static string Step(StepAction action) => action switch
    {
        StepAction.Mix => Words.StepMix,
        StepAction.Load => Words.StepLoad,
        StepAction.Move => Words.StepMove,
        StepAction.Read => Words.StepRead,
        StepAction.Clear => Words.StepClear,
        StepAction.Discard => Words.StepDiscard,
        _ => Words.StepCardChange,
    };

    /// <summary>A row as people name it: its step and its request, or its reader.</summary>
    public static string Row(PlannedStep step) => step.Action switch
    {
        StepAction.CardChange change => Text(Words.RowOfReader, Step(change), change.Reader),
        var action => Text(Words.RowOfRequest, Step(action), action.Subject!),
    };

    private static object InWords(object argument) => argument switch
    {
        Instant instant => InstantPattern.ExtendedIso.Format(instant),
        Duration length => length.TotalSeconds.ToString("0.###", CultureInfo.InvariantCulture) + " s",
        double number => number.ToString("0.###", CultureInfo.InvariantCulture),
        _ => argument,
    };
}
