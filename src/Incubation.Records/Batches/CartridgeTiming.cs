using Incubation.Model;
using Incubation.Records.Reports;
using NodaTime;

namespace Incubation.Records.Batches;

/// <summary>
/// What reports count of a cartridge's times and a <see cref="CartridgeRecord"/> does not say otherwise: so that
/// whoever has the record's export can count again.
/// </summary>
/// <param name="Ready">From when it might be mixed, as it was requested.</param>
/// <param name="Asked">Since when it waited; see <see cref="CartridgeTimes.Asked"/>.</param>
/// <param name="Mix">Its mix.</param>
/// <param name="Load">Its load.</param>
/// <param name="Move">Its move to the reader.</param>
/// <param name="Clear">Its clear.</param>
/// <param name="Spare">The least spare time that was left when one of its steps began, or null.</param>
/// <param name="Allowed">What its sheet allowed for each step, and the shortest mix and load.</param>
public sealed record CartridgeTiming(Instant Ready, Instant Asked, StepSpan Mix, StepSpan Load, StepSpan Move,
    StepSpan Clear, Duration? Spare, AllowedLengths Allowed)
{
    /// <summary>Of a cartridge in times.</summary>
    internal static CartridgeTiming Of(CartridgeTimes times, Instant ready, Assay sheet) => new(ready, times.Asked,
        times.Mix, times.Load, times.Move, times.Clear, times.Spare,
        new AllowedLengths(sheet.Mix, sheet.MixShortest, sheet.Load, sheet.LoadShortest, sheet.Move, sheet.Clear));
}

/// <summary>What an assay's sheet says of the lengths of its steps.</summary>
/// <param name="Mix">What is allowed for a mix.</param>
/// <param name="MixShortest">A shorter mix is not planned on.</param>
/// <param name="Load">What is allowed for a load.</param>
/// <param name="LoadShortest">A shorter load is not planned on.</param>
/// <param name="Move">What is allowed for a move.</param>
/// <param name="Clear">What is allowed for a clear.</param>
public readonly record struct AllowedLengths(Duration Mix, Duration MixShortest, Duration Load, Duration LoadShortest,
    Duration Move, Duration Clear);
