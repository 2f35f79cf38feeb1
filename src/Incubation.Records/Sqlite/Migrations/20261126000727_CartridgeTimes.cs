using Microsoft.EntityFrameworkCore.Migrations;

#nullable disable

namespace Incubation.Records.Sqlite.Migrations
{
    /// <inheritdoc />
    public partial class CartridgeTimes : Migration
    {
        /// <inheritdoc />
        protected override void Up(MigrationBuilder migrationBuilder)
        {
            migrationBuilder.AddColumn<int>(
                name: "Hands",
                table: "Batches",
                type: "INTEGER",
                nullable: true);

            migrationBuilder.AddColumn<long>(
                name: "HandsBusy",
                table: "Batches",
                type: "INTEGER",
                nullable: true);

            migrationBuilder.AddColumn<int>(
                name: "PlannedCartridges",
                table: "Batches",
                type: "INTEGER",
                nullable: true);

            migrationBuilder.AddColumn<long>(
                name: "PlannedEnd",
                table: "Batches",
                type: "INTEGER",
                nullable: true);

            migrationBuilder.AddColumn<int>(
                name: "Readers",
                table: "Batches",
                type: "INTEGER",
                nullable: true);

            migrationBuilder.AddColumn<long>(
                name: "ReadersBusy",
                table: "Batches",
                type: "INTEGER",
                nullable: true);

            migrationBuilder.AddColumn<int>(
                name: "Slots",
                table: "Batches",
                type: "INTEGER",
                nullable: true);

            migrationBuilder.AddColumn<long>(
                name: "SlotsBusy",
                table: "Batches",
                type: "INTEGER",
                nullable: true);

            migrationBuilder.AddColumn<int>(
                name: "Worked",
                table: "Batches",
                type: "INTEGER",
                nullable: true);

            migrationBuilder.AddColumn<long>(
                name: "WorkedTo",
                table: "Batches",
                type: "INTEGER",
                nullable: true);

            migrationBuilder.CreateTable(
                name: "CartridgeTimes",
                columns: table => new
                {
                    Bench = table.Column<string>(type: "TEXT", nullable: false),
                    Batch = table.Column<int>(type: "INTEGER", nullable: false),
                    Request = table.Column<string>(type: "TEXT", nullable: false),
                    Asked = table.Column<long>(type: "INTEGER", nullable: false),
                    Assay = table.Column<string>(type: "TEXT", nullable: false),
                    AssayVersion = table.Column<int>(type: "INTEGER", nullable: false),
                    Lot = table.Column<string>(type: "TEXT", nullable: false),
                    Kind = table.Column<int>(type: "INTEGER", nullable: false),
                    Priority = table.Column<int>(type: "INTEGER", nullable: false),
                    Standing = table.Column<int>(type: "INTEGER", nullable: false),
                    Reason = table.Column<int>(type: "INTEGER", nullable: true),
                    MixPlanned = table.Column<long>(type: "INTEGER", nullable: true),
                    MixBegun = table.Column<long>(type: "INTEGER", nullable: true),
                    MixEnd = table.Column<long>(type: "INTEGER", nullable: true),
                    LoadPlanned = table.Column<long>(type: "INTEGER", nullable: true),
                    LoadBegun = table.Column<long>(type: "INTEGER", nullable: true),
                    LoadEnd = table.Column<long>(type: "INTEGER", nullable: true),
                    MovePlanned = table.Column<long>(type: "INTEGER", nullable: true),
                    MoveBegun = table.Column<long>(type: "INTEGER", nullable: true),
                    MoveEnd = table.Column<long>(type: "INTEGER", nullable: true),
                    ClearPlanned = table.Column<long>(type: "INTEGER", nullable: true),
                    ClearBegun = table.Column<long>(type: "INTEGER", nullable: true),
                    ClearEnd = table.Column<long>(type: "INTEGER", nullable: true),
                    Opens = table.Column<long>(type: "INTEGER", nullable: true),
                    Closes = table.Column<long>(type: "INTEGER", nullable: true),
                    ReadStart = table.Column<long>(type: "INTEGER", nullable: true),
                    InWindow = table.Column<bool>(type: "INTEGER", nullable: true),
                    ResultAt = table.Column<long>(type: "INTEGER", nullable: true),
                    DiscardedAt = table.Column<long>(type: "INTEGER", nullable: true),
                    Spare = table.Column<long>(type: "INTEGER", nullable: true),
                    Slot = table.Column<int>(type: "INTEGER", nullable: true),
                    Reader = table.Column<int>(type: "INTEGER", nullable: true)
                },
                constraints: table =>
                {
                    table.PrimaryKey("PK_CartridgeTimes", x => new { x.Bench, x.Batch, x.Request });
                });

            migrationBuilder.CreateIndex(
                name: "IX_CartridgeTimes_Asked",
                table: "CartridgeTimes",
                column: "Asked");
        }

        /// <inheritdoc />
        protected override void Down(MigrationBuilder migrationBuilder)
        {
            migrationBuilder.DropTable(
                name: "CartridgeTimes");

            migrationBuilder.DropColumn(
                name: "Hands",
                table: "Batches");

            migrationBuilder.DropColumn(
                name: "HandsBusy",
                table: "Batches");

            migrationBuilder.DropColumn(
                name: "PlannedCartridges",
                table: "Batches");

            migrationBuilder.DropColumn(
                name: "PlannedEnd",
                table: "Batches");

            migrationBuilder.DropColumn(
                name: "Readers",
                table: "Batches");

            migrationBuilder.DropColumn(
                name: "ReadersBusy",
                table: "Batches");

            migrationBuilder.DropColumn(
                name: "Slots",
                table: "Batches");

            migrationBuilder.DropColumn(
                name: "SlotsBusy",
                table: "Batches");

            migrationBuilder.DropColumn(
                name: "Worked",
                table: "Batches");

            migrationBuilder.DropColumn(
                name: "WorkedTo",
                table: "Batches");
        }
    }
}
