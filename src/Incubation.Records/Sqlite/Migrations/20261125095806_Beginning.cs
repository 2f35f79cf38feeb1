using Microsoft.EntityFrameworkCore.Migrations;

#nullable disable

namespace Incubation.Records.Sqlite.Migrations
{
    /// <inheritdoc />
    public partial class Beginning : Migration
    {
        /// <inheritdoc />
        protected override void Up(MigrationBuilder migrationBuilder)
        {
            migrationBuilder.CreateTable(
                name: "Assays",
                columns: table => new
                {
                    Code = table.Column<string>(type: "TEXT", nullable: false),
                    Version = table.Column<int>(type: "INTEGER", nullable: false),
                    Name = table.Column<string>(type: "TEXT", nullable: false),
                    Unit = table.Column<string>(type: "TEXT", nullable: false),
                    Place = table.Column<string>(type: "TEXT", nullable: false),
                    Mix = table.Column<long>(type: "INTEGER", nullable: false),
                    MixToLoad = table.Column<long>(type: "INTEGER", nullable: false),
                    Load = table.Column<long>(type: "INTEGER", nullable: false),
                    Incubation = table.Column<long>(type: "INTEGER", nullable: false),
                    ReadWindow = table.Column<long>(type: "INTEGER", nullable: false),
                    Move = table.Column<long>(type: "INTEGER", nullable: false),
                    Read = table.Column<long>(type: "INTEGER", nullable: false),
                    Clear = table.Column<long>(type: "INTEGER", nullable: false),
                    MixShortest = table.Column<long>(type: "INTEGER", nullable: false),
                    LoadShortest = table.Column<long>(type: "INTEGER", nullable: false),
                    ApprovedAt = table.Column<long>(type: "INTEGER", nullable: false),
                    Sequence = table.Column<long>(type: "INTEGER", nullable: false)
                },
                constraints: table =>
                {
                    table.PrimaryKey("PK_Assays", x => new { x.Code, x.Version });
                });

            migrationBuilder.CreateTable(
                name: "Benches",
                columns: table => new
                {
                    Bench = table.Column<string>(type: "TEXT", nullable: false),
                    Name = table.Column<string>(type: "TEXT", nullable: false),
                    Sequence = table.Column<long>(type: "INTEGER", nullable: false)
                },
                constraints: table =>
                {
                    table.PrimaryKey("PK_Benches", x => x.Bench);
                });

            migrationBuilder.CreateTable(
                name: "Clinic",
                columns: table => new
                {
                    Sequence = table.Column<long>(type: "INTEGER", nullable: false),
                    Name = table.Column<string>(type: "TEXT", nullable: false),
                    TimeZone = table.Column<string>(type: "TEXT", nullable: false)
                },
                constraints: table =>
                {
                    table.PrimaryKey("PK_Clinic", x => x.Sequence);
                });

            migrationBuilder.CreateTable(
                name: "EventHeaders",
                columns: table => new
                {
                    Stream = table.Column<string>(type: "TEXT", nullable: false),
                    Sequence = table.Column<long>(type: "INTEGER", nullable: false),
                    Arrived = table.Column<long>(type: "INTEGER", nullable: false),
                    Reported = table.Column<long>(type: "INTEGER", nullable: false),
                    Person = table.Column<string>(type: "TEXT", nullable: false),
                    Device = table.Column<string>(type: "TEXT", nullable: false),
                    Report = table.Column<string>(type: "TEXT", nullable: false),
                    IndexInCommand = table.Column<long>(type: "INTEGER", nullable: false),
                    EventType = table.Column<string>(type: "TEXT", nullable: false),
                    SchemaVersion = table.Column<long>(type: "INTEGER", nullable: false),
                    PayloadHash = table.Column<byte[]>(type: "BLOB", nullable: false),
                    PreviousHash = table.Column<byte[]>(type: "BLOB", nullable: false),
                    Hash = table.Column<byte[]>(type: "BLOB", nullable: false)
                },
                constraints: table =>
                {
                    table.PrimaryKey("PK_EventHeaders", x => new { x.Stream, x.Sequence });
                });

            migrationBuilder.CreateTable(
                name: "Lots",
                columns: table => new
                {
                    Lot = table.Column<string>(type: "TEXT", nullable: false),
                    Assay = table.Column<string>(type: "TEXT", nullable: false),
                    Expiry = table.Column<string>(type: "TEXT", nullable: false),
                    ReceivedAt = table.Column<long>(type: "INTEGER", nullable: false),
                    Sequence = table.Column<long>(type: "INTEGER", nullable: false)
                },
                constraints: table =>
                {
                    table.PrimaryKey("PK_Lots", x => x.Lot);
                });

            migrationBuilder.CreateTable(
                name: "Projections",
                columns: table => new
                {
                    Name = table.Column<string>(type: "TEXT", nullable: false),
                    Sequence = table.Column<long>(type: "INTEGER", nullable: false),
                    CodeVersion = table.Column<int>(type: "INTEGER", nullable: false)
                },
                constraints: table =>
                {
                    table.PrimaryKey("PK_Projections", x => x.Name);
                });

            migrationBuilder.CreateTable(
                name: "Requests",
                columns: table => new
                {
                    Id = table.Column<string>(type: "TEXT", nullable: false),
                    Bench = table.Column<string>(type: "TEXT", nullable: false),
                    Specimen = table.Column<string>(type: "TEXT", nullable: false),
                    Assay = table.Column<string>(type: "TEXT", nullable: false),
                    AssayVersion = table.Column<int>(type: "INTEGER", nullable: false),
                    Lot = table.Column<string>(type: "TEXT", nullable: false),
                    Ready = table.Column<long>(type: "INTEGER", nullable: false),
                    Kind = table.Column<string>(type: "TEXT", nullable: false),
                    RepeatLeft = table.Column<bool>(type: "INTEGER", nullable: false),
                    Priority = table.Column<string>(type: "TEXT", nullable: false),
                    Due = table.Column<long>(type: "INTEGER", nullable: true),
                    LoadBy = table.Column<long>(type: "INTEGER", nullable: true),
                    After = table.Column<string>(type: "TEXT", nullable: false),
                    ReceivedAt = table.Column<long>(type: "INTEGER", nullable: false),
                    Sequence = table.Column<long>(type: "INTEGER", nullable: false)
                },
                constraints: table =>
                {
                    table.PrimaryKey("PK_Requests", x => x.Id);
                });

            migrationBuilder.CreateTable(
                name: "EventPayloads",
                columns: table => new
                {
                    Stream = table.Column<string>(type: "TEXT", nullable: false),
                    Sequence = table.Column<long>(type: "INTEGER", nullable: false),
                    Json = table.Column<string>(type: "TEXT", nullable: false)
                },
                constraints: table =>
                {
                    table.PrimaryKey("PK_EventPayloads", x => new { x.Stream, x.Sequence });
                    table.ForeignKey(
                        name: "FK_EventPayloads_EventHeaders_Stream_Sequence",
                        columns: x => new { x.Stream, x.Sequence },
                        principalTable: "EventHeaders",
                        principalColumns: new[] { "Stream", "Sequence" },
                        onDelete: ReferentialAction.Restrict);
                });

            migrationBuilder.CreateIndex(
                name: "IX_EventHeaders_Stream_Report_IndexInCommand",
                table: "EventHeaders",
                columns: new[] { "Stream", "Report", "IndexInCommand" },
                unique: true);

            migrationBuilder.CreateIndex(
                name: "IX_Requests_Bench_Sequence",
                table: "Requests",
                columns: new[] { "Bench", "Sequence" });

            // Added by hand: the log is append-only for every program that opens the file, not for this one alone.
            migrationBuilder.Sql(
                """
                CREATE TRIGGER "EventHeaders_NoUpdate" BEFORE UPDATE ON "EventHeaders"
                BEGIN SELECT RAISE(ABORT, 'a row of the log is never changed'); END;
                """);
            migrationBuilder.Sql(
                """
                CREATE TRIGGER "EventHeaders_NoDelete" BEFORE DELETE ON "EventHeaders"
                BEGIN SELECT RAISE(ABORT, 'a row of the log is never deleted'); END;
                """);
            migrationBuilder.Sql(
                """
                CREATE TRIGGER "EventHeaders_InOrder" BEFORE INSERT ON "EventHeaders"
                WHEN NEW."Sequence" IS NOT (SELECT COALESCE(MAX("Sequence"), 0) + 1 FROM "EventHeaders" WHERE "Stream" = NEW."Stream")
                BEGIN SELECT RAISE(ABORT, 'a row of the log follows the last one'); END;
                """);
            migrationBuilder.Sql(
                """
                CREATE TRIGGER "EventPayloads_NoUpdate" BEFORE UPDATE ON "EventPayloads"
                BEGIN SELECT RAISE(ABORT, 'a payload of the log is never changed'); END;
                """);
            migrationBuilder.Sql(
                """
                CREATE TRIGGER "EventPayloads_NoDelete" BEFORE DELETE ON "EventPayloads"
                BEGIN SELECT RAISE(ABORT, 'a payload of the log is erased by rule only'); END;
                """);
        }

        /// <inheritdoc />
        protected override void Down(MigrationBuilder migrationBuilder)
        {
            migrationBuilder.DropTable(
                name: "Assays");

            migrationBuilder.DropTable(
                name: "Benches");

            migrationBuilder.DropTable(
                name: "Clinic");

            migrationBuilder.DropTable(
                name: "EventPayloads");

            migrationBuilder.DropTable(
                name: "Lots");

            migrationBuilder.DropTable(
                name: "Projections");

            migrationBuilder.DropTable(
                name: "Requests");

            migrationBuilder.DropTable(
                name: "EventHeaders");
        }
    }
}
