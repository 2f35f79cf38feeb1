using Incubation.Records.Storage;
using Microsoft.EntityFrameworkCore;
using Microsoft.EntityFrameworkCore.Infrastructure;

namespace Incubation.Records.Sqlite;

/// <summary>What the tables are told in this engine's own words.</summary>
internal sealed class SqliteModel(ModelCustomizerDependencies dependencies) : RelationalModelCustomizer(dependencies)
{
    public override void Customize(ModelBuilder modelBuilder, DbContext context)
    {
        base.Customize(modelBuilder, context);
        modelBuilder.Entity<CartridgeRow>(cartridge =>
        {
            // Found by their beginnings, in large letters or small.
            cartridge.Property(row => row.Specimen).UseCollation("NOCASE");
            cartridge.Property(row => row.Lot).UseCollation("NOCASE");
        });
    }
}
