using Microsoft.EntityFrameworkCore.Migrations;

#nullable disable

namespace Incubation.Records.Sqlite.Migrations
{
    /// <inheritdoc />
    public partial class SignedRecord : Migration
    {
        /// <inheritdoc />
        protected override void Up(MigrationBuilder migrationBuilder)
        {
            migrationBuilder.CreateTable(
                name: "Batches",
                columns: table => new
                {
                    Bench = table.Column<string>(type: "TEXT", nullable: false),
                    Number = table.Column<int>(type: "INTEGER", nullable: false),
                    First = table.Column<long>(type: "INTEGER", nullable: false),
                    Last = table.Column<long>(type: "INTEGER", nullable: true),
                    StartedAt = table.Column<long>(type: "INTEGER", nullable: true),
                    ClosedAt = table.Column<long>(type: "INTEGER", nullable: true),
                    Cartridges = table.Column<int>(type: "INTEGER", nullable: false),
                    Before = table.Column<string>(type: "TEXT", nullable: true)
                },
                constraints: table =>
                {
                    table.PrimaryKey("PK_Batches", x => new { x.Bench, x.Number });
                });

            migrationBuilder.CreateTable(
                name: "Cartridges",
                columns: table => new
                {
                    Bench = table.Column<string>(type: "TEXT", nullable: false),
                    Batch = table.Column<int>(type: "INTEGER", nullable: false),
                    Request = table.Column<string>(type: "TEXT", nullable: false),
                    Specimen = table.Column<string>(type: "TEXT", nullable: false, collation: "NOCASE"),
                    Assay = table.Column<string>(type: "TEXT", nullable: false),
                    Lot = table.Column<string>(type: "TEXT", nullable: false, collation: "NOCASE"),
                    At = table.Column<long>(type: "INTEGER", nullable: false),
                    Standing = table.Column<string>(type: "TEXT", nullable: false),
                    Json = table.Column<string>(type: "TEXT", nullable: false)
                },
                constraints: table =>
                {
                    table.PrimaryKey("PK_Cartridges", x => new { x.Bench, x.Batch, x.Request });
                });

            migrationBuilder.CreateTable(
                name: "Erasures",
                columns: table => new
                {
                    Stream = table.Column<string>(type: "TEXT", nullable: false),
                    First = table.Column<long>(type: "INTEGER", nullable: false),
                    Last = table.Column<long>(type: "INTEGER", nullable: false),
                    Event = table.Column<long>(type: "INTEGER", nullable: false)
                },
                constraints: table =>
                {
                    table.PrimaryKey("PK_Erasures", x => new { x.Stream, x.First });
                });

            migrationBuilder.CreateTable(
                name: "Heads",
                columns: table => new
                {
                    Stream = table.Column<string>(type: "TEXT", nullable: false),
                    Sequence = table.Column<long>(type: "INTEGER", nullable: false),
                    Hash = table.Column<byte[]>(type: "BLOB", nullable: false),
                    Signature = table.Column<byte[]>(type: "BLOB", nullable: false)
                },
                constraints: table =>
                {
                    table.PrimaryKey("PK_Heads", x => x.Stream);
                });

            migrationBuilder.CreateTable(
                name: "StreamLists",
                columns: table => new
                {
                    Id = table.Column<int>(type: "INTEGER", nullable: false),
                    Key = table.Column<string>(type: "TEXT", nullable: false),
                    Streams = table.Column<string>(type: "TEXT", nullable: false),
                    Signature = table.Column<byte[]>(type: "BLOB", nullable: false)
                },
                constraints: table =>
                {
                    table.PrimaryKey("PK_StreamLists", x => x.Id);
                });

            migrationBuilder.CreateIndex(
                name: "IX_Cartridges_At",
                table: "Cartridges",
                column: "At");

            migrationBuilder.CreateIndex(
                name: "IX_Cartridges_Lot_At",
                table: "Cartridges",
                columns: new[] { "Lot", "At" });

            migrationBuilder.CreateIndex(
                name: "IX_Cartridges_Specimen",
                table: "Cartridges",
                column: "Specimen");

            // Added by hand: a payload is erased by rule only, and the rule is a row that names it.
            migrationBuilder.Sql("DROP TRIGGER \"EventPayloads_NoDelete\";");
            migrationBuilder.Sql(
                """
                CREATE TRIGGER "EventPayloads_NoDelete" BEFORE DELETE ON "EventPayloads"
                WHEN NOT EXISTS (SELECT 1 FROM "Erasures" WHERE "Stream" = OLD."Stream" AND OLD."Sequence" BETWEEN "First" AND "Last")
                BEGIN SELECT RAISE(ABORT, 'a payload of the log is erased by rule only'); END;
                """);
        }

        /// <inheritdoc />
        protected override void Down(MigrationBuilder migrationBuilder)
        {
            migrationBuilder.DropTable(
                name: "Batches");

            migrationBuilder.DropTable(
                name: "Cartridges");

            migrationBuilder.DropTable(
                name: "Erasures");

            migrationBuilder.DropTable(
                name: "Heads");

            migrationBuilder.DropTable(
                name: "StreamLists");
        }
    }
}
