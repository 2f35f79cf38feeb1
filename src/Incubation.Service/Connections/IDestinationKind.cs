using Incubation.Clinic.Connections;

namespace Incubation.Service.Connections;

/// <summary>A kind of destination: how messages reach it. One class each.</summary>
public interface IDestinationKind
{
    /// <summary>Whether a destination is of this kind.</summary>
    bool Is(DestinationWay way);

    /// <summary>
    /// Opens a way to a destination as it is set now. It is closed when the destination is another, and when the server
    /// stops.
    /// </summary>
    IDestinationWay Open(Connection connection);
}

/// <summary>A way to one destination. May be used from any thread.</summary>
public interface IDestinationWay : IDisposable
{
    /// <summary>
    /// Sends a message once, within a bounded time, and says what came of it. Throws nothing but
    /// <see cref="OperationCanceledException"/>, where the server stops.
    /// </summary>
    Task<DeliveryOutcome> SendAsync(OutgoingMessage message, CancellationToken stopping);
}
