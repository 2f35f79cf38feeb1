using Incubation.Bench;
using Incubation.Model;
using NodaTime;

namespace Incubation.Clinic.TestKit;

/// <summary>Who says what in an invented clinic, and when.</summary>
public static class StoryProvenance
{
    /// <summary>When the stories begin.</summary>
    public static Instant Morning { get; } = Instant.FromUtc(2026, 3, 2, 8, 0);

    /// <summary>One of its own for each number, a second after the one before.</summary>
    public static Provenance Of(int number) => new(
        ReportId.Of($"report-{number}"),
        Morning + Duration.FromSeconds(number),
        Morning + Duration.FromSeconds(number) + Duration.FromMilliseconds(40),
        PersonId.Of("aide"),
        DeviceId.Of("tablet-1"));

    /// <summary>As above, but another person's where the events approve an assay: its writers may not.</summary>
    public static Provenance Of(int number, IReadOnlyList<ClinicEvent> events) =>
        events.Any(@event => @event is ClinicEvent.AssayApproved)
            ? Of(number) with { Person = PersonId.Of("second") }
            : Of(number);
}
