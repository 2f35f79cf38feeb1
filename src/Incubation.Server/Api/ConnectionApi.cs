using Incubation.Clinic.Connections;
using Incubation.Clinic.People;
using Incubation.Model;
using Incubation.Server.Doors;
using Incubation.Service.Connections;
using NodaTime;

namespace Incubation.Server.Api;

/// <summary>A destination and how it is.</summary>
/// <param name="Id">Names it in the log.</param>
/// <param name="Name">The name that people read.</param>
/// <param name="Topics">What it is told of: "results", "alarms".</param>
/// <param name="State">"sending", "failing" or "off".</param>
/// <param name="Sentence">What came of the last try where it failed, or why it is off; else null.</param>
/// <param name="Waiting">How many messages wait, as far as they are counted.</param>
/// <param name="Parked">How many it refused for good.</param>
/// <param name="FailingSince">Since when every try has failed; null where the last was taken.</param>
/// <param name="LastTaken">When it took a message last; null where it never did.</param>
public sealed record ConnectionOut(string Id, string Name, IReadOnlyList<string> Topics, string State,
    string? Sentence, int Waiting, int Parked, Instant? FailingSince, Instant? LastTaken);

/// <summary>Destinations for programs that watch them.</summary>
public static class ConnectionApi
{
    /// <summary>Adds its address.</summary>
    public static void MapConnectionApi(this IEndpointRouteBuilder app) =>
        app.MapGet("/api/v1/connections", List).WithTags("Connections").WithName("connections")
            .RequireRateLimiting(Limits.Usual).WithMetadata(new NeedsAttribute(Right.ReadEvents))
            .WithSummary("Destinations of messages, and how they are")
            .WithDescription("Those in use, in the order in which they were added. Addresses and secrets are not in "
                + "it, nor what the messages are about.");

    private static IReadOnlyList<ConnectionOut> List(ConnectionService desk) => [.. desk.InUse.Select(one =>
        Of(one, desk.FiguresOf(one.Id), desk.LastOf(one.Id)))];

    private static ConnectionOut Of(Connection one, DestinationFigures figures, Delivery? last) => new(one.Id.Value,
        one.Destination.Name, [.. one.Destination.Topics.Select(topic => KebabCase.Of(topic))],
        one.WhyOff is not null ? "off" : figures.FailingSince is not null ? "failing" : "sending",
        one.WhyOff ?? figures.Trouble, figures.Waiting, figures.ParkedCount, figures.FailingSince, last?.LastTry);
}
