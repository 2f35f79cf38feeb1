using Incubation.Records.Storage;
using Microsoft.EntityFrameworkCore;
using Microsoft.EntityFrameworkCore.Design;

namespace Incubation.Records.Sqlite;

/// <summary>Lets dotnet-ef see the model when it writes a migration; no file is opened.</summary>
internal sealed class RecordsContextFactory : IDesignTimeDbContextFactory<RecordsContext>
{
    public RecordsContext CreateDbContext(string[] args) =>
        new(SqliteEngine.Options().UseSqlite("Data Source=:memory:").Options);
}
