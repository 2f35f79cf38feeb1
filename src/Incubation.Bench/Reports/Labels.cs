namespace Incubation.Bench;

/// <summary>What is asked of the labels on a bench's cartridges when one is loaded, moved or cleared.</summary>
public enum LabelDemand
{
    /// <summary>Nothing: a scan only shows whether the cartridge is the right one.</summary>
    Off,

    /// <summary>A scan of the right label is the report; the button is, too.</summary>
    Asked,

    /// <summary>A scan is the report; what is reported without one differs from the clinic's rule.</summary>
    Demanded,
}

/// <summary>What a report says of the label on its cartridge.</summary>
public enum LabelScan
{
    /// <summary>Its own label was scanned, and it was the plan's next.</summary>
    Scanned,

    /// <summary>No label was scanned, although the clinic demands it.</summary>
    NotScanned,

    /// <summary>Its own label was scanned while the plan's next was another: "it was done with this one".</summary>
    OtherThanPlanned,
}
