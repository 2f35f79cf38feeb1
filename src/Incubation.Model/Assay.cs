using NodaTime;

namespace Incubation.Model;

/// <summary>Where a cartridge reacts.</summary>
public enum IncubationPlace
{
    /// <summary>In a slot of the bench incubator; hands move it to the reader.</summary>
    Incubator,

    /// <summary>Inside the reader, which times itself.</summary>
    Reader,

    /// <summary>Either; the plan chooses.</summary>
    Either,
}

/// <summary>Which version of which assay.</summary>
/// <param name="Code">The catalogue's code.</param>
/// <param name="Version">The version, from 1.</param>
public readonly record struct AssayKey(AssayCode Code, int Version);

/// <summary>
/// A test method as its kit's instructions state it, reduced to what a plan needs. All lengths are allowed times,
/// not negative; zero is legal.
/// </summary>
/// <param name="Code">The catalogue's code.</param>
/// <param name="Name">The name that people read.</param>
/// <param name="Place">Where the cartridge reacts.</param>
/// <param name="Mix">Hands mix specimen with buffer for so long.</param>
/// <param name="MixToLoad">The mixture must be loaded within so long after the mix has ended.</param>
/// <param name="Load">Hands load the well for so long; the reaction clock starts at its end.</param>
/// <param name="Incubation">The reaction time: the read window opens when it has passed.</param>
/// <param name="ReadWindow">The read must start within so long after the window has opened.</param>
/// <param name="Move">Hands move the cartridge from its slot to the reader for so long.</param>
/// <param name="Read">The reader measures for so long.</param>
/// <param name="Clear">Hands take the cartridge out for so long.</param>
/// <param name="MixShortest">The shortest that a mix takes; at most <paramref name="Mix"/>.</param>
/// <param name="LoadShortest">The shortest that a load takes; at most <paramref name="Load"/>.</param>
public sealed record Assay(
    AssayCode Code,
    string Name,
    IncubationPlace Place,
    Duration Mix,
    Duration MixToLoad,
    Duration Load,
    Duration Incubation,
    Duration ReadWindow,
    Duration Move,
    Duration Read,
    Duration Clear,
    Duration MixShortest,
    Duration LoadShortest)
{
    /// <summary>
    /// The version, from 1, where a planning problem has several of one code; the log says it beside the assay.
    /// </summary>
    public int Version { get; init; } = 1;

    /// <summary>Code and version.</summary>
    public AssayKey Key => new(Code, Version);
}
