namespace Incubation.Server.Live;

/// <summary>What screens show while the time is in doubt.</summary>
internal static class ClockWords
{
    /// <summary>
    /// The alarms with the one on the clock first, and without those that call a cartridge lost by a time that may be wrong.
    /// </summary>
    public static IReadOnlyList<AlarmSnapshot> Over(IReadOnlyList<AlarmSnapshot> alarms, ClockFault? doubt) => doubt is null
        ? alarms
        :
        [
            new AlarmSnapshot(
                "clock/" + doubt.Key, "high", Words.PriorityHigh, Words.AlarmClock, Say.Of(Words.AlarmClockText, doubt.Sentence), doubt.Since, null, null,
                Acknowledged: false, "", [], null),
            .. alarms.Where(alarm => !alarm.Actions.Contains("discard") || alarm.Id.StartsWith("astray/", StringComparison.Ordinal)),
        ];
}
