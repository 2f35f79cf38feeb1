using System.Data.Common;
using System.Globalization;
using Incubation.Records.Batches;
using Incubation.Records.Clinic;
using Incubation.Records.Connections;
using Incubation.Records.Log;
using Incubation.Records.Stock;
using Incubation.Records.Storage;
using Microsoft.EntityFrameworkCore;
using Microsoft.EntityFrameworkCore.Infrastructure;

namespace Incubation.Records.Integrity;

/// <summary>How far the tables of each projection have read.</summary>
internal static class Positions
{
    /// <summary>The table.</summary>
    public const string Table = "Projections";

    /// <summary>How far one has read, and by which version of the code; null where its row is not there.</summary>
    public static (long Sequence, long Version)? Of(DbConnection connection, string name)
    {
        using var command = connection.CreateCommand();
        command.CommandText = $"SELECT \"Sequence\", \"CodeVersion\" FROM \"{Table}\" WHERE \"Name\" = @name";
        command.Add("@name", name);
        using var row = command.ExecuteReader();
        return row.Read() && row.GetFieldType(0) == typeof(long) && row.GetFieldType(1) == typeof(long)
            ? (row.GetInt64(0), row.GetInt64(1)) : null;
    }

    /// <summary>The same, on a context's connection.</summary>
    public static (long Sequence, long Version)? Of(DatabaseFacade database, string name)
    {
        database.OpenConnection();
        try
        {
            return Of(database.GetDbConnection(), name);
        }
        finally
        {
            database.CloseConnection();
        }
    }

    /// <summary>The sequence of a stream's last row.</summary>
    public static long HeadOf(DbConnection connection, StreamName stream) => Queries.Scalar(connection,
        "SELECT MAX(\"Sequence\") FROM \"EventHeaders\" WHERE \"Stream\" = @stream",
        ("@stream", stream.ToString())) as long? ?? 0;

    /// <summary>A position that is not where it must be.</summary>
    public static ProjectionDifference Differ(string name, long stored, long replayed) => new(Table, name, "Sequence",
        stored.ToString(CultureInfo.InvariantCulture), replayed.ToString(CultureInfo.InvariantCulture));

    /// <summary>The bench whose position it is; null for the clinic's.</summary>
    public static string? BenchOf(string name) => name.StartsWith(CartridgeProjection.NameBegins,
        StringComparison.Ordinal) ? name[CartridgeProjection.NameBegins.Length..] : null;

    /// <summary>A version that this program's has not reached: versions only grow.</summary>
    public static ProjectionDifference LaterVersion(string name, long stored, long present) => new(Table, name,
        "CodeVersion", stored.ToString(CultureInfo.InvariantCulture), present.ToString(CultureInfo.InvariantCulture));

    /// <summary>One that another version of the code wrote, in a file that this one has open.</summary>
    public static ProjectionDifference OtherVersion(string name) => new(Table, name, "CodeVersion", "", "");

    /// <summary>Positions of no projection.</summary>
    public static IEnumerable<ProjectionDifference> Unknown(DbConnection connection, IEnumerable<StreamName> streams)
    {
        var known = streams.Select(stream => stream.Bench).OfType<Model.BenchId>().Select(CartridgeProjection.NameOf)
            .Concat([ClinicProjection.Name, UseProjection.Name, NoticeProjection.Name])
            .ToHashSet(StringComparer.Ordinal);
        return Queries.Texts(connection, $"SELECT \"Name\" FROM \"{Table}\"").Where(name => !known.Contains(name))
            .Select(name => ProjectionDifference.TooMany(Table, name));
    }
}
