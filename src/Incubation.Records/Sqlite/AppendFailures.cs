using Incubation.Records.Log;
using Microsoft.Data.Sqlite;
using SQLitePCL;

namespace Incubation.Records.Sqlite;

/// <summary>Turns SQLite's codes into what a person can act upon. See https://sqlite.org/rescode.html.</summary>
internal static class AppendFailures
{
    /// <summary>The exception for a write that SQLite did not do.</summary>
    public static AppendException From(StreamName stream, string path, SqliteException e)
    {
        var (failure, sentence) = e.SqliteErrorCode switch
        {
            raw.SQLITE_FULL => (AppendFailure.DiskFull, Words.AppendDiskFull),
            raw.SQLITE_BUSY or raw.SQLITE_LOCKED => (AppendFailure.Locked, Words.AppendLocked),
            raw.SQLITE_READONLY or raw.SQLITE_PERM or raw.SQLITE_AUTH => (AppendFailure.ReadOnly, Words.AppendReadOnly),
            raw.SQLITE_CORRUPT or raw.SQLITE_NOTADB => (AppendFailure.Damaged, Words.AppendDamaged),
            raw.SQLITE_CONSTRAINT when e.SqliteExtendedErrorCode == raw.SQLITE_CONSTRAINT_UNIQUE =>
                (AppendFailure.AlreadyRecorded, Words.AppendAlreadyRecorded),
            raw.SQLITE_CONSTRAINT => (AppendFailure.Damaged, Words.AppendDamaged),
            _ => (AppendFailure.DiskFailed, Words.AppendDiskFailed),
        };
        return new AppendException(failure, stream, Sentence.Of(sentence, stream, path, e.Message), e);
    }
}
