using Microsoft.EntityFrameworkCore.Migrations;

#nullable disable

namespace Incubation.Records.Sqlite.Migrations
{
    /// <inheritdoc />
    public partial class Sheets : Migration
    {
        /// <inheritdoc />
        protected override void Up(MigrationBuilder migrationBuilder)
        {
            migrationBuilder.DropColumn(
                name: "Clear",
                table: "Assays");

            migrationBuilder.DropColumn(
                name: "Incubation",
                table: "Assays");

            migrationBuilder.DropColumn(
                name: "Load",
                table: "Assays");

            migrationBuilder.DropColumn(
                name: "LoadShortest",
                table: "Assays");

            migrationBuilder.DropColumn(
                name: "Mix",
                table: "Assays");

            migrationBuilder.DropColumn(
                name: "MixShortest",
                table: "Assays");

            migrationBuilder.DropColumn(
                name: "MixToLoad",
                table: "Assays");

            migrationBuilder.DropColumn(
                name: "Move",
                table: "Assays");

            migrationBuilder.DropColumn(
                name: "Name",
                table: "Assays");

            migrationBuilder.DropColumn(
                name: "Place",
                table: "Assays");

            migrationBuilder.DropColumn(
                name: "Read",
                table: "Assays");

            migrationBuilder.DropColumn(
                name: "ReadWindow",
                table: "Assays");

            migrationBuilder.RenameColumn(
                name: "Unit",
                table: "Assays",
                newName: "Sheet");

            migrationBuilder.AddColumn<string>(
                name: "Particulars",
                table: "Requests",
                type: "TEXT",
                nullable: true);
        }

        /// <inheritdoc />
        protected override void Down(MigrationBuilder migrationBuilder)
        {
            migrationBuilder.DropColumn(
                name: "Particulars",
                table: "Requests");

            migrationBuilder.RenameColumn(
                name: "Sheet",
                table: "Assays",
                newName: "Unit");

            migrationBuilder.AddColumn<long>(
                name: "Clear",
                table: "Assays",
                type: "INTEGER",
                nullable: false,
                defaultValue: 0L);

            migrationBuilder.AddColumn<long>(
                name: "Incubation",
                table: "Assays",
                type: "INTEGER",
                nullable: false,
                defaultValue: 0L);

            migrationBuilder.AddColumn<long>(
                name: "Load",
                table: "Assays",
                type: "INTEGER",
                nullable: false,
                defaultValue: 0L);

            migrationBuilder.AddColumn<long>(
                name: "LoadShortest",
                table: "Assays",
                type: "INTEGER",
                nullable: false,
                defaultValue: 0L);

            migrationBuilder.AddColumn<long>(
                name: "Mix",
                table: "Assays",
                type: "INTEGER",
                nullable: false,
                defaultValue: 0L);

            migrationBuilder.AddColumn<long>(
                name: "MixShortest",
                table: "Assays",
                type: "INTEGER",
                nullable: false,
                defaultValue: 0L);

            migrationBuilder.AddColumn<long>(
                name: "MixToLoad",
                table: "Assays",
                type: "INTEGER",
                nullable: false,
                defaultValue: 0L);

            migrationBuilder.AddColumn<long>(
                name: "Move",
                table: "Assays",
                type: "INTEGER",
                nullable: false,
                defaultValue: 0L);

            migrationBuilder.AddColumn<string>(
                name: "Name",
                table: "Assays",
                type: "TEXT",
                nullable: false,
                defaultValue: "");

            migrationBuilder.AddColumn<string>(
                name: "Place",
                table: "Assays",
                type: "TEXT",
                nullable: false,
                defaultValue: "");

            migrationBuilder.AddColumn<long>(
                name: "Read",
                table: "Assays",
                type: "INTEGER",
                nullable: false,
                defaultValue: 0L);

            migrationBuilder.AddColumn<long>(
                name: "ReadWindow",
                table: "Assays",
                type: "INTEGER",
                nullable: false,
                defaultValue: 0L);
        }
    }
}
