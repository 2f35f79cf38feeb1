using System.Diagnostics.Metrics;

namespace Incubation.Records;

/// <summary>What the data file measures about itself.</summary>
public static class RecordsMeter
{
    /// <summary>Name of the meter, for whoever collects.</summary>
    public const string Name = "Incubation.Records";

    private static readonly Meter Meter = new(Name);

    /// <summary>How long a commit took, the flush to the disk included, in seconds.</summary>
    internal static readonly Histogram<double> Commit = Meter.CreateHistogram<double>(
        "incubation.log.commit.duration", "s", "A commit of the log with its flush to the disk");
}
