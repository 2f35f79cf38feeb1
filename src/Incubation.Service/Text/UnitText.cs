using Incubation.Bench;
using Incubation.Clinic.Assays;
using Incubation.Model;

namespace Incubation.Service.Text;

/// <summary>Units as people read them. Data, files and the API keep what UCUM writes.</summary>
public static class UnitText
{
    /// <summary>UCUM's arbitrary unit, which says nothing of what is measured; the demo's assays have it.</summary>
    private const string Arbitrary = "[arb'U]";

    /// <summary>A unit of UCUM in words, where its code is none; "" stays "".</summary>
    public static string Of(string unit) => unit == Arbitrary ? TextWords.UnitArbitrary : unit;

    /// <summary>The unit of an assay's latest sheet in words; "" where it has none.</summary>
    public static string Of(AssaysState assays, AssayCode assay)
    {
        ArgumentNullException.ThrowIfNull(assays);
        return Of(assays.Latest(assay)?.Sheet.Unit ?? "");
    }

    /// <summary>A value with its unit: "4.2 mg/L".</summary>
    public static string Of(string? value, string unit) => $"{value} {Of(unit)}";

    /// <summary>A measured value with its unit.</summary>
    public static string Of(ReadResult.Measured measured)
    {
        ArgumentNullException.ThrowIfNull(measured);
        return Of(measured.Value, measured.Unit);
    }
}
