using System.Net;
using Incubation.Service.Text;

namespace Incubation.Server.Hosting;

/// <summary>
/// Asks the server that runs with the same settings whether it can do its work: for a container's health check, whose
/// image has no other program that could ask.
/// </summary>
internal static class HealthQuestion
{
    private const int Healthy = 0;
    private const int NotHealthy = 1;

    private static readonly TimeSpan Patience = TimeSpan.FromSeconds(8);

    /// <summary>0 where it can, else 1; its own words, or why there are none, are written out.</summary>
    public static async Task<int> AskAsync(IConfiguration configuration, TextWriter output, TextWriter errors)
    {
        var address = AddressOf(LoopbackGuard.AddressesOf(configuration)[0]);
        // The certificate names the server for others; this machine's own loopback needs no name.
        using var handler = new HttpClientHandler
        {
            UseProxy = false,
            ServerCertificateCustomValidationCallback = (request, _, _, _) => request.RequestUri!.IsLoopback,
        };
        using var client = new HttpClient(handler) { Timeout = Patience };
        using var question = new HttpRequestMessage(HttpMethod.Get, new Uri(address, ServiceHealth.ReadyPath));
        if (configuration["AllowedHosts"]?.Split(';', StringSplitOptions.TrimEntries)[0] is { Length: > 0 } name
            && !name.Contains('*', StringComparison.Ordinal))
            question.Headers.Host = name;
        try
        {
            using var answer = await client.SendAsync(question);
            await output.WriteLineAsync(await answer.Content.ReadAsStringAsync());
            return answer.StatusCode == HttpStatusCode.OK ? Healthy : NotHealthy;
        }
        catch (Exception fault) when (fault is HttpRequestException or OperationCanceledException)
        {
            await errors.WriteLineAsync(Say.Of(HostWords.HealthNoAnswer, address, fault.Message));
            return NotHealthy;
        }
    }

    /// <summary>
    /// Where this machine reaches what listens at <paramref name="binding"/>: every address is its own too.
    /// </summary>
    internal static Uri AddressOf(string binding)
    {
        var at = BindingAddress.Parse(binding);
        var host = at.Host is "*" or "+" or "0.0.0.0" or "[::]" ? "127.0.0.1" : at.Host;
        return new Uri($"{at.Scheme}://{host}:{at.Port}");
    }
}
