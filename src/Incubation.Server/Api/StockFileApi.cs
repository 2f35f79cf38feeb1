using Incubation.Server.Doors;
using Incubation.Service.Record;
using Incubation.Service.Stock;

namespace Incubation.Server.Api;

/// <summary>Lots and reorder points as files.</summary>
internal static class StockFileApi
{
    /// <summary>Adds the addresses from which their page saves them.</summary>
    public static void MapStockFiles(this IEndpointRouteBuilder app)
    {
        ProgrammeFileApi.Map(app, "/stock.csv", (HttpContext context, StockFiles desk, Actors actors,
            AccessLog looks) => ProgrammeFileApi.File(context, actors, looks, "stock.csv", desk.Lots()));
        ProgrammeFileApi.Map(app, "/stock/reorder.csv", (HttpContext context, StockFiles desk, Actors actors,
            AccessLog looks) => ProgrammeFileApi.File(context, actors, looks, "stock/reorder.csv",
                desk.ReorderPoints()));
    }
}
