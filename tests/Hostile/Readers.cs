using System.Text;
using System.Text.Json;
using Incubation.Clinic.People;
using Incubation.Exchange;
using Incubation.Exchange.Gs1;
using Incubation.Model;
using Incubation.Planning;
using Incubation.Server.Hosting;
using Incubation.Service.Alarms;
using Incubation.Service.Assays;
using Incubation.Service.Commands;
using Incubation.Service.Demo;
using Incubation.Service.People;
using Incubation.Service.Requests;
using Incubation.Service.Settings;
using Incubation.Service.Stock;
using Incubation.Service.Text;
using Incubation.TestKit;
using Microsoft.Extensions.Configuration;
using NodaTime;

namespace Incubation.Hostile;

/// <summary>Something that reads what others wrote, with valid samples to spoil.</summary>
/// <param name="Name">Names it.</param>
/// <param name="Samples">What it reads well.</param>
/// <param name="Read">Reads bytes; throws nothing that its documents do not name.</param>
/// <param name="Factor">The most bytes that it allocates for each byte that it is given.</param>
internal sealed record FuzzedReader(string Name, IReadOnlyList<byte[]> Samples, Action<byte[]> Read, int Factor = 600);

/// <summary>Every reader of what comes from outside.</summary>
internal static class Readers
{
    private const int Year = 2026;
    private static readonly Instant Now = Instant.FromUtc(2026, 3, 2, 8, 0);

    /// <summary>All of them. Files go through <paramref name="folder"/>.</summary>
    public static IReadOnlyList<FuzzedReader> All(string folder)
    {
        var demo = House.Demo;
        var day = File.ReadAllText(Path.Combine(demo, "morning.json"));
        var plan = PlanFile.Write(Planner.Plan(BenchDayFile.Parse(day).Value!, 1, new IterationBudget(5)).Plan);
        IReadOnlyList<AssayCode> assays = [new("DA"), new("DB"), new("DC"), new("DD")];
        return
        [
            // What is understood is planned too: a day that reads well and cannot be planned is found by nobody else.
            new("bench day", [Bytes(day)], bytes => ReadAndPlan(Text(bytes)), 20_000),
            new("plan", [Bytes(plan)], bytes => PlanFile.Parse(Text(bytes))),
            new("demand", [OfDemo("demand.json")], bytes => DemandFile.Parse(Text(bytes), assays)),
            new("assays", [OfDemo("assays.json")], bytes => AssayService.Preview(Text(bytes))),
            new("GS1", Codes(), bytes =>
            {
                if (Gs1Reader.Read(Text(bytes), Year).Scan is { } scan)
                    Gs1Writer.LinkPath(scan.Elements);
            }, 4_000),
            new("commands", Commands(), ReadCommand, 400),
            new("alarms and questions", [Bytes("window-closed/R03"), Bytes("where-is-it/R03")], bytes =>
            {
                AlarmText.Parse(Text(bytes));
                QuestionText.Parse(Text(bytes));
            }),
            new("requests", [Bytes(
                """[{"specimen":"S1","assay":"DA","ready":"2026-03-02T08:00:00Z","after":["R01"]}]""")],
                bytes => Json<WantedRequest[]>(bytes)),
            new("settings", [Bytes(File.ReadAllText(Path.Combine(House.Checkout, "deploy", "incubation.json")))],
                bytes => ReadSettings(bytes, folder), 3_000),
            new("demo's clinic", [OfDemo("clinic.json")], bytes => ReadClinic(bytes, folder), 3_000),
        ];

        byte[] OfDemo(string name) => File.ReadAllBytes(Path.Combine(demo, name));
    }

    private static void ReadAndPlan(string text)
    {
        const int MostRequests = 40;
        if (BenchDayFile.Parse(text).Value is { } day && day.Requests.Count <= MostRequests)
            Planner.Plan(day, 1, new IterationBudget(1));
    }

    private static void ReadCommand(byte[] bytes)
    {
        if (Json<ScreenCommand>(bytes) is not { } flat)
            return;
        var actor = new Actor.Program(
            new ClinicKey(new DeviceId("key-1"), "A program", [KeyScope.Bench], null, Now, false));
        CommandReader.Read(flat, Now, actor, PeopleState.Empty);
    }

    /// <summary>As the API reads a body; a fault in its form is answered.</summary>
    private static T? Json<T>(byte[] bytes)
        where T : class
    {
        try
        {
            return JsonSerializer.Deserialize<T>(bytes, FlatForm.Json);
        }
        catch (JsonException)
        {
            return null;
        }
    }

    private static void ReadSettings(byte[] bytes, string folder)
    {
        var path = Path.Combine(folder, "settings.json");
        File.WriteAllBytes(path, bytes);
        var faults = new List<string>();
        var builder = new ConfigurationBuilder();
        ConfigurationFile.Add(builder, path, faults);
        if (faults.Count > 0)
            return;
        var configuration = builder.Build();
        SettingNames.Check(configuration, faults);
        ServiceSettings.Read(configuration, faults);
        ServerSettings.Read(configuration, faults);
        SessionLengths.Read(configuration, faults);
        PasskeySettings.Read(configuration, faults);
        StockSettings.Read(configuration, faults);
        TlsSettings.Read(configuration, Now.ToDateTimeOffset(), faults);
        foreach (var address in LoopbackGuard.AddressesOf(configuration))
            LoopbackGuard.IsThisMachineOnly(address);
    }

    private static void ReadClinic(byte[] bytes, string folder)
    {
        foreach (var name in new[] { "morning.json", "assays.json" })
            if (!File.Exists(Path.Combine(folder, name)))
                File.Copy(Path.Combine(House.Demo, name), Path.Combine(folder, name));
        File.WriteAllBytes(Path.Combine(folder, DemoClinic.FileName), bytes);
        try
        {
            DemoClinic.Read(folder);
        }
        catch (StartException)
        {
            // A sentence with the place: as its document says.
        }
    }

    private static IReadOnlyList<byte[]> Codes() =>
    [
        Bytes("]d20100844588003288172704001012/A\u001d21S-7\u001d3025"),
        Bytes("(01)09521234543213(10)ABC123(17)261231"),
        Bytes("https://id.gs1.org/01/09521234543213/10/ABC123?17=261231"),
        Bytes("]C1011234567890123110ABC\u001d17260900"),
    ];

    private static IReadOnlyList<byte[]> Commands()
    {
        var thing = new FlatThing("R01", "DA-L1", "SP-1", "DA", "T1");
        return
        [
            .. FlatForm.Kinds.Select((kind, at) =>
            {
                var random = new SeededRandom((ulong)at);
                return Bytes("{" + string.Join(',', FlatForm.Members
                    .Select(member => (member.Name,
                        Json: FlatPlausible.Of(member.Name, kind, thing, "T2", Now, random)))
                    .Where(member => member.Json.Length > 0)
                    .Select(member => $"\"{member.Name}\":{member.Json}")) + "}");
            }),
        ];
    }

    private static byte[] Bytes(string text) => Encoding.UTF8.GetBytes(text);

    private static string Text(byte[] bytes) => Encoding.UTF8.GetString(bytes);
}
