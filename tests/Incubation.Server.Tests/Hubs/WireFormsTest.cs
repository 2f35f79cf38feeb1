using System.Globalization;
using System.Reflection;
using System.Runtime.CompilerServices;
using System.Text;
using System.Text.Json;
using System.Text.Json.Serialization.Metadata;
using Incubation.Server.Hubs;
using Incubation.Service.Alarms;
using Incubation.Service.Clock;
using Incubation.TestKit;
using NodaTime;
using NodaTime.Serialization.SystemTextJson;

namespace Incubation.Server.Tests.Hubs;

/// <summary>
/// What others keep or read of this server's JSON, in <c>Samples/wire.txt</c>: messages of the hub with the snapshot
/// that a browser keeps and the commands in its outbox, what the webhook sends, and the file of a demo's clock. Names
/// of classes do not stand in it.
/// </summary>
public sealed class WireFormsTest
{
    private static readonly JsonSerializerOptions Options = new JsonSerializerOptions(JsonSerializerDefaults.Web)
    {
        RespectNullableAnnotations = true,
        TypeInfoResolver = new DefaultJsonTypeInfoResolver(),
    }.ConfigureForNodaTime(DateTimeZoneProviders.Tzdb);

    private readonly StringBuilder text = new();
    private readonly Dictionary<Type, string> described = [];

    /// <summary>
    /// When this fails after a rename, the name outside must stay. A member may come in new where both sides of an
    /// upgrade can do without it; then write the file anew:
    /// <c>dotnet run --project tests/Incubation.Server.Tests -- -explicit only -method "*WireForms_WrittenAnew"</c>.
    /// </summary>
    [Fact]
    public void WireForms_AsWritten_AreThoseAgreed() =>
        Assert.Equal(File.ReadAllText(Path.Combine(AppContext.BaseDirectory, "Samples", "wire.txt")), AllForms());

    [Fact(Explicit = true)]
    public void WireForms_WrittenAnew() => Assert.True(WriteForms());

    private bool WriteForms([CallerFilePath] string here = "")
    {
        var path = Path.Combine(Path.GetDirectoryName(here)!, "..", "Samples", "wire.txt");
        File.WriteAllText(path, AllForms());
        return File.Exists(path);
    }

    private string AllForms()
    {
        text.Append(CultureInfo.InvariantCulture, $"hub {BenchHub.Path}\n");
        foreach (var method in MethodsOf(typeof(IBenchScreen)))
            Describe($"to the screen {method.Name}", method);
        foreach (var method in MethodsOf(typeof(BenchHub)).Where(method => method.GetBaseDefinition() == method))
            Describe($"from the screen {method.Name}", method);
        Describe("webhook", typeof(WebhookMessage), Options);
        Describe("clock file", typeof(ClockLine),
            new JsonSerializerOptions { TypeInfoResolver = new DefaultJsonTypeInfoResolver() });
        return text.ToString();
    }

    private static IEnumerable<MethodInfo> MethodsOf(Type type) => type
        .GetMethods(BindingFlags.Public | BindingFlags.Instance | BindingFlags.DeclaredOnly)
        .OrderBy(method => method.Name, StringComparer.Ordinal);

    private void Describe(string message, MethodInfo method)
    {
        text.Append(CultureInfo.InvariantCulture, $"{message}\n");
        foreach (var parameter in method.GetParameters())
            Describe($"  {message}, argument {parameter.Position + 1}", parameter.ParameterType, Options);
        var answer = method.ReturnType;
        if (answer.IsGenericType && answer.GetGenericTypeDefinition() == typeof(Task<>))
            answer = answer.GetGenericArguments()[0];
        if (answer != typeof(void) && answer != typeof(Task))
            Describe($"  {message}, answer", answer, Options);
    }

    private void Describe(string what, Type type, JsonSerializerOptions options)
    {
        if (type.Namespace!.StartsWith("Incubation", StringComparison.Ordinal) && !described.TryAdd(type, what.Trim()))
        {
            text.Append(CultureInfo.InvariantCulture, $"{what}: as {described[type]}\n");
            return;
        }
        text.Append(CultureInfo.InvariantCulture, $"{what}\n");
        foreach (var line in JsonShape.Of(type, options))
            text.Append(CultureInfo.InvariantCulture, $"    {line.TrimStart()}\n");
    }
}
