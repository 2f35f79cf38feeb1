using Microsoft.EntityFrameworkCore.Migrations;

#nullable disable

namespace Incubation.Records.Sqlite.Migrations
{
    /// <inheritdoc />
    public partial class Uses : Migration
    {
        /// <inheritdoc />
        protected override void Up(MigrationBuilder migrationBuilder)
        {
            migrationBuilder.CreateTable(
                name: "Uses",
                columns: table => new
                {
                    Bench = table.Column<string>(type: "TEXT", nullable: false),
                    Report = table.Column<string>(type: "TEXT", nullable: false),
                    Request = table.Column<string>(type: "TEXT", nullable: false),
                    At = table.Column<long>(type: "INTEGER", nullable: false)
                },
                constraints: table =>
                {
                    table.PrimaryKey("PK_Uses", x => new { x.Bench, x.Report });
                });

            migrationBuilder.CreateIndex(
                name: "IX_Requests_Lot",
                table: "Requests",
                column: "Lot");

            migrationBuilder.CreateIndex(
                name: "IX_Uses_Request",
                table: "Uses",
                column: "Request");
        }

        /// <inheritdoc />
        protected override void Down(MigrationBuilder migrationBuilder)
        {
            migrationBuilder.DropTable(
                name: "Uses");

            migrationBuilder.DropIndex(
                name: "IX_Requests_Lot",
                table: "Requests");
        }
    }
}
