using System.Security.Cryptography;
using System.Text;
using Incubation.Exchange.Lists;
using Incubation.Service.Clinic;
using Incubation.Service.Clock;
using Incubation.Service.Panels;
using Incubation.Service.Text;

namespace Incubation.Service.Worklist;

/// <summary>A list or a file, read as orders and not added.</summary>
/// <param name="Orders">Its orders; to be used only where there is no fault.</param>
/// <param name="Faults">What is wrong, by line and column.</param>
public sealed record OrderFileReading(IReadOnlyList<OrderIn> Orders, IReadOnlyList<ListFault> Faults);

/// <summary>Reads a pasted list or a file as orders. Changes nothing.</summary>
public sealed class OrderFile(ClinicHost clinic, BenchClock clock, PanelService panels)
{
    /// <summary>So many letters and digits of a hash stand for a list, where it does not number its orders.</summary>
    private const int NameLength = 16;

    /// <summary>
    /// What a list says, or what is wrong with it. An order without a number gets one from the list's content and its
    /// line, so that the same list again is the same orders.
    /// </summary>
    public OrderFileReading Read(string text)
    {
        ArgumentNullException.ThrowIfNull(text);
        var list = SpecimenList.Read(text, SpecimenList.OrderColumns);
        var faults = list.Faults.ToList();
        var words = new AssayNames(clinic, panels);
        var name = Convert.ToHexStringLower(SHA256.HashData(Encoding.UTF8.GetBytes(text)))[..NameLength];
        var orders = new List<OrderIn>();
        foreach (var one in list.Specimens)
        {
            if (one.Assays.Count == 0)
                faults.Add(ListFault.At(one.Specimen, WorklistWords.ListAssayMissing));
            faults.AddRange(one.Assays.Where(said => words.Find(said.Text).Count == 0).Select(said => ListFault.At(said,
                Say.Of(RackWords.ListAssayUnknown, said.Text))));
            if (!TimeOfDay.TryReadDateAndTime(one.Collected?.Text, clinic.Facts.Zone, out var collected))
                faults.Add(ListFault.At(one.Collected!, RackWords.ListCollectedFault));
            if (!TimeOfDay.TryReadEither(one.Due?.Text, clock.Now, clinic.Facts.Zone, out var due))
                faults.Add(ListFault.At(one.Due!, RackWords.ListDueFault));
            orders.Add(new OrderIn(one.Number?.Text ?? Say.Of("{0}-{1}", name, one.Line), one.Specimen.Text,
                [.. one.Assays.Select(said => said.Text)], one.IsUrgent ? "urgent" : null, one.Identifier,
                one.SpecimenType, collected, due, one.Comment?.Text));
        }

        return new OrderFileReading(faults.Count > 0 ? [] : orders,
            [.. ListFault.InOrder(faults).Take(SpecimenList.MaxFaults)]);
    }
}
