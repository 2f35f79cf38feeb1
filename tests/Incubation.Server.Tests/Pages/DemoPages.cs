using Bunit;
using Incubation.Server.Doors;
using Microsoft.AspNetCore.Components;
using Microsoft.Extensions.DependencyInjection;

namespace Incubation.Server.Tests.Pages;

/// <summary>Pages on the demo's clinic without a browser: the server's own services, somebody in front.</summary>
public abstract class DemoPages : BunitContext
{
    private protected DemoPages() => Services.AddSingleton<ICurrentActor>(Front);

    private protected ServerFactory Server { get; } = new();

    private protected AideInFront Front { get; } = new();

    protected override async ValueTask DisposeAsyncCore()
    {
        await base.DisposeAsyncCore();
        await Server.DisposeAsync();
    }

    /// <summary>Says that pages are in use, once they have all their services.</summary>
    private protected void Begin() => SetRendererInfo(new RendererInfo("Server", isInteractive: true));

    /// <summary>Gives the pages a service of the server.</summary>
    private protected T Share<T>()
        where T : class
    {
        var shared = Server.Services.GetRequiredService<T>();
        Services.AddSingleton(shared);
        return shared;
    }
}
