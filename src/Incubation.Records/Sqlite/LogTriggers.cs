namespace Incubation.Records.Sqlite;

/// <summary>
/// The triggers that keep every program, not this one alone, from changing the log. The migrations make them; a check
/// of a file holds what stands in it against this list, and a test holds the list against a new file.
/// </summary>
internal static class LogTriggers
{
    /// <summary>Name and words of each, as the file keeps them.</summary>
    public static IReadOnlyDictionary<string, string> All { get; } =
        new Dictionary<string, string>(StringComparer.Ordinal)
        {
            ["EventHeaders_NoUpdate"] =
            """
            CREATE TRIGGER "EventHeaders_NoUpdate" BEFORE UPDATE ON "EventHeaders"
            BEGIN SELECT RAISE(ABORT, 'a row of the log is never changed'); END
            """,
            ["EventHeaders_NoDelete"] =
            """
            CREATE TRIGGER "EventHeaders_NoDelete" BEFORE DELETE ON "EventHeaders"
            BEGIN SELECT RAISE(ABORT, 'a row of the log is never deleted'); END
            """,
            ["EventHeaders_InOrder"] =
            """
            CREATE TRIGGER "EventHeaders_InOrder" BEFORE INSERT ON "EventHeaders"
            WHEN NEW."Sequence" IS NOT (SELECT COALESCE(MAX("Sequence"), 0) + 1 FROM "EventHeaders" WHERE "Stream" = NEW."Stream")
            BEGIN SELECT RAISE(ABORT, 'a row of the log follows the last one'); END
            """,
            ["EventPayloads_NoUpdate"] =
            """
            CREATE TRIGGER "EventPayloads_NoUpdate" BEFORE UPDATE ON "EventPayloads"
            BEGIN SELECT RAISE(ABORT, 'a payload of the log is never changed'); END
            """,
            ["EventPayloads_NoDelete"] =
            """
            CREATE TRIGGER "EventPayloads_NoDelete" BEFORE DELETE ON "EventPayloads"
            WHEN NOT EXISTS (SELECT 1 FROM "Erasures" WHERE "Stream" = OLD."Stream" AND OLD."Sequence" BETWEEN "First" AND "Last")
            BEGIN SELECT RAISE(ABORT, 'a payload of the log is erased by rule only'); END
            """,
        };
}
