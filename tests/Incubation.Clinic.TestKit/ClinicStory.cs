using Incubation.Model;
using Incubation.Model.Terms;
using NodaTime;

namespace Incubation.Clinic.TestKit;

/// <summary>An invented clinic, command by command. Its assays are invented and not for patients.</summary>
public static class ClinicStory
{
    public static BenchId Bench { get; } = BenchId.Of("bench-1");

    public static AssayCode A { get; } = AssayCode.Of("A");

    public static AssayCode B { get; } = AssayCode.Of("B");

    public static ClinicEvent.ClinicOpened Opened { get; } = new("Invented clinic", "Europe/Berlin");

    public static IReadOnlyList<StoryCommand> Commands { get; } = StoryCommand.Numbered(
    [
        [Opened],
        [new ClinicEvent.BenchRegistered(Bench, "Bench 1"),
            new ClinicEvent.BenchRegistered(BenchId.Of("bench-2"), "Bench 2")],
        [Drafted(A, 3, 1)],
        [Approved(A, 3, 1)],
        [Drafted(B, 15, 1)],
        [Approved(B, 15, 1), Lot("B-L1", B)],
        [Lot("A-L1", A), Lot("A-L2", A)],
        [Request("R01", A, "A-L1")],
        [Drafted(A, 5, 2)],
        [new ClinicEvent.AssayDraftDropped(A, 2), Drafted(A, 4, 3)],
        [Approved(A, 4, 2)],
        [Request("R02", A, "A-L2", version: 2), Request("R03", B, "B-L1", bench: "bench-2"),
            Request("R04", B, "B-L1", after: "R03")],
    ]);

    public static Assay Assay(AssayCode code, int minutes) => new(
        code, $"Invented assay {code}, not for patients", IncubationPlace.Incubator, Seconds(50), Seconds(120),
            Seconds(25),
        Duration.FromMinutes(minutes), Seconds(90), Seconds(15), Seconds(40.5), Seconds(10), Seconds(35), Seconds(15));

    public static AssaySheet Sheet(AssayCode code, int minutes) => AssaySheet.Plain(Assay(code, minutes), code == A
        ? "mg/L" : "ug/L") with
    {
        Analyte = "Invented analyte",
        Loinc = new LoincCode("1988-5"),
        Instructions = "Revision 4",
        Results = new ResultRule(1, new ValueRange(0.5m, 200m), new ValueRange(null, 5m), new ValueRange(null, 150m)),
        Specimens = new SpecimenRule(["serum", "plasma"], 10m, 80m, Duration.FromHours(24), Duration.FromMinutes(15)),
        Warmth = new WarmthRule(new Celsius(25), new Celsius(1), code == A ? Duration.FromMinutes(2) : null),
        Materials = new MaterialRule(Duration.FromMinutes(30), Duration.FromHours(1)),
        Controls = new ControlPolicy(2, true, true, false, true, ControlGate.Wait),
        Texts = StepTexts.None with { Load = "73 µL; do not overfill the well, no bubbles" },
    };

    public static ClinicEvent.AssayDrafted Drafted(AssayCode code, int minutes, int revision) =>
        new(Sheet(code, minutes), revision);

    public static ClinicEvent.AssayApproved Approved(AssayCode code, int minutes, int version) =>
        new(Sheet(code, minutes), version);

    public static ClinicEvent.LotReceived Lot(string lot, AssayCode assay) =>
        new(LotCode.Of(lot), assay, new LocalDate(2026, 3, 2));

    public static ClinicEvent.RequestReceived Request(
        string id, AssayCode assay, string lot, int version = 1, string bench = "bench-1", string? after = null) => new(
            BenchId.Of(bench),
            new Request(
                RequestId.Of(id), SpecimenId.Of("SP-" + id), assay, LotCode.Of(lot), StoryProvenance.Morning
                    + Seconds(0.001),
                after is null ? RequestKind.Control : RequestKind.Patient, after is not null,
                after is null ? Priority.Routine : Priority.Urgent,
                after is null ? null : StoryProvenance.Morning + Seconds(3600),
                after is null ? null : StoryProvenance.Morning + Seconds(1800.25),
                after is null ? [] : [RequestId.Of(after)]),
            version,
            after is null
                ? null
                : new Particulars("1980-02-29", "serum", StoryProvenance.Morning, null,
                    new ControlMaterial(LotCode.Of("C-L1"), 2)));

    private static Duration Seconds(double seconds) => Duration.FromSeconds(seconds);
}
