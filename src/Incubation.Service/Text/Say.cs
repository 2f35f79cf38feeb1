using System.Globalization;
using System.Text.RegularExpressions;
using Incubation.Model;
using NodaTime;
using NodaTime.Text;

namespace Incubation.Service.Text;

/// <summary>Small parts of sentences: counts, clock times, lengths, lists.</summary>
public static partial class Say
{
    /// <summary>A sentence with its things put in.</summary>
    public static string Of(string sentence, params object?[] things) =>
        string.Format(CultureInfo.CurrentCulture, sentence, things);

    /// <summary>One of two sentences, by number; the number is thing {0}.</summary>
    public static string Counted(int number, string one, string many) => Of(number == 1 ? one : many, number);

    /// <summary>A clock time in the clinic's zone, to the minute.</summary>
    public static string Clock(Instant at, DateTimeZone zone)
    {
        var local = at.Local(zone).TimeOfDay;
        return string.Create(CultureInfo.InvariantCulture, $"{local.Hour:00}:{local.Minute:00}");
    }

    /// <summary>A clock time in the clinic's zone, to the second.</summary>
    public static string ClockWithSeconds(Instant at, DateTimeZone zone) =>
        at.Local(zone).TimeOfDay.ToString("HH:mm:ss", CultureInfo.InvariantCulture);

    /// <summary>A day: "2026-10-25".</summary>
    public static string Day(LocalDate day) => LocalDatePattern.Iso.Format(day);

    /// <summary>The day of an instant in the clinic's zone.</summary>
    public static string Day(Instant at, DateTimeZone zone) => Day(at.Local(zone).Date);

    /// <summary>A date and time in the clinic's zone, to the second.</summary>
    public static string DateAndTime(Instant at, DateTimeZone zone) =>
        at.Local(zone).LocalDateTime.ToString("uuuu-MM-dd HH:mm:ss", CultureInfo.InvariantCulture);

    /// <summary>
    /// A planner's sentence, whose instants are in UTC as in a plan file, with clock times in the clinic's zone.
    /// </summary>
    public static string InClinicTime(string sentence, DateTimeZone zone) =>
        Instants().Replace(sentence, found => InstantPattern.ExtendedIso.Parse(found.Value) is { Success: true } at
            ? ClockWithSeconds(at.Value, zone)
            : found.Value);

    [GeneratedRegex(@"\d{4}-\d{2}-\d{2}T\d{2}:\d{2}:\d{2}(\.\d+)?Z", RegexOptions.CultureInvariant)]
    private static partial Regex Instants();

    /// <summary>A length as m:ss under an hour, else h:mm:ss.</summary>
    public static string Length(Duration length)
    {
        var seconds = (long)Math.Max(0, Math.Round(length.TotalSeconds));
        return seconds < 3600
            ? string.Create(CultureInfo.InvariantCulture, $"{seconds / 60}:{seconds % 60:00}")
            : string.Create(CultureInfo.InvariantCulture, $"{seconds / 3600}:{seconds / 60 % 60:00}:{seconds % 60:00}");
    }

    /// <summary>"the reader" on a bench with one, else "reader 2".</summary>
    public static string Reader(ReaderNumber reader, BenchSetup setup) =>
        setup.Readers == 1 ? TextWords.TheReader : Of(TextWords.ReaderNumber, reader.Value);

    /// <summary>The same word at the head of a sentence.</summary>
    public static string First(string words) => words.Length == 0
        ? words : char.ToUpper(words[0], CultureInfo.CurrentCulture) + words[1..];

    /// <summary>Parts that are there, with a dot between them.</summary>
    public static string Dotted(params string?[] parts) =>
        string.Join(" · ", parts.Where(part => !string.IsNullOrEmpty(part)));
}
