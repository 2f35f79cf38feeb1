using Incubation.Bench;
using Incubation.Model;
using Incubation.Service.Text;

namespace Incubation.Service.Settings;

/// <summary>What is asked of labels at a bench for which nobody has said it, as set and checked.</summary>
/// <param name="Demand">What.</param>
public sealed record LabelSettings(LabelDemand Demand)
{
    /// <summary>Nothing is asked: what holds where nothing is set.</summary>
    public static LabelSettings Usual { get; } = new(LabelDemand.Off);

    /// <summary>Reads the setting; every fault is a sentence in <paramref name="faults"/>.</summary>
    public static LabelSettings Read(IConfiguration configuration, ICollection<string> faults)
    {
        var text = configuration.GetSection(ServerSettings.Section)["LabelScans"];
        if (string.IsNullOrWhiteSpace(text))
            return Usual;
        if (KebabCase.Find<LabelDemand>(text.Trim()) is { } demand)
            return new LabelSettings(demand);
        faults.Add(Say.Of(SettingsWords.LabelScansFault, text));
        return Usual;
    }

    /// <summary>What is asked at a bench: as was said on its page, else as set here.</summary>
    public LabelDemand Of(BenchState state) => state.Labels ?? Demand;

    /// <summary>
    /// A command as it stands at a bench: where a label is demanded, a report that says nothing of one was made without
    /// a scan, whatever it was said through.
    /// </summary>
    public BenchCommand Said(BenchCommand command, BenchState state) =>
        Of(state) == LabelDemand.Demanded ? Demanded(command) : command;

    private static BenchCommand Demanded(BenchCommand command) => command switch
    {
        BenchCommand.AtLabel { Scan: null } report => report with { Scan = LabelScan.NotScanned },
        BenchCommand.Several several => several with
        { Reports = [.. several.Reports.Select(told => told with { What = Demanded(told.What) })] },
        _ => command,
    };
}
