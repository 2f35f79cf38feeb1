using Microsoft.EntityFrameworkCore.Migrations;

#nullable disable

namespace Incubation.Records.Sqlite.Migrations
{
    /// <inheritdoc />
    public partial class WireMessages : Migration
    {
        /// <inheritdoc />
        protected override void Up(MigrationBuilder migrationBuilder)
        {
            migrationBuilder.CreateTable(
                name: "WireMessages",
                columns: table => new
                {
                    Number = table.Column<long>(type: "INTEGER", nullable: false),
                    Bytes = table.Column<byte[]>(type: "BLOB", nullable: false)
                },
                constraints: table =>
                {
                    table.PrimaryKey("PK_WireMessages", x => x.Number);
                });

            migrationBuilder.CreateTable(
                name: "WirePieces",
                columns: table => new
                {
                    Arrival = table.Column<string>(type: "TEXT", nullable: false),
                    Piece = table.Column<int>(type: "INTEGER", nullable: false),
                    Instrument = table.Column<string>(type: "TEXT", nullable: false),
                    At = table.Column<long>(type: "INTEGER", nullable: false),
                    Bytes = table.Column<byte[]>(type: "BLOB", nullable: false)
                },
                constraints: table =>
                {
                    table.PrimaryKey("PK_WirePieces", x => new { x.Arrival, x.Piece });
                });
        }

        /// <inheritdoc />
        protected override void Down(MigrationBuilder migrationBuilder)
        {
            migrationBuilder.DropTable(
                name: "WireMessages");

            migrationBuilder.DropTable(
                name: "WirePieces");
        }
    }
}
