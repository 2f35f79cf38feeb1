using System.Text.Encodings.Web;
using System.Text.Json;
using System.Text.Json.Nodes;
using System.Text.RegularExpressions;
using Incubation.Bench;
using Incubation.Chart;
using Incubation.Model;
using Incubation.Service.Alarms;
using Incubation.Service.Clinic;
using Incubation.Service.Clock;
using Incubation.Service.Screens;
using Incubation.Service.Snapshots;
using Incubation.Service.Tests.Support;
using NodaTime;
using NodaTime.Serialization.SystemTextJson;

namespace Incubation.Service.Tests.Contract;

/// <summary>Benches in the states that screens meet, and their snapshots as screens get them.</summary>
internal static partial class SampleSnapshots
{
    /// <summary>
    /// Members that hold words: they are replaced by where they stand, so that another wording changes no sample.
    /// </summary>
    private static readonly string[] Words =
        ["word", "title", "text", "detail", "headline", "button", "handsText", "countdownToBegin", "countdownToLatest",
            "linkText", "instruction", "assay"];

    private static readonly JsonSerializerOptions Form = new JsonSerializerOptions(JsonSerializerDefaults.Web)
    {
        WriteIndented = true,
        NewLine = "\n",
        Encoder = JavaScriptEncoder.UnsafeRelaxedJsonEscaping,
    }.ConfigureForNodaTime(DateTimeZoneProviders.Tzdb);

    /// <summary>Every sample by its name.</summary>
    public static IReadOnlyDictionary<string, Func<Task<BenchRig>>> All { get; } =
        new Dictionary<string, Func<Task<BenchRig>>>
        {
            ["preparing"] = Preparing,
            ["running"] = Running,
            ["window-closed"] = WindowClosed,
            ["question"] = Question,
            ["given-up"] = GivenUp,
        };

    /// <summary>The snapshot of a bench as it goes to its screens.</summary>
    public static BenchSnapshot Of(BenchRig rig, ClinicHost clinic) =>
        new SnapshotWriter(clinic, new BenchClock(rig.Time, 1), new NoHostAlarms())
            .Write(rig.Runner.Present, LaneLayout.Wide) with
        { Lanes = "<svg/>" };

    /// <summary>A snapshot as text that is the same in every run.</summary>
    public static string Write(BenchSnapshot snapshot)
    {
        // How many plans a busy machine made between two reports is no part of what a screen shows.
        var node = JsonSerializer.SerializeToNode(snapshot with { Revision = 17 }, Form)!;
        Replace(node, "");
        return OwnId().Replace(node.ToJsonString(Form), "$1") + "\n";
    }

    private static void Replace(JsonNode? node, string place)
    {
        if (node is JsonArray list)
        {
            for (var at = 0; at < list.Count; at++)
                Replace(list[at], $"{place}{at}.");
        }
        else if (node is JsonObject members)
        {
            foreach (var (name, value) in members.ToList())
            {
                if (value is JsonValue && Words.Contains(name) && value.GetValueKind() == JsonValueKind.String
                    && value.GetValue<string>().Length > 0)
                    members[name] = place + name;
                else
                    Replace(value, $"{place}{name}.");
            }
        }
    }

    private static async Task<BenchRig> Preparing()
    {
        var rig = await BenchRig.OpenAsync();
        await rig.Must(new BenchCommand.AddRequests([BenchRig.Request("R1"), BenchRig.Request("R2")]));
        await rig.UntilPlanned(PlanCause.RequestsChanged);
        return rig;
    }

    /// <summary>A cartridge may be moved, others react, one waits.</summary>
    private static async Task<BenchRig> Running()
    {
        var rig = await BenchRig.OpenAsync();
        await rig.Begin(BenchRig.Request("R1", priority: Priority.Urgent), BenchRig.Request("R2"),
            BenchRig.Request("R3", "DB", 12));
        while (rig.Runner.Present.View.Offers is [{ Action: not StepAction.Move } offer])
            await Do(rig, offer);
        return rig;
    }

    private static async Task<BenchRig> WindowClosed()
    {
        var rig = await BenchRig.OpenAsync();
        var request = new RequestId("R1");
        await rig.Begin(BenchRig.Request("R1"));
        rig.Advance(Duration.FromSeconds(50));
        await rig.Must(new BenchCommand.Mixed(request));
        rig.Advance(Duration.FromSeconds(25));
        await rig.Must(new BenchCommand.Loaded(request, new CartridgePlace.InSlot(new SlotNumber(3)),
            TimeStated: false));
        rig.Advance(Duration.FromMinutes(11));
        await rig.Until(view => view.State.Adopted!.Plan.Lost.Count == 1);
        return rig;
    }

    /// <summary>
    /// Two cartridges reported into one slot; a slot and a pair of hands out of use, a temperature outside.
    /// </summary>
    private static async Task<BenchRig> Question()
    {
        var rig = await BenchRig.OpenAsync(readers: 2, hands: 2);
        await rig.Begin(BenchRig.Request("R1"), BenchRig.Request("R2"), BenchRig.Request("R3"));
        foreach (var request in new[] { new RequestId("R1"), new RequestId("R2") })
        {
            rig.Advance(Duration.FromSeconds(35));
            await rig.Must(new BenchCommand.Mixed(request));
            rig.Advance(Duration.FromSeconds(15));
            await rig.Must(new BenchCommand.Loaded(request, new CartridgePlace.InSlot(new SlotNumber(1)),
                TimeStated: true));
        }

        await rig.Must(new BenchCommand.Mixed(new RequestId("R3")));
        await rig.Must(new BenchCommand.PutOutOfUse(new BenchResource.Slot(new SlotNumber(3)), null, "cracked"));
        await rig.Must(new BenchCommand.SetIncubator(new IncubatorRule(new Celsius(25), new Celsius(1), [])));
        await rig.Must(new BenchCommand.TemperatureMeasured(new Celsius(27.5)));
        return rig;
    }

    /// <summary>
    /// A request was withdrawn when its cartridge had been mixed: it is to be discarded, for that reason.
    /// </summary>
    private static async Task<BenchRig> GivenUp()
    {
        var rig = await BenchRig.OpenAsync();
        await rig.Begin(BenchRig.Request("R1"), BenchRig.Request("R2"));
        await rig.Must(new BenchCommand.ChangeReady(new RequestId("R2"), null));
        await rig.Must(new BenchCommand.Mixed(new RequestId("R1")));
        await rig.Must(new BenchCommand.WithdrawRequest(new RequestId("R1")));
        await rig.Until(view => view.View.Offers is [{ Action: StepAction.Discard }]);
        return rig;
    }

    private static async Task Do(BenchRig rig, Offer offer)
    {
        if (Instant.Max(offer.ReportFrom, offer.PlannedEnd) is var at && at > rig.Now)
            rig.Advance(at - rig.Now);
        await rig.Must(Simulation.VirtualAide.ReportOf(offer.Action));
        await rig.Until(view => view.View.Offers.IsEmpty || view.View.Offers[0].Action != offer.Action);
    }

    [GeneratedRegex(@"(T\d+)-[0-9a-f]{32}")]
    private static partial Regex OwnId();
}
