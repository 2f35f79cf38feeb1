using Incubation.Service.Benches;
using Microsoft.AspNetCore.SignalR;

namespace Incubation.Server.Hubs;

/// <summary>Counts the screens connected to the benches' hub.</summary>
internal sealed class ClientCount : IHubFilter
{
    public async Task OnConnectedAsync(HubLifetimeContext context, Func<HubLifetimeContext, Task> next)
    {
        BenchMeter.Clients.Add(1);
        await next(context);
    }

    public async Task OnDisconnectedAsync(HubLifetimeContext context, Exception? exception,
        Func<HubLifetimeContext, Exception?, Task> next)
    {
        BenchMeter.Clients.Add(-1);
        await next(context, exception);
    }
}
