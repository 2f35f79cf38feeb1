using System.Globalization;
using System.Text;
using Incubation.Bench;
using Incubation.Model;
using Incubation.Service.Clock;
using Incubation.Service.Text;
using NodaTime;
using NodaTime.Text;

namespace Incubation.Service.Commands;

/// <summary>Something that was said cannot be read; the message is the sentence that says so.</summary>
public sealed class UnreadableException(string sentence) : Exception(sentence)
{
    /// <summary>A member that is missing or means nothing.</summary>
    public static UnreadableException Member(string member) => new(Say.Of(CommandsWords.CommandUnreadable, member));
}

/// <summary>
/// Members of commands as they come from outside, each read into its type, within its bound (<see cref="Bounds"/>).
/// Whatever is not throws <see cref="UnreadableException"/>.
/// </summary>
internal static class CommandMembers
{
    /// <summary>Characters of a time that is not taken over; more than any that can be read has.</summary>
    private const int LongestTime = 40;

    /// <summary>The name that a sender gives its command: normalized, since it names something new.</summary>
    public static ReportId NewName(string? id) =>
        Bounds.IsIdentifier(id) ? new ReportId(id!.Normalize(NormalizationForm.FormC))
            : throw new UnreadableException(CommandsWords.CommandUnnamed);

    /// <summary>The identifier of something that is there, as it is stored.</summary>
    public static T Identifier<T>(string? value, string member)
        where T : struct, ITextId<T> => Bounds.IsIdentifier(value)
            ? T.Of(value!) : throw UnreadableException.Member(member);

    /// <summary>The number painted on a thing.</summary>
    public static T Number<T>(int? value, string member)
        where T : struct, INumberId<T> => value is >= 1 ? T.Of(value.Value) : throw UnreadableException.Member(member);

    /// <summary>A case of an enum by its name on the wire.</summary>
    public static T Case<T>(string? code, string member)
        where T : struct, Enum => KebabCase.Find<T>(code) ?? throw UnreadableException.Member(member);

    /// <summary>Free words; null where there are none.</summary>
    public static string? FreeWords(string? words)
    {
        var trimmed = words?.Trim();
        return string.IsNullOrEmpty(trimmed) ? null : Bounds.IsWords(trimmed)
            ? trimmed : throw UnreadableException.Member("words");
    }

    /// <summary>A place from the one of two members that is there.</summary>
    public static CartridgePlace Place(int? slot, int? reader) => (slot, reader) switch
    {
        ({ } number, null) => new CartridgePlace.InSlot(Number<SlotNumber>(number, "slot")),
        (null, { } number) => new CartridgePlace.InReader(Number<ReaderNumber>(number, "reader")),
        _ => throw UnreadableException.Member("slot"),
    };

    /// <summary>
    /// What a reader shows: a value, or the code that came instead of one. A value that can be read as more than one
    /// number is taken as it came: its bench asks.
    /// </summary>
    public static ShownResult Result(string? value, string? noValue) => (FreeWords(value), FreeWords(noValue)) switch
    {
        ({ } text, null) => ResultText.Read(text) switch
        {
            { Value: { } understood } => new ShownResult.Value(understood),
            { Doubtful: { } asItCame } => new ShownResult.Value(asItCame),
            var typed => throw new UnreadableException(Say.Of(CommandsWords.CommandValue, typed.Fault)),
        },
        (null, { } code) => new ShownResult.NoValue(code),
        _ => throw UnreadableException.Member("value"),
    };

    /// <summary>
    /// A time that is not taken over, as the text that came: its beginning, and U+FFFD for each control or format
    /// character and each half of a pair.
    /// </summary>
    public static string TimeText(string? at) => string.Concat((at ?? "").EnumerateRunes().Take(LongestTime)
        .Select(rune => Rune.GetUnicodeCategory(rune) is UnicodeCategory.Control or UnicodeCategory.Format
            ? Rune.ReplacementChar : rune));

    /// <summary>An instant at which something happened.</summary>
    public static Instant? Happened(string? at, string member) => at is null
        ? null
        : InstantPattern.ExtendedIso.Parse(at) is { Success: true } read
        ? BenchClock.ToMilliseconds(read.Value) : throw UnreadableException.Member(member);

    /// <summary>An instant that is planned.</summary>
    public static Instant? Planned(string? at, string member, Instant now) => Happened(at, member) is not { } planned
        ? null
        : Bounds.IsPlannable(planned, now)
        ? planned
        : throw new UnreadableException(Say.Of(CommandsWords.CommandTooFar, member, Bounds.PlannedWithin.Days));

    /// <summary>So many minutes.</summary>
    public static Duration? Minutes(double? minutes, string member) => minutes is null
        ? null
        : minutes > 0 && minutes <= Bounds.MaxOutOfUse.TotalMinutes
            ? Duration.FromMilliseconds(Math.Round(minutes.Value * 60_000))
            : throw UnreadableException.Member(member);

    /// <summary>What a thermometer shows.</summary>
    public static Celsius Degrees(double? degrees, string member) => degrees is >= Bounds.MinDegrees
        and <= Bounds.MaxDegrees
        ? new Celsius(Math.Round(degrees.Value, 2))
        : throw UnreadableException.Member(member);
}
