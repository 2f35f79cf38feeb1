using System.Globalization;
using Incubation.Bench;
using Incubation.Model;
using Incubation.TestKit;
using NodaTime;

namespace Incubation.Faults;

/// <summary>What traces and tables say.</summary>
internal static class Words
{
    public static string Of(Instant at) => Signed(at - RandomDays.Start);

    public static string Signed(Duration length) => length.TotalSeconds.ToString("0.000", CultureInfo.InvariantCulture);

    public static string Of(BenchCommand command) => command switch
    {
        BenchCommand.Mixed mixed => $"mixed {mixed.Request}{(mixed.TimeStated ? " (time stated)" : "")}",
        BenchCommand.Loaded loaded =>
            $"loaded {loaded.Request} in {Of(loaded.Place)}{(loaded.TimeStated ? " (time stated)" : "")}",
        BenchCommand.ReadStarted started =>
            $"read started {started.Request} in reader {started.Reader}{(started.StatedInTime ? " (in time)" : "")}",
        BenchCommand.Cleared cleared => $"cleared {cleared.Request} out of reader {cleared.Reader}",
        BenchCommand.CardChanged changed => $"card {changed.Lot} in reader {changed.Reader}",
        BenchCommand.Discarded discarded => $"discarded {discarded.Request} ({discarded.Reason})",
        BenchCommand.ResultEntered result => $"result of {result.Request}",
        BenchCommand.WithdrawRequest withdraw => $"withdraw {withdraw.Request}",
        BenchCommand.CarryOver carry => $"carry over {carry.Request}",
        BenchCommand.GiveUpRequest give => $"give up {give.Request}",
        BenchCommand.OrderRepeat repeat => $"repeat {repeat.Of}",
        BenchCommand.Undo undo => $"undo {undo.Of}",
        BenchCommand.AnswerQuestion answer => $"{answer.Answer} to {Of(answer.Question)}"
            + $"{(answer.Slot is { } slot ? $", slot {slot}" : "")}{(answer.Lot is { } lot ? $", card {lot}" : "")}",
        BenchCommand.CorrectReport correct => $"{correct.Of} corrected"
            + $"{(correct.Place is { } place ? $" to {Of(place)}" : "")}"
            + $"{(correct.At is { } at ? $" to {Of(at)}" : "")}",
        BenchCommand.CardSeen seen => $"card {seen.Lot} seen in reader {seen.Reader}",
        BenchCommand.NotBegun notBegun => $"not begun, hands {notBegun.Hands}",
        BenchCommand.Several several => string.Join(" and ",
            several.Reports.Select(told => $"{Of(told.What)} at {Of(told.At)}")),
        BenchCommand.AddRequests add => $"add {string.Join(", ", add.Requests.Select(r => r.Request.Id))}",
        _ => command.GetType().Name,
    };

    public static string Of(QuestionKey question) => $"{question.Kind} of {question.Of}";

    public static string Of(StepAction action) => action switch
    {
        StepAction.Load load => $"load {load.Request} into {Of(load.Place)}",
        StepAction.Move move => $"move {move.Request} to reader {move.Reader}",
        StepAction.Clear clear => $"clear {clear.Request} out of reader {clear.Reader}",
        StepAction.CardChange change => $"card {change.Lot} into reader {change.Reader}",
        _ => $"{action.GetType().Name.ToUpperInvariant()} {action.Subject}",
    };

    public static string Of(CartridgePlace place) => place switch
    {
        CartridgePlace.InSlot at => $"slot {at.Slot}",
        CartridgePlace.InReader inside => $"reader {inside.Reader}",
        _ => "nowhere",
    };
}
