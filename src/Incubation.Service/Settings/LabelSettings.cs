using Incubation.Bench;
using Incubation.Model;
using Incubation.Service.Text;

namespace Incubation.Service.Settings;

/// <summary>What a clinic asks of the labels on its cartridges when one is loaded, moved or cleared.</summary>
public enum LabelDemand
{
    /// <summary>Nothing: a scan only shows whether the cartridge is the right one.</summary>
    Off,

    /// <summary>A scan of the right label is the report; the button is, too.</summary>
    Asked,

    /// <summary>A scan is the report; what is reported without one differs from the clinic's rule.</summary>
    Demanded,
}

/// <summary>What a clinic asks of the labels on its cartridges, as set and checked.</summary>
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

    /// <summary>
    /// A command as it stands in this clinic: where a label is demanded, a report that says nothing of one was made
    /// without a scan, whatever it was said through.
    /// </summary>
    public BenchCommand Said(BenchCommand command) => Demand != LabelDemand.Demanded ? command : command switch
    {
        BenchCommand.AtLabel { Scan: null } report => report with { Scan = LabelScan.NotScanned },
        BenchCommand.Several several => several with
        { Reports = [.. several.Reports.Select(told => told with { What = Said(told.What) })] },
        _ => command,
    };
}
