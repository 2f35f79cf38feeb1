using System.Globalization;
using System.Runtime.CompilerServices;
using System.Text;
using System.Text.Json;
using System.Text.Json.Serialization.Metadata;
using Incubation.Model;
using Incubation.Records.Benches;
using Incubation.Records.Clinic;
using Incubation.Records.Events;
using NodaTime;
using Xunit;

namespace Incubation.Records.Tests;

/// <summary>
/// Every name that stands on disk, in <c>Samples/forms.txt</c>. A class, member or choice that is renamed in the code
/// changes what is written, and old logs are no longer understood: this test says so before it happens.
/// </summary>
public sealed class WrittenFormsTest
{
    private readonly StringBuilder text = new();
    private readonly Queue<Type> toDescribe = new();
    private readonly HashSet<Type> described = [];

    /// <summary>
    /// When this fails: a change of a form needs a new version and an upcaster (see the room's README); then write the file
    /// anew: <c>dotnet run --project tests/Incubation.Records.Tests -- -explicit only -method "*WrittenAnew"</c>.
    /// </summary>
    [Fact]
    public void Forms_AsWritten_AreThoseAgreed() =>
        Assert.Equal(File.ReadAllText(Path.Combine(AppContext.BaseDirectory, "Samples", "forms.txt")), AllForms());

    [Fact(Explicit = true)]
    public void Forms_WrittenAnew() => Assert.True(WriteForms());

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
        var parts = new SortedDictionary<string, string>(StringComparer.Ordinal);
        while (toDescribe.TryDequeue(out var type))
            parts[type.Name] = Part(type);
        foreach (var part in parts.Values)
            text.Append(part);
        return text.ToString();
    }

    private void Describe(string family, IEnumerable<EventForm> forms)
    {
        foreach (var form in forms.OrderBy(form => form.Name, StringComparer.Ordinal))
            text.AppendLine(CultureInfo.InvariantCulture, $"{family} {form.Name} {form.Version}: {Members(form.Type)}");
    }

    private string Part(Type type)
    {
        if (type.IsEnum)
            return $"choice {type.Name}: {string.Join(", ", Enum.GetValues(type).Cast<object>().Select(value => JsonSerializer.Serialize(value, EventJson.Options).Trim('"')))}\n";
        if (Unions.All.TryGetValue(type, out var cases))
            return string.Concat(cases.OrderBy(pair => pair.Key, StringComparer.Ordinal).Select(pair => $"union {type.Name} {pair.Key}: {Members(pair.Value)}\n"));
        return $"record {type.Name}: {Members(type)}\n";
    }

    private string Members(Type type) => string.Join(", ", EventJson.Options.GetTypeInfo(type).Properties
        .Where(property => property.AssociatedParameter is not null)
        .Select(property => $"{property.Name} {TypeName(property.PropertyType)}"));

    private string TypeName(Type type)
    {
        if (Nullable.GetUnderlyingType(type) is { } inner)
            return TypeName(inner) + "?";
        if (type.IsGenericType)
            return TypeName(type.GetGenericArguments()[0]) + "[]";
        var plain = type.IsPrimitive || type == typeof(string) || type == typeof(Instant) || type == typeof(Duration)
            || type == typeof(LocalDate) || type == typeof(InstantRange)
            || (EventJson.Options.GetTypeInfo(type).Kind == JsonTypeInfoKind.None && !type.IsEnum);
        if (!plain && described.Add(type))
            toDescribe.Enqueue(type);
        return type.Name;
    }
}
