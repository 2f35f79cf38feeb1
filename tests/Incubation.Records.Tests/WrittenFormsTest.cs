using System.Globalization;
using System.Runtime.CompilerServices;
using System.Text;
using System.Text.Json;
using System.Text.Json.Nodes;
using Incubation.Bench;
using Incubation.Model;
using Incubation.Records.Batches;
using Incubation.Records.Benches;
using Incubation.Records.Clinic;
using Incubation.Records.Events;
using Incubation.Records.Export;
using Incubation.Records.Sqlite;
using Incubation.TestKit;
using Microsoft.EntityFrameworkCore;
using Xunit;

namespace Incubation.Records.Tests;

/// <summary>
/// Every name that stands on disk, in <c>Samples/forms.txt</c>. A member or choice that is renamed in the code changes
/// what is written, and old logs are no longer understood: this test says so before it happens. Names of classes do not
/// stand on disk, and not in that file.
/// </summary>
public sealed class WrittenFormsTest
{
    private static readonly string Folder = Path.Combine(AppContext.BaseDirectory, "Samples");

    private readonly StringBuilder text = new();

    public static TheoryData<string> Samples =>
        [.. Directory.GetFiles(Folder, "*.jsonl").Select(path => Path.GetFileName(path)).Order(StringComparer.Ordinal)];

    /// <summary>
    /// When this fails after a rename, the old name must stay on disk: <c>[property: JsonPropertyName("old")]</c> on
    /// the member, <c>[JsonStringEnumMemberName("old")]</c> on the choice. A change of what is written needs a new
    /// version and an upcaster (see the room's README), or, in a table that is made anew, a new version of its code;
    /// then write the file anew:
    /// <c>dotnet run --project tests/Incubation.Records.Tests -- -explicit only -method "*WrittenAnew"</c>.
    /// </summary>
    [Fact]
    public void Forms_AsWritten_AreThoseAgreed() =>
        Assert.Equal(File.ReadAllText(Path.Combine(Folder, "forms.txt")), AllForms());

    [Fact(Explicit = true)]
    public void Forms_WrittenAnew() => Assert.True(WriteForms());

    /// <summary>
    /// What this program writes of an event is what was written of it before, with nothing more than members that came
    /// later and are null.
    /// </summary>
    [Theory]
    [MemberData(nameof(Samples))]
    public void Sample_EventsOfTodaysForm_AreWrittenAsTheyWere(string name)
    {
        using var reader = File.OpenText(Path.Combine(Folder, name));
        foreach (var row in LogExport.Read(reader))
            if (Again(row) is var encoded && encoded.Version == row.Header.SchemaVersion)
                Assert.True(
                    Holds(JsonNode.Parse(encoded.Json), JsonNode.Parse(row.Payload!)),
                    $"{row.Payload} is now {encoded.Json}");
    }

    /// <summary>A kept standing with everything in it, letter for letter; written by hand from a program's.</summary>
    [Fact]
    public void KeptStanding_ReadAndWritten_IsWhatItWas()
    {
        var json = File.ReadAllText(Path.Combine(Folder, "kept-standing.json"));
        var compact = JsonSerializer.Serialize(JsonSerializer.Deserialize<JsonElement>(json), Relaxed);
        var kept = BenchEvents.Registry.Decode(Rows.Of(new EncodedEvent("standing-kept", 5, compact)));
        Assert.Equal(compact, BenchEvents.Registry.Encode(kept).Json);
        Assert.Equal(Rows.Bench, LiveBench.Apply(null, new BenchEntry(kept, Rows.Provenance(1))).Id);
    }

    private static readonly JsonSerializerOptions Relaxed = new()
    {
        Encoder = System.Text.Encodings.Web.JavaScriptEncoder.UnsafeRelaxedJsonEscaping,
    };

    private static bool Holds(JsonNode? now, JsonNode? then) => (now, then) switch
    {
        (JsonObject one, JsonObject other) =>
            other.All(member => one.TryGetPropertyValue(member.Key, out var value) && Holds(value, member.Value))
            && one.All(member => other.ContainsKey(member.Key) || member.Value is null),
        (JsonArray one, JsonArray other) => one.Count == other.Count
            && one.Zip(other).All(pair => Holds(pair.First, pair.Second)),
        _ => now?.ToJsonString() == then?.ToJsonString(),
    };

    private static EncodedEvent Again(Log.LogRow row) => row.Header.Stream.Bench is null
        ? ClinicEvents.Registry.Encode(ClinicEvents.Registry.Decode(row))
        : BenchEvents.Registry.Encode(BenchEvents.Registry.Decode(row));

    private bool WriteForms([CallerFilePath] string here = "")
    {
        var path = Path.Combine(Path.GetDirectoryName(here)!, "Samples", "forms.txt");
        File.WriteAllText(path, AllForms());
        return File.Exists(path);
    }

    private string AllForms()
    {
        Describe("bench event", BenchEvents.Registry.Forms);
        Describe("clinic event", ClinicEvents.Registry.Forms);
        DescribeColumns();
        DescribeNumbers<RequestKind>("Kind");
        DescribeNumbers<Priority>("Priority");
        DescribeNumbers<CartridgeStatus>("Standing");
        DescribeNumbers<DiscardReason>("Reason");
        text.Append(CultureInfo.InvariantCulture,
            $"texts in Cartridges.Standing {string.Join(" | ", Enum.GetNames<CartridgeStatus>())}\n");
        text.Append("json in Cartridges.Json\n");
        foreach (var line in JsonShape.Of(typeof(CartridgeRecord), EventJson.Options))
            text.Append(CultureInfo.InvariantCulture, $"  {line}\n");
        return text.ToString();
    }

    private void Describe(string family, IEnumerable<EventForm> forms)
    {
        foreach (var form in forms.OrderBy(form => form.Name, StringComparer.Ordinal))
        {
            text.Append(CultureInfo.InvariantCulture, $"{family} {form.Name} {form.Version}\n");
            foreach (var line in JsonShape.Of(form.Type, EventJson.Options))
                text.Append(CultureInfo.InvariantCulture, $"  {line}\n");
        }
    }

    /// <summary>The tables, and what a choice is called in its column.</summary>
    private void DescribeColumns()
    {
        using var context = new RecordsContextFactory().CreateDbContext([]);
        foreach (var table in context.Model.GetEntityTypes()
            .OrderBy(type => type.GetTableName(), StringComparer.Ordinal))
        {
            text.Append(CultureInfo.InvariantCulture, $"table {table.GetTableName()}\n");
            foreach (var column in table.GetProperties()
                .OrderBy(column => column.GetColumnName(), StringComparer.Ordinal))
            {
                var type = Nullable.GetUnderlyingType(column.ClrType) ?? column.ClrType;
                var kept = type.IsEnum && column.GetTypeMapping().Converter is { } converter
                    ? " " + string.Join(" | ", Enum.GetValues(type).Cast<object>().Select(converter.ConvertToProvider))
                    : "";
                text.Append(CultureInfo.InvariantCulture,
                    $"  {column.GetColumnName()} {column.GetColumnType()}{kept}\n");
            }
        }
    }

    /// <summary>Choices that a report's table keeps as numbers.</summary>
    private void DescribeNumbers<T>(string column)
        where T : struct, Enum => text.Append(CultureInfo.InvariantCulture, $"numbers in CartridgeTimes.{column} ")
        .AppendJoin(" | ", Enum.GetValues<T>()
            .Select(value => $"{value:D} {JsonSerializer.Serialize(value, EventJson.Options).Trim('"')}"))
        .Append('\n');
}
