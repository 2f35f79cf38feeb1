using System.Buffers.Binary;
using System.Globalization;
using Microsoft.Data.Sqlite;

namespace Incubation.Records.Sqlite;

/// <summary>
/// Tells this program's data files from others by SQLite's "application id". See https://sqlite.org/fileformat2.html
/// for the two places in the first 100 bytes that are read here.
/// </summary>
internal static class FileIdentity
{
    /// <summary>The letters "Incu" as a big-endian number.</summary>
    public const int ApplicationId = 0x496E6375;

    private const int HeaderLength = 100;
    private const int ApplicationIdOffset = 68;

    /// <summary>
    /// Refuses a file that is no database, or is marked as another program's, before SQLite touches it.
    /// </summary>
    public static void RefuseForeignHeader(string path)
    {
        var header = new byte[HeaderLength];
        int length;
        try
        {
            if (!File.Exists(path))
                return;
            using var file = new FileStream(path, FileMode.Open, FileAccess.Read, FileShare.ReadWrite);
            length = file.ReadAtLeast(header, HeaderLength, throwOnEndOfStream: false);
        }
        catch (Exception e) when (e is IOException or UnauthorizedAccessException)
        {
            throw new DataFileException(DataFileProblem.CannotOpen, path, Words.FileCannotOpen, e.Message, e);
        }
        if (length == 0)
            return;
        if (length < HeaderLength || !header.AsSpan().StartsWith("SQLite format 3\0"u8))
            throw new DataFileException(DataFileProblem.NotADataFile, path, Words.FileNotADataFile);
        if (BinaryPrimitives.ReadInt32BigEndian(header.AsSpan(ApplicationIdOffset)) is not (0 or ApplicationId))
            throw new DataFileException(DataFileProblem.OtherProgram, path, Words.FileOtherProgram);
    }

    /// <summary>Marks an empty database as this program's; refuses one that holds somebody else's tables.</summary>
    public static void RefuseOrMark(SqliteConnection connection, string path)
    {
        var id = Scalar(connection, "PRAGMA application_id");
        if (id == ApplicationId)
            return;
        if (id != 0 || Scalar(connection, "SELECT COUNT(*) FROM sqlite_schema") != 0)
            throw new DataFileException(DataFileProblem.OtherProgram, path, Words.FileOtherProgram);
        using var mark = connection.CreateCommand();
        mark.CommandText = string.Create(CultureInfo.InvariantCulture, $"PRAGMA application_id = {ApplicationId}");
        mark.ExecuteNonQuery();
    }

    private static long Scalar(SqliteConnection connection, string sql)
    {
        using var command = connection.CreateCommand();
        command.CommandText = sql;
        return Convert.ToInt64(command.ExecuteScalar(), CultureInfo.InvariantCulture);
    }
}
