using System.Text.Json;
using Incubation.Exchange;
using Incubation.Model;
using Incubation.Service.Settings;

namespace Incubation.Service.Demo;

/// <summary>The file month.json of a demo folder: how an invented clinic spent the time before its first day.</summary>
/// <param name="Seed">Seed of every chance.</param>
/// <param name="WorkingDays">So many days, Mondays to Fridays, up to the day before.</param>
/// <param name="Demand">The demand file with a usual day.</param>
/// <param name="MorningAide">Who works at the bench until noon.</param>
/// <param name="AfternoonAide">Who does afterwards.</param>
/// <param name="Supervisor">Who releases what is held.</param>
/// <param name="BatchOf">A batch is begun when so many requests wait, or an urgent one.</param>
/// <param name="WaitAtMost">Or when one has waited for so many minutes.</param>
/// <param name="PeakWeeksAgo">The Tuesday of the peak: 0 is the last one.</param>
/// <param name="PeakAt">When so many more requests begin to come in on that day.</param>
/// <param name="PeakMinutes">Within so many minutes.</param>
/// <param name="PeakRequests">So many.</param>
/// <param name="RepeatLeft">Share of specimens of which enough is left for a repeat.</param>
/// <param name="Interruption">Share of steps in which the aide is called away.</param>
/// <param name="Bubbles">Share of loads after which bubbles are seen in the well.</param>
/// <param name="WellOverfilled">Share of loads after which the well is found over-filled.</param>
/// <param name="Dropped">Share of loads after which the cartridge falls down.</param>
/// <param name="ReaderFault">Share of reads that give no value.</param>
/// <param name="Note">For whoever opens the file.</param>
internal sealed record DemoMonthFile(
    ulong Seed, int WorkingDays, string Demand, string MorningAide, string AfternoonAide, string Supervisor,
        int BatchOf, int WaitAtMost,
    int PeakWeeksAgo, string PeakAt, int PeakMinutes, int PeakRequests,
    double RepeatLeft, double Interruption, double Bubbles, double WellOverfilled, double Dropped, double ReaderFault,
        string? Note = null)
{
    /// <summary>Name of the file in its folder.</summary>
    public const string FileName = "month.json";

    /// <summary>Reads a demo folder's month, with the demand that it names.</summary>
    /// <exception cref="StartException">A file is missing or cannot be understood.</exception>
    public static (DemoMonthFile Month, Demand Demand) Read(string folder, DemoClinic clinic)
    {
        var path = Path.Combine(folder, FileName);
        DemoMonthFile month;
        try
        {
            month = JsonSerializer.Deserialize<DemoMonthFile>(DemoClinic.ReadText(path), DemoClinic.Form)!;
        }
        catch (JsonException fault)
        {
            throw DemoClinic.Fault(path, fault.Path ?? "$", DemoWords.DemoNotUnderstood);
        }

        if (month.WorkingDays < 1 || month.BatchOf < 1 || DemandFile.ParseTime(month.PeakAt) is null)
            throw DemoClinic.Fault(path, "$", DemoWords.DemoNotUnderstood);
        var demandPath = Path.Combine(folder, month.Demand);
        var read = DemandFile.Parse(DemoClinic.ReadText(demandPath),
            [.. clinic.Clinic.Assays.Select(assay => new AssayCode(assay.Code))]);
        if (read.Value is { } demand)
            return (month, demand);
        var first = read.Faults[0];
        throw DemoClinic.Fault(demandPath, first.Path, first.What + " " + first.Allowed);
    }
}
