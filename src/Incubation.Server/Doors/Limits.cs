using System.Globalization;
using System.Threading.RateLimiting;
using Incubation.Service.People;
using Microsoft.AspNetCore.RateLimiting;

namespace Incubation.Server.Doors;

/// <summary>
/// How often one caller may ask, in real time. Who is known has limits of their own: many may come from one address (a
/// clinic's, a proxy's), and a stranger there must not use up what they need.
/// </summary>
public static class Limits
{
    /// <summary>Name of the limit for whatever tries a secret.</summary>
    public const string SignIn = "sign-in";

    /// <summary>Name of the limit for programs and screens.</summary>
    public const string Usual = "usual";

    private const int SignInsAMinute = 30;
    private const int UsualBurst = 400;
    private const int UsualASecond = 50;
    private static readonly TimeSpan UsualWait = TimeSpan.FromSeconds(1);

    /// <summary>Lines that strangers of one address may hold open.</summary>
    private const int MaxLines = 300;

    /// <summary>Lines that one device, browser or program may hold open.</summary>
    public const int MaxLinesOfOne = 100;

    /// <summary>Sets the limits up.</summary>
    public static void Configure(RateLimiterOptions options)
    {
        ArgumentNullException.ThrowIfNull(options);
        options.RejectionStatusCode = StatusCodes.Status429TooManyRequests;
        options.OnRejected = async (rejected, cancellation) =>
        {
            var wait = rejected.Lease.TryGetMetadata(MetadataName.RetryAfter, out var known) ? known : UsualWait;
            rejected.HttpContext.Response.Headers.RetryAfter =
                Math.Max(1, (int)Math.Ceiling(wait.TotalSeconds)).ToString(CultureInfo.InvariantCulture);
            if (ApiFaults.IsForPrograms(rejected.HttpContext.Request.Path)
                || !HttpMethods.IsGet(rejected.HttpContext.Request.Method))
                await Results.Problem(statusCode: StatusCodes.Status429TooManyRequests, detail: Words.TooManyRequests)
                    .ExecuteAsync(rejected.HttpContext);
        };
        options.GlobalLimiter = PartitionedRateLimiter.Create<HttpContext, string>(context =>
            !ApiFaults.IsLine(context.Request.Path) ? RateLimitPartition.GetNoLimiter("")
            : Callers.Known(context) is { } known
                ? RateLimitPartition.GetConcurrencyLimiter(known, _ =>
                    new ConcurrencyLimiterOptions { PermitLimit = MaxLinesOfOne })
                : RateLimitPartition.GetConcurrencyLimiter(Addresses.Of(context), _ =>
                    new ConcurrencyLimiterOptions { PermitLimit = MaxLines }));
        // To look at a form costs nothing; to send it does.
        options.AddPolicy(SignIn, context => HttpMethods.IsGet(context.Request.Method)
            ? RateLimitPartition.GetNoLimiter("") : RateLimitPartition.GetFixedWindowLimiter(
            Callers.KnownBefore(context) ?? Addresses.Of(context), _ =>
                new FixedWindowRateLimiterOptions { PermitLimit = SignInsAMinute, Window = TimeSpan.FromMinutes(1) }));
        options.AddPolicy(Usual, context =>
            RateLimitPartition.GetTokenBucketLimiter(Callers.Known(context) ?? Addresses.Of(context),
                _ => OfUsual));
    }

    /// <summary>The usual limit for the calls on each open line.</summary>
    public static PartitionedRateLimiter<string> OfLines() =>
        PartitionedRateLimiter.Create<string, string>(line =>
            RateLimitPartition.GetTokenBucketLimiter(line, _ => OfUsual));

    private static TokenBucketRateLimiterOptions OfUsual => new()
    {
        TokenLimit = UsualBurst,
        TokensPerPeriod = UsualASecond,
        ReplenishmentPeriod = TimeSpan.FromSeconds(1),
    };
}

/// <summary>Whom limits are counted by, apart from the address.</summary>
internal static class Callers
{
    /// <summary>Who asks: a program, an enrolled device or a person; null for a stranger.</summary>
    public static string? Known(HttpContext context)
    {
        var services = context.RequestServices;
        var devices = services.GetRequiredService<DeviceService>();
        if (DoorHandler.BearerOf(context.Request) is { } bearer)
            return devices.KeyOf(bearer) is { } key ? "key " + key.Id : null;
        if (devices.DeviceOf(Cookies.DeviceOf(context.Request)) is { } device)
            return "device " + device.Id;
        return Cookies.SessionOf(context.Request) is { Length: > 0 } token
            && services.GetRequiredService<Sessions>().Find(Tokens.Hash(token)) is { } session
            ? "person " + session.Person : null;
    }

    /// <summary>
    /// Where somebody signs in: on an enrolled device, or in a browser that somebody is known in (counted by who that
    /// was last: a browser is easily had); null elsewhere.
    /// </summary>
    public static string? KnownBefore(HttpContext context)
    {
        var services = context.RequestServices;
        return services.GetRequiredService<DeviceService>().DeviceOf(Cookies.DeviceOf(context.Request)) is { } device
            ? "device " + device.Id
            : services.GetRequiredService<KnownBrowsers>().Of(context.Request) is { Persons: [var last, ..] }
            ? "browser of " + last : null;
    }
}

/// <summary>Network addresses of those who ask.</summary>
public static class Addresses
{
    /// <summary>
    /// The address that a request came from; of IPv6 the network, for one machine has many addresses in it.
    /// </summary>
    public static string Of(HttpContext context)
    {
        ArgumentNullException.ThrowIfNull(context);
        if (context.Connection.RemoteIpAddress is not { } address)
            return "local";
        if (address.IsIPv4MappedToIPv6)
            address = address.MapToIPv4();
        if (address.AddressFamily != System.Net.Sockets.AddressFamily.InterNetworkV6
            || System.Net.IPAddress.IsLoopback(address))
            return address.ToString();
        var bytes = address.GetAddressBytes();
        const int NetworkBytes = 8;
        Array.Clear(bytes, NetworkBytes, bytes.Length - NetworkBytes);
        return new System.Net.IPAddress(bytes) + "/64";
    }
}
