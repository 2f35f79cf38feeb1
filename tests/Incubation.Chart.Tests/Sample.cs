using System.Collections.Immutable;
using System.Globalization;
using System.Xml.Linq;
using Incubation.Bench;
using Incubation.Model;
using Incubation.Planning;
using NodaTime;

namespace Incubation.Chart.Tests;

/// <summary>Small days and benches whose times are known.</summary>
internal static class Sample
{
    public static readonly Instant Start = Instant.FromUtc(2026, 3, 2, 8, 0, 0);
    public static readonly BenchSetup Setup = new(1, 2, 1, Seconds(25), Seconds(15), 0);

    public static readonly Assay Assay = new(
        new AssayCode("A1"), "Demo assay", IncubationPlace.Either, Seconds(50), Seconds(120), Seconds(25),
            Seconds(480), Seconds(90),
        Seconds(15), Seconds(40), Seconds(10), Seconds(35), Seconds(15));

    public static Duration Seconds(double seconds) => Duration.FromSeconds(seconds);

    public static Request Request(string id = "R01", string specimen = "SP-001",
        Priority priority = Priority.Routine) => new(
        new RequestId(id), new SpecimenId(specimen), Assay.Code, new LotCode("A1-L1"), Start, RequestKind.Patient,
            true, priority, null, null, []);

    public static PlannedStep Step(StepAction action, double from, double to, bool hands = true) =>
        new(action, hands ? new HandsNumber(1) : null, Start + Seconds(from), Start + Seconds(to));

    public static CartridgePlace InSlot(int slot) => new CartridgePlace.InSlot(new SlotNumber(slot));

    /// <summary>
    /// One cartridge through slot 2: card change 0–25, mix 25–75, load 75–100, move 590–605, read 605–645, clear
    /// 650–660.
    /// </summary>
    public static (BenchDay Day, Plan Plan) OneCartridge(string specimen = "SP-001",
        Priority priority = Priority.Routine)
    {
        var request = Request(specimen: specimen, priority: priority);
        var reader = new ReaderNumber(1);
        PlannedStep[] steps =
        [
            Step(new StepAction.CardChange(reader, request.Lot), 0, 25),
            Step(new StepAction.Mix(request.Id), 25, 75),
            Step(new StepAction.Load(request.Id, InSlot(2)), 75, 100),
            Step(new StepAction.Move(request.Id, reader), 590, 605),
            Step(new StepAction.Read(request.Id, reader), 605, 645, hands: false),
            Step(new StepAction.Clear(request.Id, reader), 650, 660),
        ];
        return (new BenchDay(Start, Setup, [Assay], [request], [], null), PlanOf(steps));
    }

    public static Plan PlanOf(params IEnumerable<PlannedStep> steps) =>
        new([.. steps], 660, Seconds(660), Duration.Zero, 660, false, [], [], []);

    /// <summary>
    /// A bench on which one cartridge reacts in slot 2, loaded 75–100 with the load's end known to be 90–100, so that
    /// its window is 580–660 with the guard from 645; its move is planned 590–605.
    /// </summary>
    public static (BenchState State, BenchView Look) Reacting(double at, string specimen = "SP-001",
        Priority priority = Priority.Routine, string bench = "bench-1")
    {
        var request = Request(specimen: specimen, priority: priority);
        var reader = new ReaderNumber(1);
        var loadEnd = new InstantRange(Start + Seconds(90), Start + Seconds(100));
        var cartridge = new Cartridge(
            new BenchRequest(request, Assay, 1, "ng/mL"),
                new CartridgeStage.InWork(new CartridgePhase.Reacting(loadEnd, InSlot(2))), [], null, null);
        var (_, plan) = OneCartridge(specimen, priority);
        var opened = new BenchEntry(
            new BenchEvent.BenchOpened(new BenchId(bench), "Bench 1", Setup, Seconds(20)),
            new Provenance(new ReportId("open"), Start, Start, new PersonId("p"), new DeviceId("d")));
        var state = In(LiveBench.Apply(null, opened), run => run with
        {
            Phase = BatchPhase.Running,
            StartedAt = Start,
            Cartridges = [cartridge],
            Done =
            [
                new DoneStep(new StepAction.Mix(request.Id), new HandsNumber(1), Start + Seconds(25),
                    Start + Seconds(70)),
                new DoneStep(new StepAction.Load(request.Id, InSlot(2)), new HandsNumber(1), Start + Seconds(75),
                    Start + Seconds(100)),
            ],
            Adopted = new AdoptedPlan(plan, new PlanOrigin(PlanCause.Search, 1, 1, "1"), Start,
                [.. plan.Steps.Where(s => s.Start >= Start + Seconds(590)).Select(s => new RemainingStep(s, null))]),
        });
        var window = ReadWindow.Of(Assay, Setup, loadEnd);
        var look = new BenchView(
            Start + Seconds(at), [], [],
            [new SlotView(new SlotNumber(1), null, null, null),
                new SlotView(new SlotNumber(2), cartridge, window, Start + Seconds(590))],
            [new ReaderView(reader, new LotCode("A1-L1"), null, null)], [], [], [], [], [],
            new BatchTotals(1, 0, 1, 0, 0, 0, 0, 0, 0, null, 0, null, null), null, null, LastMoments.None, [], null);
        return (state, look);
    }

    /// <summary>The bench with its batch changed.</summary>
    public static BenchState In(BenchState state, Func<BatchRun, BatchRun> change) =>
        state with { Run = change(state.Run) };

    /// <summary>Elements that bear a class, whatever others they bear.</summary>
    public static IReadOnlyList<XElement> OfClass(this XElement root, string name) =>
        [.. root.DescendantsAndSelf().Where(e => ((string?)e.Attribute("class"))?.Split(' ').Contains(name) == true)];

    public static double Number(this XElement element, string attribute) =>
        double.Parse(element.Attribute(attribute)!.Value, CultureInfo.InvariantCulture);

    /// <summary>The outline of a block: where it begins and how long it is, in pixels.</summary>
    public static (double X, double Width) Box(this XElement block)
    {
        var box = block.OfClass("ln-box").First(e => e.Name.LocalName == "rect");
        return (box.Number("x"), box.Number("width"));
    }
}
