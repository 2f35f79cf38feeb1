using System.Net;
using System.Net.Sockets;
using Incubation.Clinic.People;

namespace Incubation.Hostile;

/// <summary>One kind of caller and what it sends along.</summary>
internal sealed record Caller(string Name, string? Cookie, string? Key);

/// <summary>Everybody who could say something to a server.</summary>
internal static class Callers
{
    /// <summary>Name of the one who may see every page.</summary>
    public const string Administrator = "administrator";

    /// <summary>Name of the one who may do everything at a bench.</summary>
    public const string Supervisor = "supervisor";

    /// <summary>Name of the one who reports steps.</summary>
    public const string Aide = "aide";

    /// <summary>Name of the one who reads, and may send nothing.</summary>
    public const string Inspector = "inspector";

    private const int Places = 40;

    /// <summary>Everybody, enrolled and signed in at a clinic that does not run yet.</summary>
    public static IReadOnlyList<Caller> Of(House house) =>
    [
        new("stranger", null, null),
        new("invented cookie", "incubation=AAAA; incubation-device=device-1.AAAA", null),
        new("invented key", null, "key-1.invented"),
        new("wall", house.CookieOf(DeviceKind.Wall, null), null),
        new("locked tablet", house.CookieOf(DeviceKind.Tablet, "bench-1"), null),
        new(Aide, house.CookieOf("lena"), null),
        new(Supervisor, house.CookieOf("ines"), null),
        new(Administrator, house.CookieOf("mara"), null),
        new(Inspector, house.CookieOf("ada"), null),
        .. Enum.GetValues<KeyScope>().Select(scope => new Caller("key: " + scope, null, house.KeyFor(null, scope))),
    ];

    /// <summary>Clients of one server, each from an address of this machine of its own.</summary>
    /// <param name="server">The server.</param>
    /// <param name="patience">How long each waits for an answer.</param>
    /// <param name="cookies">Whether they keep cookies, as browsers do.</param>
    public static IReadOnlyList<HttpClient> Clients(Uri server, TimeSpan patience, bool cookies = false) =>
    [
        .. Enumerable.Range(2, Places).Select(place => new HttpClient(new SocketsHttpHandler
        {
            AllowAutoRedirect = false,
            UseCookies = cookies,
            ConnectCallback = async (context, cancel) =>
            {
                var socket = new Socket(AddressFamily.InterNetwork, SocketType.Stream, ProtocolType.Tcp)
                {
                    NoDelay = true,
                };
                socket.Bind(new IPEndPoint(new IPAddress([127, 0, 1, (byte)place]), 0));
                await socket.ConnectAsync(IPAddress.Loopback, context.DnsEndPoint.Port, cancel);
                return new NetworkStream(socket, ownsSocket: true);
            },
        })
        { BaseAddress = server, Timeout = patience }),
    ];

    /// <summary>A request as a caller sends it.</summary>
    public static HttpRequestMessage Request(Caller caller, HttpMethod method, string path, string? json = null)
    {
        var request = new HttpRequestMessage(method, path);
        if (caller.Cookie is { } cookie)
            request.Headers.Add("Cookie", cookie);
        if (caller.Key is { } key)
            request.Headers.TryAddWithoutValidation("Authorization", "Bearer " + key);
        if (json is not null)
            request.Content = new StringContent(json, System.Text.Encoding.UTF8, "application/json");
        return request;
    }
}
