using System.Collections.Concurrent;
using System.Security.Cryptography.X509Certificates;
using Incubation.Clinic.Connections;
using Incubation.Model;
using NodaTime;

namespace Incubation.Service.Connections;

/// <summary>
/// When the certificates of destinations end, as each was shown last when it was connected to, also where it was not
/// accepted. Nothing of it is kept over a restart: the next message shows it again. May be used from any thread.
/// </summary>
public sealed class CertificateEnds
{
    /// <summary>
    /// Of a certificate with less than this left people are told. Common practice: what is renewed by itself is renewed
    /// before, and what a person renews takes days.
    /// </summary>
    public static readonly Duration Soon = Duration.FromDays(14);

    private readonly ConcurrentDictionary<(DestinationId, string), Instant> known = [];

    /// <summary>When the certificate of a destination ends; null where none was seen at its address.</summary>
    public Instant? Of(Connection connection)
    {
        ArgumentNullException.ThrowIfNull(connection);
        return AddressOf(connection) is { } address && known.TryGetValue((connection.Id, address), out var end)
            ? end : null;
    }

    /// <summary>Those that end soon, or have ended, the first to end first.</summary>
    /// <param name="inUse">The destinations in use.</param>
    /// <param name="now">The present.</param>
    public IReadOnlyList<(Connection Connection, Instant End)> Soonest(IEnumerable<Connection> inUse, Instant now) =>
        [.. inUse.Select(one => (Connection: one, End: Of(one))).Where(one => one.End - now < Soon)
            .Select(one => (one.Connection, one.End!.Value)).OrderBy(one => one.Value)];

    /// <summary>Whether a destination is spoken to over TLS, so that it shows a certificate.</summary>
    public static bool Has(Connection connection) => AddressOf(connection) is not null;

    /// <summary>A destination has shown its certificate.</summary>
    internal void Note(Connection connection, X509Certificate2 certificate)
    {
        if (AddressOf(connection) is { } address)
            known[(connection.Id, address)] = Instant.FromDateTimeUtc(certificate.NotAfter.ToUniversalTime());
    }

    private static string? AddressOf(Connection connection) =>
        connection.Destination.Way is DestinationWay.Webhook { Address: var address }
            && address.StartsWith(Uri.UriSchemeHttps + ":", StringComparison.OrdinalIgnoreCase) ? address : null;
}
