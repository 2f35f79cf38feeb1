using System.Globalization;
using Incubation.Model;
using NodaTime;

namespace Incubation.Bench;

/// <summary>
/// Whose result it is that a reader has sent by wire: the one rule. Nothing is guessed: a result is entered where one
/// cartridge alone can be meant and nothing speaks against it; all else is a person's to say.
/// </summary>
public static class ReaderMatching
{
    /// <summary>A reader's time may differ so much from the bench's.</summary>
    public static readonly Duration Tolerance = Duration.FromSeconds(60);

    /// <summary>What becomes of a result.</summary>
    /// <param name="state">The bench to which the reader belongs.</param>
    /// <param name="reader">The reader that sent it.</param>
    /// <param name="tests">Its tests.</param>
    /// <param name="result">The result.</param>
    public static ResultMatch Of(BenchState state, ReaderNumber reader, IReadOnlyCollection<ReaderTest> tests,
        WiredResult result)
    {
        ArgumentNullException.ThrowIfNull(state);
        ArgumentNullException.ThrowIfNull(tests);
        ArgumentNullException.ThrowIfNull(result);
        if (TestOf(tests, result.Test) is not { } test)
            return new ResultMatch.UnknownTest(result.Test);
        if (result.IsSpecimenUnreadable)
            return Ask(MatchQuestion.NotUnderstood);
        return Named(result) is { } specimen ? OfSpecimen(state, reader, test, result, specimen)
            : OfWhatIsInside(state, reader, test, result);
    }

    /// <summary>
    /// When a cartridge's read ended, or will end, by the bench's knowledge; null where that is not known. What a
    /// reader's clock says of the same read is held against it (<see cref="ReaderClock"/>).
    /// </summary>
    public static Instant? ReadEndOf(BenchState state, RequestId request)
    {
        ArgumentNullException.ThrowIfNull(state);
        return state.Find(request) is not { } cartridge ? null
            : cartridge.Phase is CartridgePhase.Reading reading ? reading.Start + cartridge.Wanted.Assay.Read
            : state.Run.Done.LastOrDefault(done => done.Action is StepAction.Read && done.Action.Subject == request)
                ?.End;
    }

    /// <summary>The test of a table that a reader calls so, upper and lower case alike; null where none is.</summary>
    public static ReaderTest? TestOf(IReadOnlyCollection<ReaderTest> tests, string name)
    {
        ArgumentNullException.ThrowIfNull(name);
        return tests.FirstOrDefault(one => string.Equals(one.Name, name.Trim(), StringComparison.OrdinalIgnoreCase));
    }

    /// <summary>Whether a value has the unit of the table, letter by letter; what is no value has none.</summary>
    public static bool IsOfUnit(WiredResult result, ReaderTest test)
    {
        ArgumentNullException.ThrowIfNull(result);
        ArgumentNullException.ThrowIfNull(test);
        return result.Shown is ShownResult.NoValue
            || string.Equals(result.Unit.Trim(), test.Unit.Trim(), StringComparison.Ordinal);
    }

    private static ShownIdentity? Named(WiredResult result) =>
        string.IsNullOrWhiteSpace(result.Specimen) ? null : new ShownIdentity(result.Specimen.Trim());

    private static ResultMatch OfSpecimen(BenchState state, ReaderNumber reader, ReaderTest test, WiredResult result,
        ShownIdentity specimen)
    {
        var itsOwn = state.Run.Cartridges.Where(cartridge => cartridge.Stage is not CartridgeStage.Withdrawn
            && specimen.Against(cartridge.Wanted) == ResultIdentity.Matches).ToList();
        var wanted = itsOwn.Where(cartridge => cartridge.Wanted.Request.Assay == test.Assay).ToList();
        return wanted switch
        {
            [] => Ask(itsOwn.Exists(cartridge => StayIn(state, cartridge, reader) is not null)
                ? MatchQuestion.OtherAssay : MatchQuestion.OtherSpecimen),
            [var only] when StayIn(state, only, reader) is { } stay => OfCartridge(only, stay, test, result, specimen),
            [var only] => Ask(MatchQuestion.OtherSpecimen, only),
            _ => Ask(MatchQuestion.SeveralCartridges),
        };
    }

    /// <summary>No specimen is named: only the cartridge that is inside now can be meant, and its result is held.
    /// </summary>
    private static ResultMatch OfWhatIsInside(BenchState state, ReaderNumber reader, ReaderTest test,
        WiredResult result)
    {
        var inside = state.Run.Cartridges.Where(cartridge => cartridge.Phase?.FindReader() == reader).ToList();
        if (inside is not [var only] || StayIn(state, only, reader) is not { } stay)
            return Ask(MatchQuestion.NoSpecimen);
        return only.Wanted.Request.Assay == test.Assay ? OfCartridge(only, stay, test, result, ShownIdentity.None)
            : Ask(MatchQuestion.OtherAssay, only);
    }

    private static ResultMatch OfCartridge(Cartridge cartridge, Stay stay, ReaderTest test, WiredResult result,
        ShownIdentity identity)
    {
        if (result.Shown is { } shown && IsOfUnit(result, test))
        {
            var value = shown.In(cartridge.Wanted.Unit);
            if ((value == cartridge.Result && result.Objection
                    is not (MatchQuestion.NotFinal or MatchQuestion.ReaderRemarks))
                || value == cartridge.Status?.Proposal?.After)
                return new ResultMatch.Same(cartridge.Id, Waits: value != cartridge.Result);
        }

        if (ObjectionTo(cartridge, stay, test, result) is { } why)
            return Contradicts(cartridge, stay, test, result)
                ? new ResultMatch.Propose(new BenchCommand.ProposeAmendment(cartridge.Id, result.Shown!, WhyOf(why))
                { Seen = cartridge.Result })
                : Ask(why, cartridge);
        return new ResultMatch.Enter(new BenchCommand.ResultEntered(cartridge.Id, result.Shown!, identity)
        {
            OnlyFirst = true,
        });
    }

    private static MatchQuestion? ObjectionTo(Cartridge cartridge, Stay stay, ReaderTest test, WiredResult result) =>
        result.Objection is { } objection ? objection
        : result.Shown is null ? MatchQuestion.NotUnderstood
        : !IsOfUnit(result, test) ? MatchQuestion.OtherUnit
        : result.IsControl && cartridge.Wanted.Request.Kind != RequestKind.Control ? MatchQuestion.OtherKind
        : cartridge.Stage is CartridgeStage.Discarded || cartridge.MustGo is not null ? MatchQuestion.Discarded
        : result.ReadAt is { } at && !stay.Holds(at) ? MatchQuestion.OtherTime
        : cartridge.Result is not null ? MatchQuestion.OtherValue
        : null;

    /// <summary>
    /// Whether the reader says another value of a read whose value stands: nothing of it goes out until a supervisor
    /// has said which is right.
    /// </summary>
    private static bool Contradicts(Cartridge cartridge, Stay stay, ReaderTest test, WiredResult result) =>
        cartridge.Status is { Proposal: null } && IsAboutTheValue(result.Objection)
        && ObjectionTo(cartridge, stay, test, result with { Objection = null }) == MatchQuestion.OtherValue
        && !IsSameNumber(cartridge.Result, result.Shown!.In(cartridge.Wanted.Unit));

    /// <summary>Whether what its message says against a result leaves it a word about the read.</summary>
    public static bool IsAboutTheValue(MatchQuestion? objection) =>
        objection is null or MatchQuestion.Correction or MatchQuestion.NotFinal or MatchQuestion.ReaderRemarks;

    /// <summary>Why an amendment waits that a reader entered, in words.</summary>
    /// <param name="why">What speaks against entering its value.</param>
    public static string WhyOf(MatchQuestion why) => why switch
    {
        MatchQuestion.Correction => Words.ReaderCorrected,
        MatchQuestion.NotFinal or MatchQuestion.ReaderRemarks => Words.ReaderNotSure,
        _ => Words.ReaderSentAnother,
    };

    /// <summary>Whether two values differ in their digits alone: 4.2 and 4.20.</summary>
    public static bool IsSameNumber(ReadResult? one, ReadResult? other) =>
        one is ReadResult.Measured first && other is ReadResult.Measured second && first.Unit == second.Unit
        && decimal.TryParse(first.Value, NumberStyles.AllowDecimalPoint, CultureInfo.InvariantCulture, out var a)
        && decimal.TryParse(second.Value, NumberStyles.AllowDecimalPoint, CultureInfo.InvariantCulture, out var b)
        && a == b;

    /// <summary>
    /// From when a cartridge was in a reader until its read ended; null where it was not, by the bench's knowledge.
    /// </summary>
    private static Stay? StayIn(BenchState state, Cartridge cartridge, ReaderNumber reader)
    {
        var assay = cartridge.Wanted.Assay;
        if (cartridge.Phase is { } phase && phase.FindReader() == reader)
            return phase switch
            {
                CartridgePhase.Reacting reacting => new Stay(reacting.LoadEnd.Earliest,
                    reacting.LoadEnd.Latest + assay.Incubation + assay.Read),
                CartridgePhase.Reading reading => new Stay(reading.Start, reading.Start + assay.Read),
                _ => new Stay(Instant.MinValue, Instant.MaxValue),
            };
        if (cartridge.Stage is not (CartridgeStage.Cleared or CartridgeStage.Discarded))
            return null;
        var steps = state.Run.Done.Where(done => done.Action.Subject == cartridge.Id
            && done.Action.NeedsReader == reader).ToList();
        if (steps.Count == 0)
            return null;
        // It may lie in the reader long after its read.
        var read = steps.FindLast(done => done.Action is StepAction.Read);
        var end = steps.Max(done => done.End);
        return new Stay(steps.Min(done => done.Start), read is null ? end : Instant.Min(end, read.Start + assay.Read));
    }

    private static ResultMatch.Ask Ask(MatchQuestion why, Cartridge? cartridge = null) => new(why, cartridge?.Id);

    private sealed record Stay(Instant From, Instant To)
    {
        public bool Holds(InstantRange at) => (From == Instant.MinValue || at.Latest >= From - Tolerance)
            && (To == Instant.MaxValue || at.Earliest <= To + Tolerance);
    }
}
