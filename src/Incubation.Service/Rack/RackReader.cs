using Incubation.Clinic.Stock;
using Incubation.Exchange.Lists;
using Incubation.Model;
using Incubation.Service.Benches;
using Incubation.Service.Clinic;
using Incubation.Service.Clock;
using Incubation.Service.Panels;
using Incubation.Service.Text;

namespace Incubation.Service.Rack;

/// <summary>Reads a pasted list or a file against the clinic's assays and panels. Changes nothing.</summary>
public sealed class RackReader(ClinicHost clinic, BenchClock clock, PanelService panels, BenchRegistry benches)
{
    /// <summary>What a list says, or what is wrong with it.</summary>
    /// <param name="text">The list.</param>
    /// <param name="bench">The bench that it is for.</param>
    /// <param name="batch">Number of the batch.</param>
    public RackReading Read(string text, string bench, int batch)
    {
        ArgumentNullException.ThrowIfNull(text);
        var list = SpecimenList.Read(text);
        var faults = list.Faults.ToList();
        var (lines, words) = (new List<RackLine>(), new AssayNames(clinic, panels));
        foreach (var one in list.Specimens)
        {
            var assays = new List<string>();
            foreach (var said in one.Assays)
                if (words.Find(said.Text) is { Count: > 0 } meant)
                    assays.AddRange(meant.Select(assay => assay.Assay.Code.Value).Except(assays));
                else
                    faults.Add(ListFault.At(said, Say.Of(RackWords.ListAssayUnknown, said.Text)));
            if (one.Collected is { } collected
                && !TimeOfDay.TryReadDateAndTime(collected.Text, clinic.Facts.Zone, out _))
                faults.Add(ListFault.At(collected, RackWords.ListCollectedFault));
            if (one.Due is { } due && !TimeOfDay.TryRead(due.Text, clock.Now, clinic.Facts.Zone, out _))
                faults.Add(ListFault.At(due, RackWords.ListDueFault));
            lines.Add(new RackLine(null, one.Specimen.Text, assays, one.IsUrgent, null, null, one.Identifier,
                one.SpecimenType, one.Collected?.Text, one.Due?.Text, LotsOf(one, assays, faults),
                BenchOf(one.Bench, bench, faults)));
        }

        return new RackReading(faults.Count > 0 ? [] : lines,
            [.. ListFault.InOrder(faults).Take(SpecimenList.MaxFaults)], NameOf(text, bench, batch, lines));
    }

    /// <summary>
    /// A list for one bench is the same again in the same batch; one for several, whose batches end at different times,
    /// on the same day.
    /// </summary>
    private string NameOf(string text, string bench, int batch, List<RackLine> lines)
    {
        var of = lines.Any(line => line.Bench is not null)
            ? Say.Day(clock.Now, clinic.Facts.Zone) : $"{bench}\n{batch}";
        return "file-" + RackPart.Hash($"{of}\n{text}");
    }

    /// <summary>Each lot is of the one assay that it was received for.</summary>
    private Dictionary<string, string>? LotsOf(ListedSpecimen one, List<string> assays, List<ListFault> faults)
    {
        if (one.Lots.Count == 0)
            return null;
        var lots = new Dictionary<string, string>();
        foreach (var said in one.Lots)
            if (!TextId.IsValid(said.Text) || clinic.Log.Stock.Find(StockKind.Kit, new LotCode(said.Text))
                is not { Assay: { } assay } kit)
                faults.Add(ListFault.At(said, Say.Of(RackWords.ListLotUnknown, said.Text)));
            else if (assays.Count > 0 && !assays.Contains(assay.Value))
                faults.Add(ListFault.At(said, Say.Of(RackWords.ListLotOfAnother, said.Text, assay.Value)));
            else if (StockStop.Of(clinic.Log.Stock, kit.Lot, assay, clock.Now.InZone(clinic.Facts.Zone).Date)
                is { } stop)
                faults.Add(ListFault.At(said, StockText.Of(stop)));
            else if (!lots.TryAdd(assay.Value, said.Text))
                faults.Add(ListFault.At(said, Say.Of(RackWords.ListLotTwice, assay.Value)));
        return lots;
    }

    /// <summary>A bench by its id or its name; null for the list's own.</summary>
    private string? BenchOf(CsvField? said, string bench, List<ListFault> faults)
    {
        if (said is null)
            return null;
        bool IsSaid(string known) => string.Equals(known, said.Text, StringComparison.OrdinalIgnoreCase);
        if (benches.All.FirstOrDefault(one => IsSaid(one.Id.Value) || IsSaid(one.Present.State.Name)) is { } meant)
            return meant.Id.Value == bench ? null : meant.Id.Value;
        faults.Add(ListFault.At(said, Say.Of(RackWords.ListBenchUnknown, said.Text)));
        return null;
    }
}
