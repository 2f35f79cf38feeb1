using Xunit;

namespace Incubation.Browser.Tests;

/// <summary>One server for all tests of a class: for tests that do not see what the others do there.</summary>
public abstract class OneServer : IAsyncLifetime
{
    private readonly Func<CancellationToken, Task<ServerProcess>> start;
    private readonly Func<ServerProcess, CancellationToken, Task> begin;
    private ServerProcess? server;

    /// <param name="start">Starts it.</param>
    /// <param name="begin">What is done there before the first test.</param>
    internal OneServer(Func<CancellationToken, Task<ServerProcess>> start,
        Func<ServerProcess, CancellationToken, Task>? begin = null)
    {
        this.start = start;
        this.begin = begin ?? ((_, _) => Task.CompletedTask);
    }

    internal ServerProcess Server => server!;

    /// <inheritdoc/>
    public async ValueTask InitializeAsync()
    {
        var cancel = TestContext.Current.CancellationToken;
        server = await start(cancel);
        try
        {
            await begin(server, cancel);
        }
        catch
        {
            await server.DisposeAsync();
            throw;
        }
    }

    /// <inheritdoc/>
    public async ValueTask DisposeAsync()
    {
        GC.SuppressFinalize(this);
        if (server is not null)
            await server.DisposeAsync();
    }
}
