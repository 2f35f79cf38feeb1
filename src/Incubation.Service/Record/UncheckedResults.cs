using Incubation.Clinic;
using Incubation.Clinic.People;
using Incubation.Records.Batches;
using Incubation.Service.Clinic;
using Incubation.Service.Clock;
using Incubation.Service.People;

namespace Incubation.Service.Record;

/// <summary>
/// Results that former versions let out although nobody had checked who entered them: they stay as recorded, and are
/// listed until a supervisor has looked at them. New ones are held.
/// </summary>
public sealed class UncheckedResults(ClinicHost clinic, CartridgeProjection book, BenchClock clock)
{
    /// <summary>Those that nobody has looked at.</summary>
    public IReadOnlyList<CartridgeRecord> ToLookAt() => clinic.Log.UncheckedSeen is { } seen
        ? [.. book.WentOutNotChecked().Where(one => one.ResultEntered.To > seen)] : book.WentOutNotChecked();

    /// <summary>Records that a supervisor has looked at them; the sentence says why not, or is null.</summary>
    public string? LookedAt(Actor? actor) => actor is null || !Access.May(actor, Right.Supervise) ? Words.NotAllowed
        : Outcome.Of(() => clinic.Log.Record(new ClinicEvent.UncheckedResultsSeen(), Provenances.Of(actor, clock)))
            .Fault;
}
