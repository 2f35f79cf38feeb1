using System.Globalization;
using Incubation.Bench;
using Incubation.Model;
using Incubation.Service.Alarms;
using Incubation.Service.Text;
using NodaTime;
using NodaTime.Text;

namespace Incubation.Service.Commands;

/// <summary>
/// Writes commands in the flat form in which they travel: what <see cref="CommandReader"/> reads, written by a program
/// that taps.
/// </summary>
public static class CommandWriter
{
    /// <summary>A command of a program, named anew.</summary>
    /// <param name="command">What is said.</param>
    /// <param name="at">When it happened.</param>
    /// <param name="device">What the program calls itself.</param>
    /// <exception cref="ArgumentException">A command that has no flat form: only the server itself says it.</exception>
    public static ScreenCommand Write(BenchCommand command, Instant at, string device)
    {
        ArgumentNullException.ThrowIfNull(command);
        return command switch
        {
            BenchCommand.Mixed mixed => Of("mixed", mixed.Request, mixed.TimeStated),
            BenchCommand.Loaded loaded => At(Of("loaded", loaded.Request, loaded.TimeStated), loaded.Place) with
            { Scan = Scan(loaded) },
            BenchCommand.ReadStarted started => Of("read-started", started.Request) with
            {
                Reader = started.Reader.Value,
                InTime = started.StatedInTime ? true : null,
                Scan = Scan(started),
            },
            BenchCommand.Cleared cleared => Of("cleared", cleared.Request) with
            { Reader = cleared.Reader.Value, Scan = Scan(cleared) },
            BenchCommand.CardChanged changed =>
                Of("card-changed") with { Reader = changed.Reader.Value, Lot = changed.Lot.Value },
            BenchCommand.CardSeen seen => Of("card-seen") with { Reader = seen.Reader.Value, Lot = seen.Lot.Value },
            BenchCommand.Discarded discarded => Of("discarded", discarded.Request) with
            {
                Reason = KebabCase.Of(discarded.Reason),
                Words = discarded.InWords,
            },
            BenchCommand.TemperatureMeasured measured => Of("temperature") with { Celsius = measured.Value.Degrees },
            BenchCommand.NotBegun notBegun => Of("not-begun") with { Hands = notBegun.Hands.Value },
            BenchCommand.Several several => Of("several") with
            { Told = [.. several.Reports.Select(told => Write(told.What, told.At, device))] },
            BenchCommand.ResultEntered entered => Showing(Of("result", entered.Request), entered.Result) with
            { Shown = entered.Identity?.Specimen },
            BenchCommand.AnswerQuestion answer => Of("answer", stated: answer.TimeStated) with
            {
                Question = QuestionText.IdOf(answer.Question),
                Answer = KebabCase.Of(answer.Answer),
                Slot = answer.Slot?.Value,
                Lot = answer.Lot?.Value,
            },
            BenchCommand.StartBatch => Of("start-batch"),
            BenchCommand.CloseBatch => Of("close-batch"),
            BenchCommand.OrderRepeat repeat => Of("repeat", repeat.Of),
            BenchCommand.AcknowledgeAlarm seen => Of("acknowledge") with { Alarm = AlarmText.IdOf(seen.Alarm) },
            _ => throw new ArgumentException($"A program does not say {command.GetType().Name}.", nameof(command)),
        };

        ScreenCommand Of(string kind, RequestId? request = null, bool stated = false) => new(
            Guid.CreateVersion7().ToString("N", CultureInfo.InvariantCulture), kind,
                InstantPattern.ExtendedIso.Format(at), stated, device,
            request?.Value, null, null, null, null, null, null, null, null, null, null, null);
    }

    private static string? Scan(BenchCommand.AtLabel report) =>
        report.Scan is { } scan ? KebabCase.Of(scan) : null;

    private static ScreenCommand At(ScreenCommand flat, CartridgePlace place) => place switch
    {
        CartridgePlace.InSlot at => flat with { Slot = at.Slot.Value },
        CartridgePlace.InReader inside => flat with { Reader = inside.Reader.Value },
        _ => throw new ArgumentException($"The place {place.GetType().Name} is not known.", nameof(place)),
    };

    private static ScreenCommand Showing(ScreenCommand flat, ShownResult result) => result switch
    {
        ShownResult.Value value => flat with { Value = value.Text },
        ShownResult.NoValue none => flat with { NoValue = none.Code },
        _ => throw new ArgumentException($"The result {result.GetType().Name} is not known.", nameof(result)),
    };
}
