using System.Collections;
using System.ComponentModel.DataAnnotations;
using System.Reflection;
using System.Text.Json;
using System.Text.Json.Nodes;
using Incubation.Clinic.People;
using Incubation.Records;
using Incubation.Service.Clinic;
using Incubation.Service.Commands;
using Incubation.Service.Tests.Support;
using Incubation.TestKit;

namespace Incubation.Service.Tests.Contract;

/// <summary>
/// The server and the browser's modules on the same samples: snapshots that the server writes here and the modules read
/// in their own tests (tests/Browser.Modules), commands that the modules write there and the server reads here.
/// </summary>
public sealed class ContractTest : IDisposable
{
    private const string Folder = "tests/Browser.Modules/contract";
    private readonly string folder = Directory.CreateTempSubdirectory("incubation-contract-").FullName;
    private readonly DataFile file;
    private readonly ClinicHost clinic;

    public ContractTest()
    {
        file = DataFile.Open(Path.Combine(folder, "a.db"));
        clinic = new ClinicHost(file);
    }

    public static TheoryData<string> Samples => [.. SampleSnapshots.All.Keys];

    public void Dispose()
    {
        file.Dispose();
        Directory.Delete(folder, recursive: true);
    }

    [Theory]
    [MemberData(nameof(Samples))]
    public async Task Snapshot_OfASample_IsTheOneThatTheModulesAreTestedWith(string sample)
    {
        await using var rig = await SampleSnapshots.All[sample]();
        var written = SampleSnapshots.Write(SampleSnapshots.Of(rig, clinic));
        Assert.Null(CommittedFile.Fault($"{Folder}/snapshots/{sample}.json", written, typeof(ContractTest)));
    }

    [Theory]
    [MemberData(nameof(Samples))]
    public async Task Snapshot_TextsThatAreOneOfAFew_AreAmongThem(string sample)
    {
        await using var rig = await SampleSnapshots.All[sample]();
        Assert.Empty(NotAllowed(SampleSnapshots.Of(rig, clinic)));
    }

    [Theory]
    [MemberData(nameof(Samples))]
    public async Task Commands_ThatTheModulesSend_AreUnderstood(string sample)
    {
        await using var rig = await SampleSnapshots.All[sample]();
        var taps = JsonNode.Parse(CommittedFile.Read($"{Folder}/commands.json"))![sample]?.AsObject() ?? [];
        Assert.NotEmpty(taps);
        foreach (var (tap, json) in taps)
        {
            var command = json.Deserialize<ScreenCommand>(JsonSerializerOptions.Web);
            var reading = CommandReader.Read(command, rig.Now, AnAide.Lena, PeopleState.Empty);
            Assert.True(reading is CommandReading.Readable,
                $"{tap}: {(reading as CommandReading.Unreadable)?.Sentence}");
        }
    }

    /// <summary>Members of text, however deep, that hold none of the texts that they may hold.</summary>
    private static IEnumerable<string> NotAllowed(object thing)
    {
        foreach (var member in thing.GetType().GetProperties(BindingFlags.Public | BindingFlags.Instance))
        {
            var value = member.GetValue(thing);
            if (member.GetCustomAttribute<AllowedValuesAttribute>() is { } allowed && !allowed.Values.Contains(value))
                yield return $"{member.DeclaringType!.Name}.{member.Name}: {value}";
            var inside = value switch
            {
                string or null => [],
                IEnumerable list => list.OfType<object>().Where(IsOurs),
                _ => IsOurs(value) ? [value] : Enumerable.Empty<object>(),
            };
            foreach (var found in inside.SelectMany(NotAllowed))
                yield return found;
        }
    }

    private static bool IsOurs(object value) =>
        value.GetType().Namespace?.StartsWith("Incubation.", StringComparison.Ordinal) == true;
}
