using System.Text.Json;
using Incubation.Clinic.People;
using Incubation.Clinic.Record;
using Incubation.Model;
using Incubation.Records.Batches;
using Incubation.Service.Commands;
using Incubation.Service.Text;

namespace Incubation.Service.Record;

/// <summary>The words of reports that came after their batches had been closed.</summary>
public static class LateReportText
{
    /// <summary>What was reported, and what is known of its time and of who sent it.</summary>
    /// <param name="late">The report.</param>
    /// <param name="cartridges">The cartridges of its batch.</param>
    /// <param name="people">Where the names of persons stand.</param>
    public static string Of(LateReport late, IEnumerable<CartridgeRecord> cartridges, PeopleState people)
    {
        ArgumentNullException.ThrowIfNull(late);
        var (report, by) = (late.Report, late.Provenance);
        var specimen = cartridges.FirstOrDefault(one => one.Request == report.Request)?.Specimen.Value
            ?? report.Request.Value;
        var another = report.Sender is { } sender && sender != by.Person ? report.Sender : null;
        return Say.Dotted(
            Said(report.Said, specimen),
            report.Claimed is { } claimed ? Say.Of(RecordWords.LateClaimed, claimed) : null,
            report.Checked || another is not null ? null : RecordWords.LateUnchecked,
            another is { } one ? Say.Of(RecordWords.LateSentBy, Names.Of(one, people)) : null);
    }

    /// <summary>Whether a report is of the incubator's temperature.</summary>
    internal static bool IsTemperature(string json) => Read(json)?.Kind == "temperature";

    private static string Said(string json, string specimen)
    {
        var said = Read(json);
        var place = said?.Slot is { } slot ? Say.Of(RecordWords.PlaceSlot, slot)
            : said?.Reader is { } reader ? Say.Of(RecordWords.PlaceReader, reader) : "";
        return Say.First(said?.Kind switch
        {
            "mixed" => Say.Of(TextWords.ToldMixed, specimen),
            "loaded" => Say.Of(TextWords.ToldLoaded, specimen, place),
            "read-started" => Say.Of(TextWords.ToldReadStarted, specimen, place),
            "cleared" => Say.Of(TextWords.ToldCleared, specimen, place),
            "discarded" => Say.Dotted(Say.Of(TextWords.ToldDiscarded, specimen), said.Words),
            "result" => Say.Of(RecordWords.LateResult, specimen, said.Value ?? said.NoValue),
            "temperature" => Say.Of(RecordWords.LateTemperature, specimen, new Celsius(said.Celsius ?? 0)),
            // Of a form that this program does not know: as it stands.
            _ => Say.Of(RecordWords.LateOther, specimen, json),
        });
    }

    private static ScreenCommand? Read(string json)
    {
        try
        {
            return JsonSerializer.Deserialize<ScreenCommand>(json, JsonSerializerOptions.Web);
        }
        catch (JsonException)
        {
            return null;
        }
    }
}
