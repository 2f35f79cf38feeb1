using System.Security.Cryptography;
using System.Text;
using Incubation.Exchange.Lists;
using Incubation.Service.Clinic;
using Incubation.Service.Clock;
using Incubation.Service.Panels;
using Incubation.Service.Text;

namespace Incubation.Service.Rack;

/// <summary>Reads a pasted list or a file against the clinic's assays and panels. Changes nothing.</summary>
public sealed class RackReader(ClinicHost clinic, BenchClock clock, PanelService panels)
{
    /// <summary>So many letters and digits of a hash name a list.</summary>
    private const int NameLength = 40;

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
                    faults.Add(new ListFault(said.Line, said.Column, Say.Of(RackWords.ListAssayUnknown, said.Text)));
            if (one.Collected is { } collected
                && !TimeOfDay.TryReadDateAndTime(collected.Text, clinic.Facts.Zone, out _))
                faults.Add(new ListFault(collected.Line, collected.Column, RackWords.ListCollectedFault));
            if (one.Due is { } due && !TimeOfDay.TryRead(due.Text, clock.Now, clinic.Facts.Zone, out _))
                faults.Add(new ListFault(due.Line, due.Column, RackWords.ListDueFault));
            lines.Add(new RackLine(null, one.Specimen.Text, assays, one.IsUrgent, null, null, one.Identifier,
                one.SpecimenType, one.Collected?.Text, one.Due?.Text));
        }

        var hash = SHA256.HashData(Encoding.UTF8.GetBytes($"{bench}\n{batch}\n{text}"));
        return new RackReading(faults.Count > 0 ? [] : lines, [.. faults.Take(SpecimenList.MaxFaults)],
            "file-" + Convert.ToHexStringLower(hash)[..NameLength]);
    }
}
