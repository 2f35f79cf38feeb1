using Microsoft.EntityFrameworkCore.Migrations;

#nullable disable

namespace Incubation.Records.Sqlite.Migrations
{
    /// <inheritdoc />
    public partial class Notices : Migration
    {
        /// <inheritdoc />
        protected override void Up(MigrationBuilder migrationBuilder)
        {
            migrationBuilder.CreateTable(
                name: "Deliveries",
                columns: table => new
                {
                    Destination = table.Column<string>(type: "TEXT", nullable: false),
                    Stream = table.Column<string>(type: "TEXT", nullable: false),
                    Sequence = table.Column<long>(type: "INTEGER", nullable: false),
                    Request = table.Column<string>(type: "TEXT", nullable: false),
                    Status = table.Column<string>(type: "TEXT", nullable: false),
                    Tries = table.Column<int>(type: "INTEGER", nullable: false),
                    NextTry = table.Column<long>(type: "INTEGER", nullable: false),
                    LastTry = table.Column<long>(type: "INTEGER", nullable: true),
                    Answer = table.Column<string>(type: "TEXT", nullable: true),
                    Seal = table.Column<byte[]>(type: "BLOB", nullable: true)
                },
                constraints: table =>
                {
                    table.PrimaryKey("PK_Deliveries", x => new { x.Destination, x.Stream, x.Sequence, x.Request });
                });

            migrationBuilder.CreateTable(
                name: "Notices",
                columns: table => new
                {
                    Stream = table.Column<string>(type: "TEXT", nullable: false),
                    Sequence = table.Column<long>(type: "INTEGER", nullable: false),
                    Request = table.Column<string>(type: "TEXT", nullable: false),
                    Kind = table.Column<string>(type: "TEXT", nullable: false),
                    Bench = table.Column<string>(type: "TEXT", nullable: false),
                    Batch = table.Column<int>(type: "INTEGER", nullable: false),
                    At = table.Column<long>(type: "INTEGER", nullable: false),
                    Number = table.Column<long>(type: "INTEGER", nullable: false),
                    Revision = table.Column<int>(type: "INTEGER", nullable: false),
                    Seal = table.Column<byte[]>(type: "BLOB", nullable: true)
                },
                constraints: table =>
                {
                    table.PrimaryKey("PK_Notices", x => new { x.Stream, x.Sequence, x.Request });
                });

            migrationBuilder.CreateIndex(
                name: "IX_Deliveries_Stream_Sequence",
                table: "Deliveries",
                columns: new[] { "Stream", "Sequence" });

            migrationBuilder.CreateIndex(
                name: "IX_Notices_Number",
                table: "Notices",
                column: "Number",
                unique: true);

            migrationBuilder.CreateIndex(
                name: "IX_Notices_Request",
                table: "Notices",
                column: "Request");
        }

        /// <inheritdoc />
        protected override void Down(MigrationBuilder migrationBuilder)
        {
            migrationBuilder.DropTable(
                name: "Deliveries");

            migrationBuilder.DropTable(
                name: "Notices");
        }
    }
}
