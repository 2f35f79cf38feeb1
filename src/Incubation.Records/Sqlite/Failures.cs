using System.Data.Common;
using Incubation.Records.Log;
using Microsoft.Data.Sqlite;
using SQLitePCL;

namespace Incubation.Records.Sqlite;

/// <summary>Turns SQLite's codes into what a person can act upon. See https://sqlite.org/rescode.html.</summary>
internal static class Failures
{
    /// <summary>The exception for a write that SQLite did not do.</summary>
    public static AppendException OfWriting(StreamName stream, string path, DbException e)
    {
        var (code, extended) = CodesOf(e);
        var (failure, sentence) = code switch
        {
            raw.SQLITE_FULL => (AppendFailure.DiskFull, Words.AppendDiskFull),
            raw.SQLITE_BUSY or raw.SQLITE_LOCKED => (AppendFailure.Locked, Words.AppendLocked),
            raw.SQLITE_READONLY or raw.SQLITE_PERM or raw.SQLITE_AUTH => (AppendFailure.ReadOnly, Words.AppendReadOnly),
            raw.SQLITE_CORRUPT or raw.SQLITE_NOTADB => (AppendFailure.Damaged, Words.AppendDamaged),
            raw.SQLITE_CONSTRAINT when extended == raw.SQLITE_CONSTRAINT_UNIQUE =>
                (AppendFailure.AlreadyRecorded, Words.AppendAlreadyRecorded),
            raw.SQLITE_CONSTRAINT => (AppendFailure.Damaged, Words.AppendDamaged),
            _ => (AppendFailure.DiskFailed, Words.AppendDiskFailed),
        };
        return new AppendException(failure, stream, Sentence.Of(sentence, stream, path, e.Message), e);
    }

    /// <summary>The exception for a file that SQLite did not open or read.</summary>
    public static DataFileException OfOpening(string path, DbException e) => CodesOf(e).Code switch
    {
        raw.SQLITE_NOTADB => new(DataFileProblem.NotADataFile, path, Words.FileNotADataFile, null, e),
        raw.SQLITE_CORRUPT => new(DataFileProblem.Damaged, path, Words.FileDamaged, e.Message, e),
        raw.SQLITE_BUSY or raw.SQLITE_LOCKED => new(DataFileProblem.InUse, path, Words.FileInUse, null, e),
        _ => new(DataFileProblem.CannotOpen, path, Words.FileCannotOpen, e.Message, e),
    };

    private static (int Code, int Extended) CodesOf(DbException e) =>
        e is SqliteException sqlite
            ? (sqlite.SqliteErrorCode, sqlite.SqliteExtendedErrorCode) : (raw.SQLITE_ERROR, raw.SQLITE_ERROR);
}
