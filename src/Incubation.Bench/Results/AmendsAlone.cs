namespace Incubation.Bench;

/// <summary>Which amendments of a person count at once, and wait for nobody.</summary>
public enum AmendsAlone
{
    /// <summary>All: they may release results.</summary>
    All,

    /// <summary>Those of results on which no supervisor decides, or has decided.</summary>
    Undecided,

    /// <summary>None: the clinic asks for a second look at each.</summary>
    None,
}
