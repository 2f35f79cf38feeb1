using Incubation.Bench;
using Incubation.Clinic.People;
using Incubation.Model;
using Incubation.Service.Alarms;
using Incubation.Service.Text;
using NodaTime;
using NodaTime.Text;
using static Incubation.Service.Commands.CommandMembers;

namespace Incubation.Service.Commands;

/// <summary>What a screen's command says, or the sentence that says why it cannot be read.</summary>
public abstract record CommandReading
{
    private CommandReading() { }

    /// <summary>Something that can be said to the bench.</summary>
    public sealed record Readable(CommandEnvelope Envelope) : CommandReading;

    /// <summary>Nothing that can be said to a bench.</summary>
    public sealed record Unreadable(string Sentence) : CommandReading;
}

/// <summary>
/// Reads the flat form in which screens and programs say commands, once, at the edge: every member is checked, none is
/// trusted. What a report means is not decided here, but by the bench, from the state that it is applied to.
/// </summary>
public static class CommandReader
{
    /// <summary>Reads a command that arrived at an instant from an actor.</summary>
    /// <param name="flat">The command.</param>
    /// <param name="arrived">When it arrived.</param>
    /// <param name="actor">Who sent it.</param>
    /// <param name="people">The clinic's people, one of whom it may name.</param>
    public static CommandReading Read(ScreenCommand? flat, Instant arrived, Actor actor, PeopleState people)
    {
        try
        {
            if (flat is null)
                throw UnreadableException.Member("…");
            var id = NewName(flat.Id);
            if (!Bounds.IsIdentifier(flat.Device))
                throw new UnreadableException(CommandsWords.CommandUnnamed);
            var command = Understand(flat, arrived);
            var at = InstantPattern.ExtendedIso.Parse(flat.At ?? "");
            // A report is a fact, whatever its sender's clock says: it is recorded as of its arrival.
            if (!at.Success && command is not BenchCommand.Report)
                throw new UnreadableException(CommandsWords.CommandTimeUnreadable);
            var (person, identity) = WhoSaid(flat, actor, people);
            return new CommandReading.Readable(new CommandEnvelope(command,
                new Provenance(id, at.Success ? at.Value : arrived, arrived, person, actor.Device, identity)
                {
                    Claimed = at.Success ? null : TimeText(flat.At),
                    Sender = actor is Actor.Person { Who.Id: var sender } && sender != person ? sender : null,
                }));
        }
        catch (UnreadableException unreadable)
        {
            return new CommandReading.Unreadable(unreadable.Message);
        }
    }

    /// <summary>
    /// Who said it: the actor, unless the screen says that somebody else was signed in at the touch, or nobody is
    /// signed in. Then the person is the one believed, and it stands beside that this was not checked.
    /// </summary>
    private static (PersonId Person, Identity Identity) WhoSaid(ScreenCommand flat, Actor actor, PeopleState people)
    {
        var claimed = flat.Person;
        if (actor is Actor.Program
            || (actor is Actor.Person present && !flat.Locked && (claimed is null || claimed == present.Who.Id.Value)))
            return (actor.InLog, Identity.Checked);
        var believed = TextId.IsValid(claimed) && people.Person(new PersonId(claimed!)) is { IsActive: true } person
            ? person.Id : actor.InLog;
        return (believed, Identity.NotChecked);
    }

    /// <summary>The value that is meant; null where none is named.</summary>
    private static ShownResult? Named(ScreenCommand flat) =>
        flat.Value is null && flat.NoValue is null ? null : Result(flat.Value, flat.NoValue);

    private static BenchCommand Understand(ScreenCommand flat, Instant now) => flat.Kind switch
    {
        "mixed" => new BenchCommand.Mixed(Request(flat), flat.Stated),
        "loaded" => new BenchCommand.Loaded(Request(flat), Place(flat.Slot, flat.Reader), flat.Stated)
        { Scan = Scan(flat) },
        "read-started" => new BenchCommand.ReadStarted(Request(flat), Reader(flat), flat.InTime ?? false)
        { Scan = Scan(flat) },
        "cleared" => new BenchCommand.Cleared(Request(flat), Reader(flat)) { Scan = Scan(flat) },
        "card-changed" => new BenchCommand.CardChanged(Reader(flat), Lot(flat)),
        "card-seen" => new BenchCommand.CardSeen(Reader(flat), Lot(flat)),
        "discarded" => new BenchCommand.Discarded(Request(flat), Case<DiscardReason>(flat.Reason, "reason"),
            FreeWords(flat.Words)),
        "temperature" => new BenchCommand.TemperatureMeasured(Degrees(flat.Celsius, "celsius")),
        "several" => new BenchCommand.Several(Told(flat, now)),
        "not-begun" => new BenchCommand.NotBegun(Number<HandsNumber>(flat.Hands, "hands")),
        "result" =>
            new BenchCommand.ResultEntered(Request(flat), Result(flat.Value, flat.NoValue),
                new ShownIdentity(FreeWords(flat.Shown))),
        "release-result" => new BenchCommand.ReleaseResult(Request(flat), FreeWords(flat.Words) ?? "")
        { Named = Named(flat) },
        "amend-result" =>
            new BenchCommand.AmendResult(Request(flat), Result(flat.Value, flat.NoValue), FreeWords(flat.Words) ?? "",
                flat.Reason is null ? null : Case<AmendmentReason>(flat.Reason, "reason")),
        "confirm-amendment" => new BenchCommand.ConfirmAmendment(Request(flat), FreeWords(flat.Words) ?? "")
        { Named = Named(flat) },
        "decline-amendment" => new BenchCommand.DeclineAmendment(Request(flat), FreeWords(flat.Words) ?? "")
        { Named = Named(flat) },
        "critical-told" => new BenchCommand.TellCritical(Request(flat), FreeWords(flat.Words) ?? "", flat.ReadBack
            ?? false, FreeWords(flat.Why))
        { Named = Named(flat) },
        "need-not-tell" => new BenchCommand.WaiveTelling(Request(flat), FreeWords(flat.Words) ?? "")
        { Named = Named(flat) },
        "reject-specimen" => new BenchCommand.RejectSpecimen(
            Identifier<SpecimenId>(flat.Shown, "shown"), Identifier<AssayCode>(flat.Assay, "assay"),
                FreeWords(flat.Words) ?? ""),
        "confirm-ready" => new BenchCommand.ConfirmReady(
            flat.Reader is null ? ReadinessKey.Materials(Lot(flat)) : ReadinessKey.ReaderCheck(Reader(flat))),
        "start-batch" => new BenchCommand.StartBatch(),
        "close-batch" => new BenchCommand.CloseBatch(),
        "withdraw" => new BenchCommand.WithdrawRequest(Request(flat), FreeWords(flat.Words)),
        "carry-over" => new BenchCommand.CarryOver(Request(flat)),
        "give-up" => new BenchCommand.GiveUpRequest(Request(flat), FreeWords(flat.Words) ?? "", flat.Anyway ?? false),
        "revoke-fate" => new BenchCommand.RevokeFate(Request(flat)),
        "make-urgent" => new BenchCommand.ChangePriority(Request(flat), Priority.Urgent),
        "make-routine" => new BenchCommand.ChangePriority(Request(flat), Priority.Routine),
        "due" => new BenchCommand.ChangeDue(Request(flat), Planned(flat.Then, "then", now)),
        "comment" => new BenchCommand.CommentRequest(Request(flat), FreeWords(flat.Words)),
        "repeat" => new BenchCommand.OrderRepeat(Request(flat)),
        "ready" => new BenchCommand.ChangeReady(Request(flat), Planned(flat.Then, "then", now)),
        "acknowledge" =>
            new BenchCommand.AcknowledgeAlarm(AlarmText.Parse(flat.Alarm) ?? throw UnreadableException.Member("alarm")),
        "settle" => new BenchCommand.SettleIdentity(),
        "undo" => new BenchCommand.Undo(Identifier<ReportId>(flat.Of, "of"), Reports(flat.With)),
        "correct" => new BenchCommand.CorrectReport(
            Identifier<ReportId>(flat.Of, "of"), Happened(flat.Then, "then"),
            flat.Slot is null && flat.Reader is null ? null : Place(flat.Slot, flat.Reader),
            flat.Lot is null ? null : Lot(flat), FreeWords(flat.Words),
            flat.Answer is not null && Case<Answer>(flat.Answer, "answer") == Answer.Mistake),
        "answer" => new BenchCommand.AnswerQuestion(
            QuestionText.Parse(flat.Question) ?? throw UnreadableException.Member("question"),
                Case<Answer>(flat.Answer, "answer"),
            flat.Slot is null ? null : Number<SlotNumber>(flat.Slot, "slot"), flat.Stated, flat.Lot is null
                ? null : Lot(flat)),
        "out-of-use" => new BenchCommand.PutOutOfUse(
            Resource(flat), Minutes(flat.Minutes, "minutes"), FreeWords(flat.Words),
            flat.Anyway ?? false),
        "in-use" => new BenchCommand.PutBackInUse(Resource(flat)),
        "hands" => new BenchCommand.ChangeHands(Number<HandsNumber>(flat.Hands, "hands").Value),
        "pause-intake" => new BenchCommand.PauseIntake(true),
        "resume-intake" => new BenchCommand.PauseIntake(false),
        "incubator" => new BenchCommand.SetIncubator(new IncubatorRule(
            Degrees(flat.Celsius, "celsius"), Degrees(flat.Tolerance, "tolerance"),
            [.. AtMost(flat.Rules, Bounds.MaxTemperatureRules, "rules").Select(Rule)])),
        _ => throw UnreadableException.Member("kind"),
    };

    private static LabelScan? Scan(ScreenCommand flat) =>
        flat.Scan is null ? null : Case<LabelScan>(flat.Scan, "scan");

    /// <summary>What is told together: reports of hands and answers, whose times a person has stated.</summary>
    private static List<Told> Told(ScreenCommand flat, Instant now)
    {
        var told = AtMost(flat.Told, Bounds.MaxTold, "told");
        return told.Count == 0 ? throw UnreadableException.Member("told") : [.. told.Select(one => One(one, now))];
    }

    private static Told One(ScreenCommand? flat, Instant now) =>
        flat is { Kind: not "several" } && Understand(flat, now) is var what
            && CommandRights.Needed(what) == Right.Report && what is not BenchCommand.CorrectReport
                and not BenchCommand.AcknowledgeAlarm
            ? new Told(Happened(flat.At ?? "", "at")!.Value, what)
            : throw UnreadableException.Member("told");

    private static RequestId Request(ScreenCommand flat) => Identifier<RequestId>(flat.Request, "request");

    private static ReaderNumber Reader(ScreenCommand flat) => Number<ReaderNumber>(flat.Reader, "reader");

    private static BenchResource Resource(ScreenCommand flat) =>
        BenchResource.Of(Case<ResourceKind>(flat.Resource, "resource"), flat.Number)
            ?? throw UnreadableException.Member("number");

    private static LotCode Lot(ScreenCommand flat) => Identifier<LotCode>(flat.Lot, "lot");

    private static TemperatureRule Rule(TemperatureRuleIn? rule) => rule is null
        ? throw UnreadableException.Member("rules")
        : new(Identifier<AssayCode>(rule.Assay, "rules"), Minutes(rule.Minutes, "rules")
            ?? throw UnreadableException.Member("rules"));

    private static IReadOnlyList<T> AtMost<T>(IReadOnlyList<T>? list, int most, string member) =>
        list is { Count: var count } && count > most ? throw UnreadableException.Member(member) : list ?? [];

    private static List<ReportId> Reports(IReadOnlyList<string>? ids) =>
        [.. AtMost(ids, Bounds.MaxReports, "with").Select(id => Identifier<ReportId>(id, "with"))];
}
