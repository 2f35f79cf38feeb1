using Microsoft.EntityFrameworkCore.Migrations;

#nullable disable

namespace Incubation.Records.Sqlite.Migrations
{
    /// <inheritdoc />
    public partial class CartridgeIndex : Migration
    {
        /// <inheritdoc />
        protected override void Up(MigrationBuilder migrationBuilder)
        {
            migrationBuilder.DropIndex(
                name: "IX_Cartridges_At",
                table: "Cartridges");

            migrationBuilder.CreateIndex(
                name: "IX_Cartridges_At_Bench_Specimen_Lot_Assay_Standing_Batch_Request",
                table: "Cartridges",
                columns: new[] { "At", "Bench", "Specimen", "Lot", "Assay", "Standing", "Batch", "Request" });
        }

        /// <inheritdoc />
        protected override void Down(MigrationBuilder migrationBuilder)
        {
            migrationBuilder.DropIndex(
                name: "IX_Cartridges_At_Bench_Specimen_Lot_Assay_Standing_Batch_Request",
                table: "Cartridges");

            migrationBuilder.CreateIndex(
                name: "IX_Cartridges_At",
                table: "Cartridges",
                column: "At");
        }
    }
}
