using System.Text.Json;
using Incubation.Planning;

namespace Incubation.Exchange;

/// <summary>Writes the members of a plan file.</summary>
internal static class PlanWriter
{
    public static string Write(Plan plan) => JsonWriting.Document(writer =>
    {
        writer.WriteRows("steps", plan.Steps, (row, step) =>
        {
            row.WriteAction(step.Action, step.Hands);
            row.WriteString("start", IsoInstant.Format(step.Start));
            row.WriteString("end", IsoInstant.Format(step.End));
        });
        writer.WriteNumber("cost", plan.Cost);
        writer.WriteString("finish", IsoDuration.Format(plan.Finish));
        writer.WriteString("late", IsoDuration.Format(plan.Late));
        writer.WriteNumber("bound", plan.Bound);
        writer.WriteBoolean("proved", plan.Proved);
        writer.WriteStartArray("guardUsed");
        foreach (var id in plan.GuardUsed)
            writer.WriteStringValue(id.Value);
        writer.WriteEndArray();
        WriteLeftOut(writer, "unplaced", plan.Unplaced);
        WriteLeftOut(writer, "lost", plan.Lost);
    });

    private static void WriteLeftOut(Utf8JsonWriter writer, string name, IReadOnlyList<LeftOut> list) =>
        writer.WriteRows(name, list, (row, left) =>
        {
            row.WriteString("request", left.Request.Value);
            row.WriteString("why", LeftOutText.Of(left.Why));
        });
}
