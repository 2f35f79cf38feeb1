using Microsoft.EntityFrameworkCore.Migrations;

#nullable disable

namespace Incubation.Records.Sqlite.Migrations
{
    /// <inheritdoc />
    public partial class Seals : Migration
    {
        /// <inheritdoc />
        protected override void Up(MigrationBuilder migrationBuilder)
        {
            migrationBuilder.AddColumn<long>(
                name: "Begun",
                table: "Sessions",
                type: "INTEGER",
                nullable: false,
                defaultValue: 0L);

            migrationBuilder.AddColumn<byte[]>(
                name: "Seal",
                table: "Sessions",
                type: "BLOB",
                nullable: true);

            migrationBuilder.AddColumn<byte[]>(
                name: "Seal",
                table: "Secrets",
                type: "BLOB",
                nullable: true);

            migrationBuilder.AddColumn<long>(
                name: "SetBy",
                table: "Secrets",
                type: "INTEGER",
                nullable: false,
                defaultValue: 0L);
        }

        /// <inheritdoc />
        protected override void Down(MigrationBuilder migrationBuilder)
        {
            migrationBuilder.DropColumn(
                name: "Begun",
                table: "Sessions");

            migrationBuilder.DropColumn(
                name: "Seal",
                table: "Sessions");

            migrationBuilder.DropColumn(
                name: "Seal",
                table: "Secrets");

            migrationBuilder.DropColumn(
                name: "SetBy",
                table: "Secrets");
        }
    }
}
