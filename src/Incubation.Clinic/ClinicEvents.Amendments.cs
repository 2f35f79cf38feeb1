using Incubation.Bench;
using Incubation.Model;

namespace Incubation.Clinic;

public abstract partial record ClinicEvent
{
    /// <summary>
    /// A patient's result was amended after its batch had been closed; while a batch is open its own stream says so.
    /// </summary>
    /// <param name="Bench">The bench that ran it.</param>
    /// <param name="Batch">Number of the batch.</param>
    /// <param name="Request">The cartridge.</param>
    /// <param name="Before">What the result was.</param>
    /// <param name="After">What it is.</param>
    /// <param name="Why">Why, in words.</param>
    /// <param name="Told">Who was told of it, in words; null where nobody was.</param>
    public sealed record ClosedResultAmended(BenchId Bench, int Batch, RequestId Request, ReadResult Before,
        ReadResult After, string Why, string? Told) : ClinicEvent;

    /// <summary>
    /// A result that was held when its batch was closed goes out all the same, or is judged where it is a control's.
    /// </summary>
    /// <param name="Bench">The bench that ran it.</param>
    /// <param name="Batch">Number of the batch.</param>
    /// <param name="Request">The cartridge.</param>
    /// <param name="Why">Why, in words.</param>
    public sealed record ClosedResultReleased(BenchId Bench, int Batch, RequestId Request, string Why) : ClinicEvent;
}
