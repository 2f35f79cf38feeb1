using System.Globalization;
using Incubation.TestKit;
using NodaTime;
using NodaTime.Text;

namespace Incubation.Hostile;

/// <summary>What no reader expects, as JSON text, so that it can be what no serializer would write.</summary>
internal static class Extremes
{
    /// <summary>Stands for a member that is left out.</summary>
    public const string Absent = "";

    private const int LongText = 100_000;
    private const int LongList = 5_000;

    /// <summary>Of any kind: absent, nothing, empty, of another kind, deep, long.</summary>
    public static IReadOnlyList<string> Anything { get; } =
    [
        Absent, "null", "\"\"", "0", "-1", "true", "false", "[]", "{}", "[null]", "[[[[1]]]]", "NaN",
        Nested(63), Nested(1000), Text(LongText), List("\"x\"", LongList), "{\"a\":" + Text(1000) + "}",
    ];

    /// <summary>Numbers.</summary>
    public static IReadOnlyList<string> Numbers { get; } =
    [
        "0", "-1", "-0", "1", "2", "7", "64", "100", "2147483647", "-2147483648", "2147483648",
        "9223372036854775807", "-9223372036854775808", "9223372036854775808", "0.5", "1e-400", "1e308", "-1e308",
        "1e400", "-1e400", "\"NaN\"", "\"Infinity\"", "\"-Infinity\"", "\"1\"", "NaN", "1.7976931348623157e308",
        "5e-324", "1440", "1440.1",
    ];

    /// <summary>Words and names.</summary>
    public static IReadOnlyList<string> Texts { get; } =
    [
        "\"\"", "\" \"", "\" a\"", "\"a \"", "\"NaN\"", "\"null\"", "\"0\"", "\"-1\"", "\"1e400\"", "\"..\"",
        "\"../../etc/passwd\"", "\"a/b\"", "\"%2e%2e%2f\"", "\"<b>&amp;\\\"'\"", "\"=1+1\"", "\"a,b\\\"c\\n\"",
        Text(64), Text(65), Text(500), Text(501), Text(LongText), "\"" + Times(32, "\\ud83d\\ude00") + "\"",
        // Each shrinks, or grows, to another length when it is normalized.
        "\"" + Times(32, "e\\u0301") + "\"", "\"" + Times(64, "\\u0344") + "\"",
        "\"\\u0000\"", "\"a\\u0007b\"", "\"a\\u001bb\"", "\"a\\r\\nb\"", "\"\\u0085\"", "\"\\u2028\"", "\"a\\u202eb\"",
        "\"a\\u2066b\"", "\"a\\u200db\"", "\"\\ufeffa\"", "\"\\ud800\"", "\"\\udc00a\"", "\"a\\ud83d\"",
        "\"\\uffff\"", "\"\\ufffd\"", "\"{0}\"", "\"{\"",
    ];

    /// <summary>Instants, and what looks like one.</summary>
    public static IReadOnlyList<string> TimesAround(Instant now)
    {
        string[] fixedTimes =
        [
            "0000-01-01T00:00:00Z", "0001-01-01T00:00:00Z", "-9998-01-01T00:00:00Z", "-9999-01-01T00:00:00Z",
            "9999-12-31T23:59:59Z", "9999-12-31T23:59:59.999999999Z", "1970-01-01T00:00:00Z", "1899-12-31T23:59:59Z",
            "2200-01-01T00:00:00Z", "2262-04-11T23:47:16Z", "2262-04-11T23:47:17Z", "1677-09-21T00:12:43Z",
            "2038-01-19T03:14:08Z", "2026-02-30T00:00:00Z", "2026-03-02T24:00:00Z", "2026-03-02T23:59:60Z", "now",
            "2026-03-02", "2026-03-02T08:00:00", "2026-03-02T08:00:00+01:00", "", "NaN",
        ];
        Duration[] away =
        [
            Duration.Zero, Duration.FromMilliseconds(1), Duration.FromSeconds(-1), Duration.FromMinutes(-3),
            Duration.FromMinutes(3), Duration.FromHours(-1), Duration.FromHours(1), Duration.FromDays(-1),
            Duration.FromDays(1), Duration.FromDays(13), Duration.FromDays(-13), Duration.FromDays(14),
            Duration.FromDays(15), Duration.FromDays(-15), Duration.FromDays(366), Duration.FromDays(-366),
        ];
        return [.. fixedTimes.Select(time => "\"" + time + "\""),
            .. away.Select(length => "\"" + InstantPattern.ExtendedIso.Format(now + length) + "\"")];
    }

    /// <summary>One extreme for a member of a kind; now and then one of another kind.</summary>
    public static string Pick(MemberKind kind, Instant now, SeededRandom random)
    {
        if (random.Chance(0.12))
            return random.Pick(Anything);
        return kind switch
        {
            MemberKind.Number => random.Pick(Numbers),
            MemberKind.Time => random.Pick(TimesAround(now)),
            MemberKind.Truth => random.Pick(["true", "false", "null", Absent, "0", "\"true\""]),
            MemberKind.List => random.Pick<string>([Absent, "null", "[]", "[null]", "[\"\"]", "[" + Text(65) + "]",
                List("\"x\"", 101), List("\"x\"", LongList), List("null", LongList), "[{}]", "[[]]", "\"x\""]),
            _ => random.Pick(Texts),
        };
    }

    /// <summary>A JSON string of so many letters.</summary>
    public static string Text(int length) => "\"" + new string('a', length) + "\"";

    private static string Nested(int depth) => new string('[', depth) + new string(']', depth);

    private static string List(string item, int count) =>
        "[" + string.Join(',', Enumerable.Repeat(item, count)) + "]";

    private static string Times(int count, string part) => string.Concat(Enumerable.Repeat(part, count));

    /// <summary>A number as JSON.</summary>
    public static string Number(double number) => number.ToString("R", CultureInfo.InvariantCulture);
}

/// <summary>What a member is meant to hold.</summary>
internal enum MemberKind
{
    Text,
    Number,
    Time,
    Truth,
    List,
}
