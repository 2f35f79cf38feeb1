using System.Collections.Immutable;
using System.Globalization;
using Incubation.Bench;
using Incubation.Clinic;
using Incubation.Clinic.Controls;
using Incubation.Clinic.Programme;
using Incubation.Clinic.Stock;
using Incubation.Clinic.Worklist;
using Incubation.Model;
using Incubation.Records.Clinic;
using Incubation.Service.Benches;
using Incubation.Service.Clinic;
using Incubation.Service.Clock;
using Incubation.Service.Gates;
using Incubation.Service.People;
using Incubation.Service.Text;
using NodaTime;

namespace Incubation.Service.Requests;

/// <summary>
/// Takes requests in: checks each member, records them with the clinic, which refuses what a rule forbids (an expired
/// lot, a lot of another assay), and puts them on the bench under the same report, so that a crash in between is mended
/// at the next start.
/// </summary>
public sealed class Intake(ClinicHost clinic, BenchRegistry benches, BenchClock clock, LotGateService gates)
    : IDisposable
{
    /// <summary>How a request of proficiency testing says so; only what is in an open round is taken as one.</summary>
    public const string ProficiencyKind = "proficiency";

    /// <summary>So many faults are told at once.</summary>
    private const int MaxFaults = 100;

    private readonly SemaphoreSlim oneAtATime = new(1, 1);

    /// <summary>Puts requests on a bench.</summary>
    /// <param name="bench">The bench.</param>
    /// <param name="wanted">What is wanted.</param>
    /// <param name="report">Names this intake, so that sending it again is harmless; null makes a name.</param>
    /// <param name="person">Who.</param>
    /// <param name="device">Through what.</param>
    /// <param name="doubts">What speaks against taking them now, asked when nothing else comes in between and only
    /// where they are not recorded yet; null asks nothing.</param>
    public async Task<IntakeOutcome> AddAsync(string bench, IReadOnlyList<WantedRequest>? wanted, ReportId? report,
        PersonId person, DeviceId device, Func<IReadOnlyList<IntakeFault>>? doubts = null)
    {
        if (benches.Find(bench) is not { } runner)
            return Fault("bench", Say.Of(Words.BenchUnknown, bench));
        if (wanted is not { Count: > 0 })
            return Fault("requests", RequestsWords.IntakeEmpty);
        if (wanted.Count > BenchDay.MaximumRequests)
            return Fault("requests", Say.Of(Words.RefusedTooManyRequests, BenchDay.MaximumRequests));
        await oneAtATime.WaitAsync();
        try
        {
            var provenance = Provenances.Of(person, device, clock);
            if (report is { } named)
                provenance = provenance with { Id = named };
            if (runner.Present.State.Recorded.Contains(provenance.Id))
                return new IntakeOutcome([], []);
            // Recorded with the clinic before, while the bench's log could not be written: put on the bench now.
            if (report is not null)
                await MendAsync(runner);
            if (runner.Present.State.Recorded.Contains(provenance.Id))
                return new IntakeOutcome([], []);
            // What waits before it is asked: an order that is cancelled from now on is refused with all of it.
            var worklist = clinic.Log.Worklist;
            if (doubts?.Invoke() is { Count: > 0 } against)
                return new IntakeOutcome([], against);
            return await AddAsync(runner, wanted, worklist, provenance);
        }
        finally
        {
            oneAtATime.Release();
        }
    }

    /// <summary>Whether an intake of that name stands with the clinic or on its bench.</summary>
    public bool IsRecorded(string bench, ReportId report) => benches.Find(bench) is { } runner
        && (runner.Present.State.Recorded.Contains(report) || clinic.Log.HasRecorded(report));

    /// <summary>What would be wrong with requests if they came now; changes nothing.</summary>
    public async Task<IntakeOutcome> ReadAsync(string bench, IReadOnlyList<WantedRequest> wanted)
    {
        ArgumentNullException.ThrowIfNull(wanted);
        if (benches.Find(bench) is not { } runner)
            return Fault("bench", Say.Of(Words.BenchUnknown, bench));
        await oneAtATime.WaitAsync();
        try
        {
            return Read(runner, wanted, clock.Now).Outcome;
        }
        finally
        {
            oneAtATime.Release();
        }
    }

    /// <summary>
    /// Puts requests on the bench that the clinic has recorded and the bench has not: the end of an intake that a crash
    /// cut short.
    /// </summary>
    public async Task MendAsync(BenchRunner runner)
    {
        if (!clinic.Catalogue.HasRequestsMissingOn(runner.Id))
            return;
        var known = clinic.Catalogue.BenchRequests(runner.Id).ToDictionary(wanted => wanted.Request.Id);
        var missing = clinic.Log.Entries()
            .Where(entry => entry.Event is ClinicEvent.RequestReceived received && received.Bench == runner.Id
                && !runner.Present.State.Recorded.Contains(entry.Provenance.Id))
            .GroupBy(entry => entry.Provenance)
            .ToList();
        foreach (var intake in missing)
        {
            var requests = intake.Select(entry => known[((ClinicEvent.RequestReceived)entry.Event).Request.Id])
                .Select(WithComment).ToList();
            await runner.SendAsync(new BenchCommand.AddRequests(requests), intake.Key);
        }
    }

    /// <summary>Records with the clinic a repeat that a bench has taken.</summary>
    /// <param name="runner">The bench.</param>
    /// <param name="of">The request that is repeated.</param>
    /// <param name="provenance">Who ordered it.</param>
    public void NoteRepeat(BenchRunner runner, RequestId of, Provenance provenance)
    {
        var state = runner.Present.State;
        if (state.Find(of)?.Wanted.Request is { } first && state.Cartridges.LastOrDefault(other =>
            other.Id != of && other.Wanted.Request.Specimen == first.Specimen
                && other.Wanted.Request.Assay == first.Assay) is { } cartridge)
            clinic.Log.Record(new ClinicEvent.RequestReceived(runner.Id, cartridge.Wanted.Request,
                cartridge.Wanted.AssayVersion, ParticularsOf(cartridge.Wanted)), provenance);
    }

    /// <inheritdoc/>
    public void Dispose() => oneAtATime.Dispose();

    private async Task<IntakeOutcome> AddAsync(BenchRunner runner, IReadOnlyList<WantedRequest> wanted,
        WorklistState worklist, Provenance provenance)
    {
        var (outcome, requests, particulars) = Read(runner, wanted, provenance.Arrived);
        if (!outcome.Taken)
            return outcome;

        List<ClinicEvent> events =
        [
            .. requests.Select(request => new ClinicEvent.RequestReceived(runner.Id, request!.Request,
                request.AssayVersion, particulars.GetValueOrDefault(request.Request.Id))),
            .. worklist.PlacedBy(runner.Id, requests.Select(request => request!.Request)),
        ];
        try
        {
            if (clinic.Log.Record(events, provenance) is ClinicOutcome.Refused refused)
                return Fault("requests", ClinicText.Say(refused));
        }
        catch (Records.Log.AppendException)
        {
            return Later(Words.LogUnwritable);
        }

        await gates.PrepareAsync(runner, requests.Select(request => request!.Request.Lot));
        var answer = await runner.SendAsync(
            new BenchCommand.AddRequests([.. requests.Select(request => WithComment(request!))]), provenance);
        return answer.Recorded
            ? new IntakeOutcome([.. requests.Select(request => request!.Request.Id.Value)], [])
            : answer.Kind == AnswerKinds.NotNow ? Later(answer.Sentence!)
            : Fault("requests", answer.Sentence ?? Words.CommandFailed);
    }

    /// <summary>A request with what its orders say besides, where it is run for some.</summary>
    private BenchRequest WithComment(BenchRequest wanted)
    {
        var said = clinic.Log.Worklist.RunAs(wanted.Request.Id).Select(order => order.Content.Comment).OfType<string>()
            .Distinct(StringComparer.Ordinal).ToList();
        return said.Count == 0 ? wanted : wanted with { Comment = Say.Dotted([.. said]) };
    }

    private (IntakeOutcome Outcome, List<BenchRequest?> Requests, Dictionary<RequestId, Particulars> Particulars) Read(
        BenchRunner runner, IReadOnlyList<WantedRequest> wanted, Instant now)
    {
        var state = runner.Present.State;
        if (state.IntakePaused)
            return (Fault("requests", Words.RefusedIntakeIsPaused), [], []);
        if (state.Cartridges.Length + wanted.Count > BenchDay.MaximumRequests)
            return (Fault("requests", Say.Of(Words.RefusedTooManyRequests, BenchDay.MaximumRequests)), [], []);
        var reading = new Reading(clinic.Catalogue, clinic.Log.Requests, clinic.Log.Stock,
            clinic.Log.Proficiency, clinic.Facts.Zone, state, now);
        var requests = wanted.Select(reading.Read).ToList();
        return (new IntakeOutcome([], reading.Faults), requests, reading.Particulars);
    }

    /// <summary>What is known of a request beside what a plan needs, as the bench has it.</summary>
    internal static Particulars? ParticularsOf(BenchRequest wanted) => wanted.Facts is { } facts
        && (facts.Control is not null || facts.Identifier is not null)
        ? new Particulars(facts.Identifier, null, null, null, facts.Control)
        : null;

    private static IntakeOutcome Later(string sentence) =>
        new([], [new IntakeFault("requests", sentence)], IsNotNow: true);

    private static IntakeOutcome Fault(string member, string sentence) => new([], [new IntakeFault(member, sentence)]);

    /// <summary>Reads stated requests against the catalogue, collecting every fault.</summary>
    private sealed class Reading(Catalogue catalogue, ImmutableHashSet<RequestId> received, StockState stock,
        ProficiencyState proficiency, DateTimeZone zone, BenchState state, Instant now)
    {
        // What is here, by its normal form: two ids that look alike are one.
        private readonly Dictionary<string, RequestId> here =
            catalogue.RequestIds(state.Id).Where(TextId.IsValid).Select(RequestId.Of)
                .Concat(state.Cartridges.Select(cartridge => cartridge.Id))
                .GroupBy(id => Normal(id.Value)!).ToDictionary(alike => alike.Key, alike => alike.First());
        private ImmutableHashSet<RequestId> taken = received.Union(state.Cartridges.Select(cartridge => cartridge.Id));
        private readonly LocalDate today = now.InZone(zone).Date;
        private int next;

        public List<IntakeFault> Faults { get; } = [];

        /// <summary>The assay of a code, also where the code is written with the same letters otherwise.</summary>
        private CatalogueAssay? AssayOf(string? code) => !TextId.IsValid(code) ? null
            : catalogue.Assay(new AssayCode(code!))
            ?? catalogue.Assays().FirstOrDefault(known => Normal(known.Assay.Code.Value) == Normal(code));

        /// <summary>A specimen's id as it stands on the bench already, where it does.</summary>
        private string SpecimenHere(string specimen) => state.Cartridges
            .Select(cartridge => cartridge.Wanted.Request.Specimen.Value)
            .FirstOrDefault(known => Normal(known) == specimen) ?? specimen;

        /// <summary>The normal form; of what cannot have one, the text itself.</summary>
        private static string? Normal(string? text) => Bounds.IsIdentifier(text) ? Bounds.Normal(text!) : text;

        public BenchRequest? Read(WantedRequest? wanted)
        {
            var at = next++;
            var isWrong = false;
            if (wanted is null)
            {
                Faults.Add(new IntakeFault(string.Create(CultureInfo.InvariantCulture, $"requests[{at}]"),
                    RequestsWords.IntakeEmpty));
                return null;
            }

            void Wrong(string member, string sentence, params object?[] things)
            {
                isWrong = true;
                if (Faults.Count >= MaxFaults)
                    return;
                Faults.Add(new IntakeFault(string.Create(CultureInfo.InvariantCulture, $"requests[{at}].{member}"),
                    Say.Of(sentence, things)));
            }

            var id = string.IsNullOrWhiteSpace(wanted.Id) ? NextId() : wanted.Id.Trim();
            if (!Bounds.IsIdentifier(id))
                Wrong("id", Words.IntakeTextFault);
            else if (here.ContainsKey(id = Bounds.Normal(id)) || taken.Contains(new RequestId(id)))
                Wrong("id", here.ContainsKey(id)
                    ? Words.RefusedRequestAlreadyOnBench : RequestsWords.RefusedRequestElsewhere, id);
            else
                (taken, here[id]) = (taken.Add(new RequestId(id)), new RequestId(id));
            var specimen = wanted.Specimen?.Trim();
            if (!Bounds.IsIdentifier(specimen))
                Wrong("specimen", string.IsNullOrEmpty(specimen)
                    ? RequestsWords.IntakeSpecimenMissing : Words.IntakeTextFault);
            else
                specimen = SpecimenHere(Bounds.Normal(specimen!));
            var assay = AssayOf(wanted.Assay);
            if (assay is null)
                Wrong("assay", RequestsWords.IntakeAssayUnknown,
                    string.Join(", ", catalogue.Assays().Select(known => known.Assay.Code)));
            var lot = ReadLot(wanted.Lot, assay, Wrong);
            var kind = wanted.Kind == ProficiencyKind ? RequestKind.Proficiency
                : ReadWord(wanted.Kind, RequestKind.Patient, "control", RequestKind.Control, "patient", "kind", Wrong);
            if (RoundReading.Fault(proficiency, specimen, assay?.Assay.Code, kind) is { } fault)
                Wrong("specimen", fault, specimen);
            var priority = ReadWord(wanted.Priority, Priority.Routine, "urgent", Priority.Urgent, "routine",
                "priority", Wrong);
            var identifier = string.IsNullOrWhiteSpace(wanted.Identifier) ? null : wanted.Identifier.Trim();
            if (identifier is not null && !Bounds.IsIdentifier(identifier))
                Wrong("identifier", Words.IntakeTextFault);
            else if (OtherIdentifier(specimen, identifier = Normal(identifier)) is { } other)
                Wrong("identifier", RequestsWords.IntakeIdentifierDiffers, specimen, other);
            var judged = new SpecimenReading(assay?.Sheet.Specimens ?? SpecimenRule.Any, now, Wrong);
            var type = judged.Type(wanted.SpecimenType);
            var collected = judged.Past("collected", wanted.Collected);
            var takenOut = judged.Past("takenOut", wanted.TakenOut);
            // What lies too far is said so and goes into no arithmetic.
            Instant? Planned(string member, Instant? planned)
            {
                if (planned is not { } stated || Bounds.IsPlannable(stated, now))
                    return Cut(planned);
                Wrong(member, RequestsWords.IntakeTooFar, Bounds.PlannedWithin.Days);
                return null;
            }

            var ready = judged.Ready(Planned("ready", wanted.Ready) ?? now, takenOut);
            var (due, loadBy) = (Planned("due", wanted.Due), Planned("loadBy", wanted.LoadBy));
            if (due < ready)
                Wrong("due", RequestsWords.IntakeDueBeforeReady);
            var control = ReadControl(wanted, kind, assay, Wrong);
            if (lot is { } chosen && ExpiryOf(chosen, control) <= ready)
                Wrong("lot", RequestsWords.StopBeforeReady, chosen, Say.Day(stock.LastDayOf(chosen, control?.Lot)));
            if (loadBy <= ready)
                Wrong("loadBy", RequestsWords.IntakeLoadByBeforeReady);
            var after = ReadAfter(wanted.After, id, Wrong);
            var by = lot is { } used ? judged.LoadBy(LoadBy(loadBy, used, control), collected, ready) : ready;
            return isWrong
                ? null
                : new BenchRequest(
                    new Request(new RequestId(id), new SpecimenId(specimen!), assay!.Assay.Code, lot!.Value, ready,
                        kind,
                        wanted.RepeatLeft ?? true, priority, due, by, after),
                    assay.Assay, assay.Version, assay.Unit,
                        RunFacts.Of(assay.Sheet,
                            Known(new RequestId(id), new Particulars(identifier, type, collected, takenOut, control))));
        }

        /// <summary>What else is known of each request that was read.</summary>
        public Dictionary<RequestId, Particulars> Particulars { get; } = [];

        private Particulars? Known(RequestId id, Particulars said)
        {
            if (said == new Particulars(null, null, null, null, null))
                return null;
            Particulars[id] = said;
            return said;
        }

        /// <summary>
        /// The second identifier under which the same specimen stands on the bench already, where it is another; else
        /// null.
        /// </summary>
        private string? OtherIdentifier(string? specimen, string? identifier) => identifier is null
            ? null : state.Cartridges
            .Where(cartridge => cartridge.Wanted.Request.Specimen.Value == specimen
                && cartridge.Stage is not CartridgeStage.Withdrawn)
            .Select(cartridge => cartridge.Wanted.Facts?.Identifier)
            .FirstOrDefault(known => known is not null
                && !string.Equals(Normal(known), identifier, StringComparison.OrdinalIgnoreCase));

        private ControlMaterial? ReadControl(WantedRequest wanted, RequestKind kind, CatalogueAssay? assay,
            Action<string, string, object?[]> wrong)
        {
            if (wanted.ControlLot is null && wanted.ControlLevel is null)
                return null;
            if (kind != RequestKind.Control || !TextId.IsValid(wanted.ControlLot)
                || wanted.ControlLevel is not (>= 1 and <= ControlsState.MaxLevels))
            {
                wrong("controlLot", ControlsWords.RefusedUnknownControl, []);
                return null;
            }

            var control = new ControlMaterial(new LotCode(wanted.ControlLot!), wanted.ControlLevel.Value);
            if (assay is not null && StockStop.OfControl(stock, control.Lot, assay.Assay.Code, today) is { } stop)
                wrong("controlLot", "{0}", [StockText.Of(stop)]);
            return control;
        }

        private static Instant? Cut(Instant? instant) => instant is { } at ? BenchClock.ToMilliseconds(at) : null;

        /// <summary>
        /// The lot that is named and may be used, or where none is named the usable one that expires first.
        /// </summary>
        private LotCode? ReadLot(string? named, CatalogueAssay? assay, Action<string, string, object?[]> wrong)
        {
            if (assay is null)
                return null;
            var usable = stock.Usable(assay.Assay.Code, today);
            if (string.IsNullOrWhiteSpace(named) && usable.Count > 0)
                return usable[0].Lot;
            if (!TextId.IsValid(named) || stock.Find(StockKind.Kit, new LotCode(named!))?.Assay != assay.Assay.Code)
                wrong("lot", RequestsWords.IntakeLotUnknown,
                    [assay.Assay.Name, string.Join(", ", usable.Select(kit => kit.Lot))]);
            else if (StockStop.Of(stock, new LotCode(named!), assay.Assay.Code, today) is { } stop)
                wrong("lot", "{0}", [StockText.Of(stop)]);
            else
                return new LotCode(named!);
            return null;
        }

        /// <summary>
        /// Nothing is loaded after the last day of the lot has ended in the clinic, whatever else was stated.
        /// </summary>
        private Instant LoadBy(Instant? stated, LotCode lot, ControlMaterial? control) =>
            stated is { } at ? Instant.Min(BenchClock.ToMilliseconds(at), ExpiryOf(lot, control))
                : ExpiryOf(lot, control);

        private Instant ExpiryOf(LotCode lot, ControlMaterial? control) => stock.LastDayOf(lot, control?.Lot)
            .PlusDays(1).AtStartOfDayInZone(zone).ToInstant();

        private static T ReadWord<T>(string? word, T usual, string other, T otherMeans, string usualWord,
            string member, Action<string, string, object?[]> wrong)
        {
            if (string.IsNullOrEmpty(word) || word == usualWord)
                return usual;
            if (word != other)
                wrong(member, RequestsWords.IntakeWordUnknown, [usualWord, other]);
            return otherMeans;
        }

        private List<RequestId> ReadAfter(IReadOnlyList<string>? after, string self,
            Action<string, string, object?[]> wrong)
        {
            var ids = new List<RequestId>();
            if (after is { Count: > BenchDay.MaximumRequests })
            {
                wrong("after", Words.RefusedTooManyRequests, [BenchDay.MaximumRequests]);
                return ids;
            }

            foreach (var id in (after ?? []).Distinct())
            {
                // Only what is there already can be waited for, so that no circle can arise.
                if (!Bounds.IsIdentifier(id))
                    wrong("after", Words.IntakeTextFault, []);
                else if (Bounds.Normal(id) == self || !here.TryGetValue(Bounds.Normal(id), out var known))
                    wrong("after", RequestsWords.IntakeAfterUnknown, [id]);
                else
                    ids.Add(known);
            }

            return ids;
        }

        private string NextId()
        {
            for (var number = taken.Count + 1; ; number++)
            {
                var id = string.Create(CultureInfo.InvariantCulture, $"R{number:00}");
                if (!taken.Contains(new RequestId(id)))
                    return id;
            }
        }
    }
}
