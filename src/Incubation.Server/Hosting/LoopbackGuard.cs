using System.Net;

namespace Incubation.Server.Hosting;

/// <summary>
/// Tells addresses that only this machine can reach from all others. One that cannot be shown to be this machine's own
/// counts as open.
/// </summary>
public static class LoopbackGuard
{
    /// <summary>Where the server listens when nothing else is said.</summary>
    public const string DefaultUrl = "http://127.0.0.1:5080";

    /// <summary>The addresses that the configuration asks for, from every place where hosts look for them.</summary>
    public static IReadOnlyList<string> AddressesOf(IConfiguration configuration)
    {
        var endpoints = configuration.GetSection("Kestrel:Endpoints").GetChildren()
            .Select(endpoint => endpoint["Url"] ?? "http://*").ToList();
        if (endpoints.Count > 0)
            return endpoints;
        var urls = SplitList(configuration["urls"]).ToList();
        if (urls.Count > 0)
            return urls;
        var ports = SplitList(configuration["http_ports"]).Select(port => "http://*:" + port)
            .Concat(SplitList(configuration["https_ports"]).Select(port => "https://*:" + port)).ToList();
        return ports.Count > 0 ? ports : [DefaultUrl];
    }

    /// <summary>Whether only this machine can reach an address.</summary>
    public static bool IsThisMachineOnly(string address)
    {
        try
        {
            var binding = BindingAddress.Parse(address);
            if (binding.IsUnixPipe)
                return true;
            if (string.Equals(binding.Host, "localhost", StringComparison.OrdinalIgnoreCase))
                return true;
            return IPAddress.TryParse(binding.Host.Trim('[', ']'), out var ip) && IPAddress.IsLoopback(ip);
        }
        catch (FormatException)
        {
            return false;
        }
    }

    private static string[] SplitList(string? text) =>
        (text ?? "").Split(';', StringSplitOptions.RemoveEmptyEntries | StringSplitOptions.TrimEntries);
}
