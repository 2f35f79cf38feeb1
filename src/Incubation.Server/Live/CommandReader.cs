using Incubation.Bench;
using Incubation.Model;
using Incubation.Records.People;
using Incubation.Server.People;
using NodaTime;
using NodaTime.Text;

namespace Incubation.Server.Live;

/// <summary>What a screen's command says, or the sentence that says why it cannot be read.</summary>
public abstract record CommandReading
{
    private CommandReading() { }

    /// <summary>Something that can be said to the bench.</summary>
    public sealed record Readable(BenchCommand Command, Touch Touch) : CommandReading;

    /// <summary>Nothing that can be said to a bench.</summary>
    public sealed record Unreadable(string Sentence) : CommandReading;
}

/// <summary>Reads screens' commands: every member is checked, none is trusted.</summary>
public static class CommandReader
{
    /// <summary>The longest free words that a screen may send.</summary>
    public const int MostWords = 500;

    private const double MostMinutes = 24 * 60;
    private const int MostRules = 100;

    /// <summary>More reports than rest on any one.</summary>
    private const int MostReports = 100;

    /// <summary>Reads a command that arrived at an instant at a bench.</summary>
    public static CommandReading Read(ScreenCommand? command, BenchState state, Instant arrived, Actor actor, PeopleState people)
    {
        if (command is null)
            return Unreadable(Words.CommandUnreadable, "…");
        try
        {
            if (!TextId.IsValid(command.Id) || !TextId.IsValid(command.Device))
                return Unreadable(Words.CommandUnnamed);
            if (InstantPattern.ExtendedIso.Parse(command.At ?? "") is not { Success: true } at)
                return Unreadable(Words.CommandTimeUnreadable);
            var (person, identity) = WhoSaid(command, actor, people);
            var touch = new Touch(new ReportId(command.Id), at.Value, arrived, person, actor.Device, identity);
            return new CommandReading.Readable(Understand(command, state, touch), touch);
        }
        catch (MemberMissingException missing)
        {
            return Unreadable(Words.CommandUnreadable, missing.Message);
        }
    }

    /// <summary>
    /// Who said it: the actor, unless the screen says that somebody else was signed in at the touch, or nobody is signed in.
    /// Then the person is the one believed, and it stands beside that this was not checked.
    /// </summary>
    private static (PersonId Person, Identity Identity) WhoSaid(ScreenCommand command, Actor actor, PeopleState people)
    {
        var claimed = command.Person;
        if (actor is Actor.Program || (actor is Actor.Person present && !command.Locked && (claimed is null || claimed == present.Who.Id.Value)))
            return (actor.InLog, Identity.Checked);
        var believed = TextId.IsValid(claimed) && people.Person(new PersonId(claimed!)) is { IsActive: true } person ? person.Id : actor.InLog;
        return (believed, Identity.NotChecked);
    }

    private static CommandReading.Unreadable Unreadable(string sentence, params object?[] things) => new(Say.Of(sentence, things));

    private static BenchCommand Understand(ScreenCommand command, BenchState state, Touch touch) => command.Kind switch
    {
        "mixed" => new BenchCommand.Mixed(Request(command), command.Stated),
        "loaded" => new BenchCommand.Loaded(Request(command), Place(command), command.Stated),
        "read-started" => new BenchCommand.ReadStarted(Request(command), Reader(command), command.InTime ?? false),
        "cleared" => new BenchCommand.Cleared(Request(command), Reader(command)),
        "card-changed" => new BenchCommand.CardChanged(Reader(command), Text<LotCode>(command.Lot, "lot")),
        "discarded" => new BenchCommand.Discarded(Request(command), Reason(command.Reason), FreeWords(command.Words)),
        "result" => new BenchCommand.ResultEntered(Request(command), Result(command, state), IdentityOf(command, state)),
        "confirm-ready" => new BenchCommand.ConfirmReady(command.Reader is null ? ReadinessKey.Materials(Text<LotCode>(command.Lot, "lot")) : ReadinessKey.ReaderCheck(Reader(command))),
        "release-result" => new BenchCommand.ReleaseResult(Request(command), FreeWords(command.Words) ?? ""),
        "amend-result" => new BenchCommand.AmendResult(Request(command), Result(command, state), FreeWords(command.Words) ?? ""),
        "critical-told" => new BenchCommand.TellCritical(Request(command), FreeWords(command.Words) ?? "", command.ReadBack ?? false),
        "not-begun" => new BenchCommand.NotBegun(Number<HandsNumber>(command.Hands, "hands")),
        "start-batch" => new BenchCommand.StartBatch(),
        "close-batch" => new BenchCommand.CloseBatch(),
        "withdraw" => new BenchCommand.WithdrawRequest(Request(command)),
        "repeat" => new BenchCommand.OrderRepeat(Request(command), RepeatId(state, Request(command), touch)),
        "acknowledge" => new BenchCommand.AcknowledgeAlarm(AlarmWords.Parse(command.Alarm) ?? throw new MemberMissingException("alarm")),
        "settle" => new BenchCommand.SettleIdentity(touch.Device),
        "undo" => new BenchCommand.Undo(Text<ReportId>(command.Of, "of"), Reports(command.With)),
        "correct" => new BenchCommand.CorrectReport(
            Text<ReportId>(command.Of, "of"), Time(command.Then), command.Slot is null && command.Reader is null ? null : Place(command),
            command.Lot is null ? null : Text<LotCode>(command.Lot, "lot"), FreeWords(command.Words)),
        "answer" => new BenchCommand.AnswerQuestion(
            QuestionWords.Parse(command.Question) ?? throw new MemberMissingException("question"),
            QuestionWords.ParseAnswer(command.Answer) ?? throw new MemberMissingException("answer"),
            command.Slot is null ? null : Number<SlotNumber>(command.Slot, "slot"), command.Stated,
            command.Lot is null ? null : Text<LotCode>(command.Lot, "lot")),
        "card-seen" => new BenchCommand.CardSeen(Reader(command), Text<LotCode>(command.Lot, "lot")),
        "temperature" => new BenchCommand.TemperatureMeasured(Degrees(command.Celsius, "celsius")),
        "ready" => new BenchCommand.ChangeReady(Request(command), Time(command.Then)),
        "out-of-use" => new BenchCommand.PutOutOfUse(Resource(command.Resource), command.Number, Minutes(command.Minutes), FreeWords(command.Words), command.Anyway ?? false),
        "in-use" => new BenchCommand.PutBackInUse(Resource(command.Resource), command.Number),
        "hands" => new BenchCommand.ChangeHands(Number<HandsNumber>(command.Hands, "hands").Value),
        "pause-intake" => new BenchCommand.PauseIntake(true),
        "resume-intake" => new BenchCommand.PauseIntake(false),
        "incubator" => new BenchCommand.SetIncubator(new IncubatorRule(
            Degrees(command.Celsius, "celsius"), Degrees(command.Tolerance, "tolerance"), [.. (command.Rules ?? []).Take(MostRules).Select(Rule)])),
        _ => throw new MemberMissingException("kind"),
    };

    private static RequestId Request(ScreenCommand command) => Text<RequestId>(command.Request, "request");

    private static ReaderNumber Reader(ScreenCommand command) => Number<ReaderNumber>(command.Reader, "reader");

    private static CartridgePlace Place(ScreenCommand command) => (command.Slot, command.Reader) switch
    {
        ({ } slot, null) => new CartridgePlace.InSlot(Number<SlotNumber>(slot, "slot")),
        (null, { } reader) => new CartridgePlace.InReader(Number<ReaderNumber>(reader, "reader")),
        _ => throw new MemberMissingException("slot"),
    };

    private static DiscardReason Reason(string? reason) => reason switch
    {
        "window-closed" => DiscardReason.WindowClosed,
        "mixture-too-old" => DiscardReason.MixtureTooOld,
        "well-overfilled" => DiscardReason.WellOverfilled,
        "bubbles" => DiscardReason.Bubbles,
        "dropped" => DiscardReason.Dropped,
        "reader-fault" => DiscardReason.ReaderFault,
        "found-gone" => DiscardReason.FoundGone,
        "withdrawn" => DiscardReason.Withdrawn,
        "temperature" => DiscardReason.Temperature,
        "power-cut" => DiscardReason.PowerCut,
        "controls-failed" => DiscardReason.ControlsFailed,
        "other" => DiscardReason.Other,
        _ => throw new MemberMissingException("reason"),
    };

    private static CalendarResource Resource(string? resource) => resource switch
    {
        "hands" => CalendarResource.Hands,
        "slot" => CalendarResource.Slot,
        "reader" => CalendarResource.Reader,
        "incubator" => CalendarResource.Incubator,
        _ => throw new MemberMissingException("resource"),
    };

    private static Duration? Minutes(double? minutes) => minutes is null
        ? null
        : minutes is > 0 and <= MostMinutes ? Duration.FromMilliseconds(Math.Round(minutes.Value * 60_000)) : throw new MemberMissingException("minutes");

    /// <summary>What a thermometer can show of an incubator; anything else is a slip of the fingers or of a probe.</summary>
    private static Celsius Degrees(double? degrees, string member) =>
        degrees is >= -50 and <= 150 ? new Celsius(Math.Round(degrees.Value, 2)) : throw new MemberMissingException(member);

    private static TemperatureRule Rule(TemperatureRuleIn rule) =>
        new(Text<AssayCode>(rule.Assay, "rules"), Minutes(rule.Minutes) ?? throw new MemberMissingException("rules"));

    private static Instant? Time(string? then) => then is null
        ? null
        : InstantPattern.ExtendedIso.Parse(then) is { Success: true } at ? BenchClock.ToMilliseconds(at.Value) : throw new MemberMissingException("then");

    private static List<ReportId> Reports(IReadOnlyList<string>? ids) => [.. (ids ?? []).Take(MostReports).Select(id => Text<ReportId>(id, "with"))];

    /// <summary>What the reader shows against the specimen meant: capitals and spaces do not make another one.</summary>
    private static ResultIdentity IdentityOf(ScreenCommand command, BenchState state)
    {
        if (FreeWords(command.Shown)?.Trim() is not { Length: > 0 } shown)
            return ResultIdentity.Missing;
        return string.Equals(shown, state.Find(Request(command))?.Wanted.Request.Specimen.Value, StringComparison.OrdinalIgnoreCase)
            ? ResultIdentity.Matches
            : ResultIdentity.Different;
    }

    private static ReadResult Result(ScreenCommand command, BenchState state)
    {
        var unit = state.Find(Request(command))?.Wanted.Unit ?? "";
        return (FreeWords(command.Value), FreeWords(command.NoValue)) switch
        {
            ({ } value, null) when ResultText.IsValue(value) => new ReadResult.Measured(value, unit),
            (null, { } code) => new ReadResult.NoValue(code),
            _ => throw new MemberMissingException("value"),
        };
    }

    /// <summary>The repeat's own id: the first request's with a number behind, the first that is free.</summary>
    private static RequestId RepeatId(BenchState state, RequestId of, Touch touch)
    {
        for (var number = 2; number < 100; number++)
        {
            var text = $"{of.Value}-{number}";
            if (TextId.IsValid(text) && state.Find(new RequestId(text)) is null)
                return new RequestId(text);
        }

        return new RequestId(touch.Id.Value);
    }

    private static T Text<T>(string? value, string member)
        where T : struct, ITextId<T> => TextId.IsValid(value) ? T.Of(value!) : throw new MemberMissingException(member);

    private static T Number<T>(int? value, string member)
        where T : struct, INumberId<T> => value is >= 1 ? T.Of(value.Value) : throw new MemberMissingException(member);

    private static string? FreeWords(string? words)
    {
        var trimmed = words?.Trim();
        if (string.IsNullOrEmpty(trimmed))
            return null;
        return trimmed.Length <= MostWords && !trimmed.Any(char.IsControl) ? trimmed : throw new MemberMissingException("words");
    }

    /// <summary>A member is missing or has no meaning; its message is the member's name.</summary>
    private sealed class MemberMissingException(string member) : Exception(member);
}
