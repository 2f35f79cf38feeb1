using Incubation.Bench;

namespace Incubation.Clinic.Record;

/// <summary>
/// Which amendments wait for a supervisor: all, where the clinic asks for a second look; else those of somebody who
/// may not release results, of a control's result and of one that was amended before, released or is to be.
/// </summary>
/// <remarks>ISO 15189:2022, 7.3.7.2 (quality control is judged before results are released) and 7.4.1.2 (who reviews
/// and releases results is authorized to); from memory. That an aide's amendment waits is this program's own
/// rule.</remarks>
public static class AmendmentRule
{
    /// <summary>Which amendments of a person count at once.</summary>
    /// <param name="second">Whether the clinic asks for a second look.</param>
    /// <param name="decides">Whether they may release results.</param>
    public static AmendsAlone Of(bool second, bool decides) =>
        second ? AmendsAlone.None : decides ? AmendsAlone.All : AmendsAlone.Undecided;

    /// <summary>A command as its bench is told it: with which amendments of whoever says it count at once.</summary>
    public static BenchCommand Said(BenchCommand command, AmendsAlone alone) => command switch
    {
        BenchCommand.AmendResult amend => amend with { Alone = alone },
        BenchCommand.ResultEntered entered => entered with { Alone = alone },
        _ => command,
    };
}
