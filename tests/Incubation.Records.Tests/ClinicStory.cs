using Incubation.Model;
using Incubation.Records.Clinic;
using NodaTime;

namespace Incubation.Records.Tests;

/// <summary>An invented clinic, command by command. Its assays are invented and not for patients.</summary>
internal static class ClinicStory
{
    public static BenchId Bench { get; } = BenchId.Of("bench-1");

    public static AssayCode A { get; } = AssayCode.Of("A");

    public static AssayCode B { get; } = AssayCode.Of("B");

    public static ClinicEvent.ClinicOpened Opened { get; } = new("Invented clinic", "Europe/Berlin");

    public static IReadOnlyList<IReadOnlyList<ClinicEvent>> Commands { get; } =
    [
        [Opened],
        [new ClinicEvent.BenchRegistered(Bench, "Bench 1"), new ClinicEvent.BenchRegistered(BenchId.Of("bench-2"), "Bench 2")],
        [new ClinicEvent.AssayApproved(Assay(A, 3), 1, "mg/L")],
        [new ClinicEvent.AssayApproved(Assay(B, 15), 1, "ug/L"), Lot("B-L1", B)],
        [Lot("A-L1", A), Lot("A-L2", A)],
        [Request("R01", A, "A-L1")],
        [new ClinicEvent.AssayApproved(Assay(A, 4), 2, "mg/L")],
        [Request("R02", A, "A-L2", version: 2), Request("R03", B, "B-L1", bench: "bench-2"), Request("R04", B, "B-L1", after: "R03")],
    ];

    public static Assay Assay(AssayCode code, int minutes) => new(
        code, $"Invented assay {code}, not for patients", IncubationPlace.Incubator, Seconds(50), Seconds(120), Seconds(25),
        Duration.FromMinutes(minutes), Seconds(90), Seconds(15), Seconds(40.5), Seconds(10), Seconds(35), Seconds(15));

    public static ClinicEvent.LotReceived Lot(string lot, AssayCode assay) => new(LotCode.Of(lot), assay, new LocalDate(2026, 3, 2));

    public static ClinicEvent.RequestReceived Request(
        string id, AssayCode assay, string lot, int version = 1, string bench = "bench-1", string? after = null) => new(
            BenchId.Of(bench),
            new Request(
                RequestId.Of(id), SpecimenId.Of("SP-" + id), assay, LotCode.Of(lot), Rows.Morning + Seconds(0.001),
                after is null ? RequestKind.Control : RequestKind.Patient, after is not null,
                after is null ? Priority.Routine : Priority.Urgent,
                after is null ? null : Rows.Morning + Seconds(3600),
                after is null ? null : Rows.Morning + Seconds(1800.25),
                after is null ? [] : [RequestId.Of(after)]),
            version);

    /// <summary>Records the whole story.</summary>
    public static void Tell(ClinicLog log)
    {
        for (var number = 0; number < Commands.Count; number++)
            _ = log.Record(Commands[number], Rows.Touch(number));
    }

    private static Duration Seconds(double seconds) => Duration.FromSeconds(seconds);
}
