using Incubation.Bench;
using Incubation.Clinic.People;
using Incubation.Model;
using Incubation.Records.Batches;
using Incubation.Service.Benches;
using Incubation.Service.Clinic;
using Incubation.Service.Clock;
using Incubation.Service.Record;
using Incubation.Service.Snapshots;
using Incubation.Service.Text;
using NodaTime;

namespace Incubation.Service.Waiting;

/// <summary>A request without a value.</summary>
/// <param name="Bench">Id of its bench.</param>
/// <param name="BenchName">Its name.</param>
/// <param name="Batch">Number of the batch in which it stands.</param>
/// <param name="IsClosed">Whether that batch is closed.</param>
/// <param name="Request">The request.</param>
/// <param name="Specimen">Its specimen.</param>
/// <param name="AssayName">What for.</param>
/// <param name="IsUrgent">Whether it is urgent.</param>
/// <param name="IsControl">Whether it is a control.</param>
/// <param name="Since">Since when somebody waits for its value.</param>
/// <param name="Due">When the value should be there, or null.</param>
/// <param name="Status">How far it has come, in words.</param>
/// <param name="Fate">What becomes of it, in words; null where it waits or is in work as planned.</param>
/// <param name="IsOpen">Whether it is over and nobody has said what becomes of it.</param>
/// <param name="From">Where it comes from, in words; "" where it was asked for in this batch.</param>
public sealed record WaitingLine(
    string Bench, string BenchName, int Batch, bool IsClosed, string Request, string Specimen, string AssayName,
    bool IsUrgent, bool IsControl, Instant Since, Instant? Due, string Status, string? Fate, bool IsOpen, string From);

/// <summary>Who still waits for what, over all benches that an actor may see.</summary>
/// <param name="Waiting">Requests of present batches whose value is still looked for, may be, or was read and is not
/// entered: urgent ones first, then those that wait longest.</param>
/// <param name="Ended">Requests that ended without a value: given up, or closed without a word by a former version; the
/// longest waiting first.</param>
public sealed record WaitingList(IReadOnlyList<WaitingLine> Waiting, IReadOnlyList<WaitingLine> Ended);

/// <summary>Tells who still waits for what.</summary>
public sealed class WaitingService(BenchRegistry benches, CartridgeProjection book, ClinicHost clinic,
    BenchClock clock)
{
    /// <summary>What ended without a value is told for so many days after its batch was closed.</summary>
    public const int DaysTold = 30;

    /// <summary>
    /// Requests of closed batches that ended without a value, of the benches that an actor may see. Reads the record:
    /// not to be asked at every tap.
    /// </summary>
    public IReadOnlyList<WaitingLine> Closed(Actor? actor)
    {
        var names = SeenBy(actor).ToDictionary(view => view.State.Id, view => view.State.Name);
        return names.Count == 0 ? [] : [.. book.EndedWithoutValue(clock.Now - Duration.FromDays(DaysTold))
            .Where(one => names.ContainsKey(one.Bench)).Select(one => LineOf(names[one.Bench], one))];
    }

    /// <summary>Every request without a value that an actor may see; empty for who may see none.</summary>
    /// <param name="actor">Who.</param>
    /// <param name="closed">What <see cref="Closed"/> gave this actor.</param>
    public WaitingList List(Actor? actor, IReadOnlyList<WaitingLine> closed)
    {
        var seen = SeenBy(actor);
        var present = seen.SelectMany(view => WithoutValueIn(LiveBench.Readable(view.State))
            // The repeat stands for it.
            .Where(one => one.Fate is not RequestFate.Repeated)
            .Select(one => (one.Fate, Line: LineOf(view, one)))).ToList();
        return new WaitingList(
            [.. present.Where(one => one.Fate is not RequestFate.GivenUp).Select(one => one.Line)
                .OrderByDescending(line => line.IsUrgent).ThenBy(line => line.Since)
                .ThenBy(line => line.Request, StringComparer.Ordinal)],
            [.. present.Where(one => one.Fate is RequestFate.GivenUp).Select(one => one.Line).Concat(closed)
                .OrderByDescending(line => line.IsOpen).ThenBy(line => line.Since)]);
    }

    /// <summary>
    /// What was read waits until its value is entered, too: its fate is plain, nobody has to say one.
    /// </summary>
    private static IEnumerable<WithoutValue> WithoutValueIn(BenchState state) => Fates.List(state).Concat(
        state.Cartridges.Where(cartridge => cartridge.ResultMissing)
            .Select(cartridge => new WithoutValue(cartridge, null)));

    private List<BenchMoment> SeenBy(Actor? actor) =>
        [.. benches.All.Where(runner => Access.May(actor, Right.SeeNamed, runner.Id.Value))
            .Select(runner => runner.Present)];

    private WaitingLine LineOf(BenchMoment view, WithoutValue one)
    {
        var state = view.State;
        var (cartridge, request) = (one.Cartridge, one.Cartridge.Wanted.Request);
        return new WaitingLine(state.Id.Value, state.Name, state.Batch, false, request.Id.Value,
            request.Specimen.Value, cartridge.Wanted.Assay.Name, request.Priority == Priority.Urgent,
            request.Kind == RequestKind.Control,
            Since(cartridge.WaitsSince, cartridge.RepeatOf ?? request.Id),
            request.Due,
            BatchText.Stage(view, cartridge, clinic.Facts.Zone),
            cartridge.ResultMissing ? TextWords.FateToEnter
                : Say.Dotted(FateText.Of(state, one), SaidBy(one.Fate)) is { Length: > 0 } fate ? fate : null,
            one is { Fate: null, Cartridge: { IsOver: true, ResultMissing: false } },
            Say.Dotted(FateText.From(cartridge), Ordered(cartridge.RepeatOf ?? request.Id)));
    }

    private WaitingLine LineOf(string benchName, CartridgeRecord one) => new(
        one.Bench.Value, benchName, one.Batch, true, one.Request.Value, one.Specimen.Value, one.AssayName,
        one.Priority == Priority.Urgent, one.Kind == RequestKind.Control,
        Since(one.WaitsSince, one.RepeatOf ?? one.Request), null,
        ResultStatusText.Of(one), one.Fate is { } fate
            ? Say.Dotted(FateText.Of(fate, isUsed: true), SaidBy(fate))
            : one.IsLostUnsaid ? TextWords.FateNone : one.Released,
        one.IsLostUnsaid, Say.Dotted(FateText.From(one.FromBatch, one.RepeatOf), Ordered(one.RepeatOf ?? one.Request)));

    /// <summary>Whoever ordered it has waited since then.</summary>
    private Instant Since(Instant since, RequestId request) => clinic.Log.Worklist.RunAs(request)
        .Select(order => order.Came).Append(since).Min();

    private string? Ordered(RequestId request) => clinic.Log.Worklist.RunAs(request) is [var order, ..]
        ? Say.Of(WorklistWords.OrderOf, order.Source, order.Number) : null;

    private string? SaidBy(RequestFate? fate) => fate switch
    {
        RequestFate.CarriedOver carried => Said(carried.By, carried.At),
        RequestFate.GivenUp given => Said(given.By, given.At),
        _ => null,
    };

    private string Said(PersonId by, Instant at) => Say.Of(TextWords.FateSaidBy, Names.Of(by, clinic.Log.People),
        Say.DateAndTime(at, clinic.Facts.Zone));
}
