using Incubation.Clinic.Panels;
using Incubation.Records.Clinic;
using Incubation.Service.Clinic;

namespace Incubation.Service.Panels;

/// <summary>What a word of a list or an order stands for: an assay by its code or name, or a panel.</summary>
public sealed class AssayNames
{
    private readonly IReadOnlyList<CatalogueAssay> assays;
    private readonly IReadOnlyList<Panel> panels;

    /// <summary>As they are called now.</summary>
    public AssayNames(ClinicHost clinic, PanelService panels)
    {
        ArgumentNullException.ThrowIfNull(clinic);
        ArgumentNullException.ThrowIfNull(panels);
        (assays, this.panels) = (clinic.Catalogue.Assays(), panels.Usable());
    }

    /// <summary>The assays that are meant; none where nothing is called so.</summary>
    public IReadOnlyList<CatalogueAssay> Find(string? said)
    {
        bool IsSaid(string known) => string.Equals(known, said?.Trim(), StringComparison.OrdinalIgnoreCase);
        return assays.FirstOrDefault(known => IsSaid(known.Assay.Code.Value) || IsSaid(known.Assay.Name)) is { } assay
            ? [assay]
            : panels.FirstOrDefault(panel => IsSaid(panel.Name.Value)) is { } meant
            ? [.. meant.Assays.Select(code => assays.FirstOrDefault(known => known.Assay.Code == code))
                .OfType<CatalogueAssay>()]
            : [];
    }
}
