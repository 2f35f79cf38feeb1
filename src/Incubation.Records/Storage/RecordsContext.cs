using Microsoft.EntityFrameworkCore;

namespace Incubation.Records.Storage;

/// <summary>The tables of the data file. The README of this room describes them.</summary>
internal sealed class RecordsContext(DbContextOptions<RecordsContext> options) : DbContext(options)
{
    public DbSet<EventHeaderRow> EventHeaders => Set<EventHeaderRow>();
    public DbSet<EventPayloadRow> EventPayloads => Set<EventPayloadRow>();
    public DbSet<HeadRow> Heads => Set<HeadRow>();
    public DbSet<StreamListRow> StreamLists => Set<StreamListRow>();
    public DbSet<ErasureRow> Erasures => Set<ErasureRow>();
    public DbSet<SnapshotRow> Snapshots => Set<SnapshotRow>();
    public DbSet<ProjectionRow> Projections => Set<ProjectionRow>();
    public DbSet<ClinicRow> Clinics => Set<ClinicRow>();
    public DbSet<AssayRow> Assays => Set<AssayRow>();
    public DbSet<LotRow> Lots => Set<LotRow>();
    public DbSet<BenchRow> Benches => Set<BenchRow>();
    public DbSet<RequestRow> Requests => Set<RequestRow>();
    public DbSet<UseRow> Uses => Set<UseRow>();
    public DbSet<BatchRow> Batches => Set<BatchRow>();
    public DbSet<CartridgeRow> Cartridges => Set<CartridgeRow>();
    public DbSet<CartridgeTimesRow> CartridgeTimes => Set<CartridgeTimesRow>();
    public DbSet<SecretRow> Secrets => Set<SecretRow>();
    public DbSet<SessionRow> Sessions => Set<SessionRow>();
    public DbSet<WireMessageRow> WireMessages => Set<WireMessageRow>();
    public DbSet<WirePieceRow> WirePieces => Set<WirePieceRow>();
    public DbSet<NoticeRow> Notices => Set<NoticeRow>();
    public DbSet<DeliveryRow> Deliveries => Set<DeliveryRow>();

    /// <summary>
    /// Notes how far the tables of a projection have read their stream, and by which version of the code.
    /// </summary>
    public void MoveProjection(string name, long sequence, int codeVersion)
    {
        // Past the model: whatever somebody has put in its place goes.
        var connection = Database.GetDbConnection();
        Queries.Scalar(connection, "DELETE FROM \"Projections\" WHERE \"Name\" = @name", ("@name", name));
        Queries.Scalar(connection,
            "INSERT INTO \"Projections\" (\"Name\", \"Sequence\", \"CodeVersion\") VALUES (@name, @sequence, @version)",
            ("@name", name), ("@sequence", sequence), ("@version", (long)codeVersion));
    }

    protected override void ConfigureConventions(ModelConfigurationBuilder configurationBuilder) =>
        Conversions.Configure(configurationBuilder);

    protected override void OnModelCreating(ModelBuilder modelBuilder)
    {
        modelBuilder.Entity<EventHeaderRow>(header =>
        {
            header.ToTable("EventHeaders");
            header.HasKey(row => new { row.Stream, row.Sequence });
            header.HasIndex(row => new { row.Stream, row.Report, row.IndexInCommand }).IsUnique();
        });
        modelBuilder.Entity<EventPayloadRow>(payload =>
        {
            payload.ToTable("EventPayloads");
            payload.HasKey(row => new { row.Stream, row.Sequence });
            payload.HasOne<EventHeaderRow>().WithOne()
                .HasForeignKey<EventPayloadRow>(row => new { row.Stream, row.Sequence })
                .OnDelete(DeleteBehavior.Restrict);
        });
        modelBuilder.Entity<HeadRow>().ToTable("Heads").HasKey(row => row.Stream);
        modelBuilder.Entity<StreamListRow>().ToTable("StreamLists").HasKey(row => row.Id);
        modelBuilder.Entity<StreamListRow>().Property(row => row.Id).ValueGeneratedNever();
        modelBuilder.Entity<ErasureRow>().ToTable("Erasures").HasKey(row => new { row.Stream, row.First });
        modelBuilder.Entity<SnapshotRow>().ToTable("Snapshots").HasKey(row => row.Stream);
        modelBuilder.Entity<ProjectionRow>().ToTable("Projections").HasKey(row => row.Name);
        modelBuilder.Entity<ClinicRow>().ToTable("Clinic").HasKey(row => row.Sequence);
        modelBuilder.Entity<ClinicRow>().Property(row => row.Sequence).ValueGeneratedNever();
        modelBuilder.Entity<AssayRow>().ToTable("Assays").HasKey(row => new { row.Code, row.Version });
        modelBuilder.Entity<LotRow>().ToTable("Lots").HasKey(row => row.Lot);
        modelBuilder.Entity<BenchRow>().ToTable("Benches").HasKey(row => row.Bench);
        modelBuilder.Entity<SecretRow>().ToTable("Secrets").HasKey(row => new { row.Owner, row.Kind });
        modelBuilder.Entity<SessionRow>().ToTable("Sessions").HasKey(row => row.Id);
        modelBuilder.Entity<WireMessageRow>().ToTable("WireMessages").HasKey(row => row.Number);
        modelBuilder.Entity<WireMessageRow>().Property(row => row.Number).ValueGeneratedNever();
        modelBuilder.Entity<WirePieceRow>().ToTable("WirePieces").HasKey(row => new { row.Arrival, row.Piece });
        modelBuilder.Entity<NoticeRow>(notice =>
        {
            notice.ToTable("Notices");
            notice.HasKey(row => new { row.Stream, row.Sequence, row.Request });
            notice.HasIndex(row => row.Number).IsUnique();
            notice.HasIndex(row => row.Request);
        });
        modelBuilder.Entity<DeliveryRow>(delivery =>
        {
            delivery.ToTable("Deliveries");
            delivery.HasKey(row => new { row.Destination, row.Stream, row.Sequence, row.Request });
            delivery.HasIndex(row => new { row.Stream, row.Sequence });
        });
        modelBuilder.Entity<BatchRow>().ToTable("Batches").HasKey(row => new { row.Bench, row.Number });
        modelBuilder.Entity<CartridgeRow>(cartridge =>
        {
            cartridge.ToTable("Cartridges");
            cartridge.HasKey(row => new { row.Bench, row.Batch, row.Request });
            cartridge.HasIndex(row => row.Specimen);
            cartridge.HasIndex(row => new { row.Lot, row.At });
            // The last batch in which a request stands is found without reading through its bench's.
            cartridge.HasIndex(row => new { row.Request, row.Bench, row.Batch });
            // Whatever is counted or put in order is read from this alone, past the rows and their JSON.
            cartridge.HasIndex(row =>
                new { row.At, row.Bench, row.Specimen, row.Lot, row.Assay, row.Standing, row.Batch, row.Request });
        });
        modelBuilder.Entity<CartridgeTimesRow>(times =>
        {
            times.ToTable("CartridgeTimes");
            times.HasKey(row => new { row.Bench, row.Batch, row.Request });
            times.HasIndex(row => row.Asked);
        });
        modelBuilder.Entity<RequestRow>(request =>
        {
            request.ToTable("Requests");
            request.HasKey(row => row.Id);
            request.HasIndex(row => new { row.Bench, row.Sequence });
            request.HasIndex(row => row.Lot);
        });
        modelBuilder.Entity<UseRow>(use =>
        {
            use.ToTable("Uses");
            use.HasKey(row => new { row.Bench, row.Report });
            use.HasIndex(row => row.Request);
        });
    }
}
