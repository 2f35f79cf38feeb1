using Incubation.Model;
using NodaTime;

namespace Incubation.Records.Storage;

/// <summary>A report by which a cartridge was used.</summary>
internal sealed record UseRow
{
    public required BenchId Bench { get; init; }
    public required string Report { get; init; }
    public required RequestId Request { get; init; }
    public required Instant At { get; init; }
}
