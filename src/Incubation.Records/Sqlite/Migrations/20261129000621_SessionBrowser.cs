using Microsoft.EntityFrameworkCore.Migrations;

#nullable disable

namespace Incubation.Records.Sqlite.Migrations
{
    /// <inheritdoc />
    public partial class SessionBrowser : Migration
    {
        /// <inheritdoc />
        protected override void Up(MigrationBuilder migrationBuilder)
        {
            migrationBuilder.AddColumn<string>(
                name: "Browser",
                table: "Sessions",
                type: "TEXT",
                nullable: true);
        }

        /// <inheritdoc />
        protected override void Down(MigrationBuilder migrationBuilder)
        {
            migrationBuilder.DropColumn(
                name: "Browser",
                table: "Sessions");
        }
    }
}
