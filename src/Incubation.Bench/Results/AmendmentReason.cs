namespace Incubation.Bench;

/// <summary>The usual reasons for which a result is amended.</summary>
public enum AmendmentReason
{
    /// <summary>It was typed wrongly.</summary>
    Typed,

    /// <summary>It was another cartridge's value.</summary>
    OtherCartridge,

    /// <summary>The reader's display was read wrongly.</summary>
    Misread,

    /// <summary>The specimen was measured again.</summary>
    MeasuredAgain,

    /// <summary>Another, which stands in words.</summary>
    Other,
}
