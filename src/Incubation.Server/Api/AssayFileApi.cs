using System.Text;
using Incubation.Clinic.People;
using Incubation.Model;
using Incubation.Server.Doors;
using Incubation.Service.Assays;

namespace Incubation.Server.Api;

/// <summary>The catalogue of assays as a file.</summary>
internal static class AssayFileApi
{
    /// <summary>Adds the address from which the office page saves it.</summary>
    public static void MapAssayFile(this IEndpointRouteBuilder app) =>
        app.MapGet("/assays.json", (AssayService desk, string? code) => code is null
            ? Results.File(Encoding.UTF8.GetBytes(desk.Export()), "application/json", "assays.json")
            : TextId.IsValid(code) && desk.Assays.Latest(new AssayCode(code)) is not null
            ? Results.File(Encoding.UTF8.GetBytes(desk.Export(new AssayCode(code))), "application/json",
                $"assay-{code}.json")
            : Results.NotFound())
            .WithMetadata(new NeedsAttribute(Right.SeeReports)).ExcludeFromDescription();
}
