using Incubation.Model;
using Incubation.Model.StepTimes;
using Incubation.Model.Reports;
using NodaTime;

namespace Incubation.Records.Reports;

/// <summary>A step of hands whose length a sheet allows.</summary>
public enum HandsStep
{
    /// <summary>Mix specimen with buffer.</summary>
    Mix,

    /// <summary>Load the well.</summary>
    Load,

    /// <summary>Move to the reader, until the read is started.</summary>
    Move,

    /// <summary>Take out of the reader.</summary>
    Clear,
}

/// <summary>How long one step of one assay took on a bench, beside what its sheet allows.</summary>
/// <param name="Assay">The assay.</param>
/// <param name="Step">The step.</param>
/// <param name="Seconds">Recorded lengths, the shortest first.</param>
/// <param name="LeftOut">How many were no length of the step: longer than three times what was allowed, or of a step
/// that no plan had offered.</param>
/// <param name="Sheet">What the sheet says today.</param>
/// <param name="Learned">What the bench's record says, by <see cref="StepLengths.Learned"/>.</param>
public sealed record StepRecord(AssayCode Assay, HandsStep Step, IReadOnlyList<double> Seconds, int LeftOut,
    StepLengths Sheet, StepLengths Learned)
{
    /// <summary>Whether a plan counts on a shortest length of this step too.</summary>
    public bool HasShortest => Step is HandsStep.Mix or HandsStep.Load;

    /// <summary>Whether the record says otherwise than the sheet.</summary>
    public bool Differs => Seconds.Count > 0
        && (Learned.Allowed != Sheet.Allowed || (HasShortest && Learned.Shortest != Sheet.Shortest));

    /// <summary>Which part of the learned length is the bench's own record; the rest is the sheet's.</summary>
    public double Weight => (double)Seconds.Count / (Seconds.Count + StepLengths.PriorWeight);

    /// <summary>Where the true 95th percentile lies with 95 % confidence, in seconds.</summary>
    public PercentileInterval Sureness => PercentileInterval.Of95(Seconds, 0.95);

    /// <summary>Which part of the recorded lengths was longer than so long; null without any.</summary>
    public double? Beyond(Duration length) => Seconds.Count == 0
        ? null : (double)Seconds.Count(seconds => seconds > length.TotalSeconds) / Seconds.Count;

    /// <summary>Which part of the recorded lengths was shorter than so long; null without any.</summary>
    public double? Below(Duration length) => Seconds.Count == 0
        ? null : (double)Seconds.Count(seconds => seconds < length.TotalSeconds) / Seconds.Count;

    /// <summary>What a bench's record says of every step of an assay.</summary>
    /// <param name="assay">The assay as its sheet states it today.</param>
    /// <param name="cartridges">The bench's cartridges of this assay.</param>
    /// <param name="versionOf">The assay as an earlier version of its sheet stated it; null where that is not
    /// known.</param>
    public static IReadOnlyList<StepRecord> Of(Assay assay, IReadOnlyCollection<CartridgeTimes> cartridges,
        Func<int, Assay?> versionOf)
    {
        ArgumentNullException.ThrowIfNull(assay);
        return [.. Enum.GetValues<HandsStep>().Select(step => Of(assay, step, cartridges, versionOf))];
    }

    private static StepRecord Of(Assay assay, HandsStep step, IEnumerable<CartridgeTimes> cartridges,
        Func<int, Assay?> versionOf)
    {
        var (lengths, leftOut) = (new List<Duration>(), 0);
        foreach (var cartridge in cartridges)
        {
            if (SpanOf(cartridge, step) is not { Begun: { } begun, End: { } end } span)
                continue;
            var allowed = LengthsOf(versionOf(cartridge.AssayVersion) ?? assay, step).Allowed;
            // A step that no plan had was not offered: its begin is only believed.
            if (span.PlannedEnd is not null && StepLengths.Between(begun, null, end, allowed) is { } length)
                lengths.Add(length);
            else
                leftOut++;
        }

        var sheet = LengthsOf(assay, step);
        return new StepRecord(assay.Code, step, [.. lengths.Select(length => length.TotalSeconds).Order()], leftOut,
            sheet, StepLengths.Learned(lengths, sheet));
    }

    /// <summary>An assay with another length of a step.</summary>
    public static Assay With(Assay assay, HandsStep step, StepLengths lengths)
    {
        ArgumentNullException.ThrowIfNull(assay);
        ArgumentNullException.ThrowIfNull(lengths);
        return step switch
        {
            HandsStep.Mix => assay with { Mix = lengths.Allowed, MixShortest = lengths.Shortest },
            HandsStep.Load => assay with { Load = lengths.Allowed, LoadShortest = lengths.Shortest },
            HandsStep.Move => assay with { Move = lengths.Allowed },
            _ => assay with { Clear = lengths.Allowed },
        };
    }

    private static StepSpan SpanOf(CartridgeTimes cartridge, HandsStep step) => step switch
    {
        HandsStep.Mix => cartridge.Mix,
        HandsStep.Load => cartridge.Load,
        HandsStep.Move => cartridge.Move,
        _ => cartridge.Clear,
    };

    /// <summary>What a sheet says of a step; a move or clear has no shortest length of its own.</summary>
    private static StepLengths LengthsOf(Assay assay, HandsStep step) => step switch
    {
        HandsStep.Mix => new StepLengths(assay.Mix, assay.MixShortest),
        HandsStep.Load => new StepLengths(assay.Load, assay.LoadShortest),
        HandsStep.Move => new StepLengths(assay.Move, Duration.Zero),
        _ => new StepLengths(assay.Clear, Duration.Zero),
    };
}
