using System.Runtime.CompilerServices;
using Incubation.Clinic.People;
using Incubation.Model;
using Incubation.Server.Doors;
using Incubation.Service.People;
using Incubation.TestKit;
using Microsoft.AspNetCore.Components.Server.Circuits;
using Microsoft.Extensions.DependencyInjection;
using Microsoft.Extensions.Logging;
using Microsoft.JSInterop;

namespace Incubation.Server.Tests.Doors;

/// <summary>A tap on an open page of the server, before and after the end of its sign-in.</summary>
public sealed class CircuitDoorTest : IAsyncDisposable
{
    private readonly ServerFactory server = new();
    private readonly Reloads page = new();
    private readonly Lines lines = new();

    public ValueTask DisposeAsync() => server.DisposeAsync();

    [Fact]
    public async Task Tap_SignInHolds_DoneAndCountsAsATouch()
    {
        var session = Begin();
        var before = session.LastSeen;

        Assert.True(await TapAsync(session));

        Assert.True(server.Services.GetRequiredService<Sessions>().Find(session.Id)!.LastSeen > before);
        Assert.Equal(0, page.Count);
    }

    [Fact]
    public async Task Tap_SignInEnded_NotDoneAndPageLoadedAgain()
    {
        var session = Begin();
        server.Services.GetRequiredService<Sessions>().End(session.Id, SignOutCause.Withdrawn);

        Assert.False(await TapAsync(session));

        Assert.Equal(1, page.Count);
    }

    [Fact]
    public async Task Page_SignInEndsWithoutATap_LoadedAgain()
    {
        var session = Begin();
        using var door = new CircuitDoor(new Now(server.Services.GetRequiredService<Actors>(), session),
            server.Services.GetRequiredService<Sessions>(), new PageReload(page, lines));
        await door.OnCircuitOpenedAsync(null!, TestContext.Current.CancellationToken);

        server.Services.GetRequiredService<Sessions>().End(session.Id, SignOutCause.Withdrawn);

        await page.Once.WaitAsync(Patience.Usual, TestContext.Current.CancellationToken);
        Assert.Equal(1, page.Count);
    }

    /// <summary>
    /// A page that is loaded again goes away and cannot answer: on an ordinary day that left an error with a stack
    /// trace at every sign-out.
    /// </summary>
    [Theory]
    [InlineData(typeof(JSDisconnectedException))]
    [InlineData(typeof(TaskCanceledException))]
    [InlineData(typeof(ObjectDisposedException))]
    [InlineData(typeof(InvalidOperationException))]
    public async Task Page_GoneBeforeItIsLoadedAgain_IsNoError(Type gone)
    {
        page.Fault = (Exception)Activator.CreateInstance(gone, "gone")!;
        await new PageReload(page, lines).AskAsync();
        Assert.Equal((LogLevel.Debug, null), Assert.Single(lines.Written));
    }

    [Fact]
    public async Task Page_CannotBeLoadedAgain_IsOneLineWithoutAStackTrace()
    {
        page.Fault = new JSException("refused");
        await new PageReload(page, lines).AskAsync();
        Assert.Equal((LogLevel.Warning, null), Assert.Single(lines.Written));
    }

    private Session Begin()
    {
        var sessions = server.Services.GetRequiredService<Sessions>();
        return sessions.Find(Tokens.Hash(sessions.Begin(new PersonId("lena"), SignInWay.Password, null, "test")!))!;
    }

    private async Task<bool> TapAsync(Session session)
    {
        var done = false;
        using var door = new CircuitDoor(new Now(server.Services.GetRequiredService<Actors>(), session),
            server.Services.GetRequiredService<Sessions>(), new PageReload(page, lines));
        // The door looks at who taps, not at what: the context has nothing that it could look at.
        var tap =
            (CircuitInboundActivityContext)RuntimeHelpers.GetUninitializedObject(typeof(CircuitInboundActivityContext));
        await door.CreateInboundActivityHandler(_ =>
        {
            done = true;
            return Task.CompletedTask;
        })(tap);
        return done;
    }

    private sealed class Now(Actors actors, Session session) : ICurrentActor
    {
        public ValueTask<Actor?> GetAsync() => new(actors.Present(Actors.OfSession(session)));
    }

    private sealed class Reloads : IJSRuntime
    {
        private readonly TaskCompletionSource once = new();

        public int Count { get; private set; }

        public Exception? Fault { get; set; }

        public Task Once => once.Task;

        public ValueTask<TValue> InvokeAsync<TValue>(string identifier, object?[]? args)
        {
            if (Fault is not null)
                return ValueTask.FromException<TValue>(Fault);
            Count += identifier == "loadPageAgain" ? 1 : 0;
            once.TrySetResult();
            return default;
        }

        public ValueTask<TValue> InvokeAsync<TValue>(string identifier, CancellationToken cancellationToken,
            object?[]? args) => InvokeAsync<TValue>(identifier, args);
    }

    private sealed class Lines : ILogger<PageReload>
    {
        public List<(LogLevel Level, Exception? Fault)> Written { get; } = [];

        public IDisposable? BeginScope<TState>(TState state)
            where TState : notnull => null;

        public bool IsEnabled(LogLevel logLevel) => true;

        public void Log<TState>(LogLevel logLevel, EventId eventId, TState state, Exception? exception,
            Func<TState, Exception?, string> formatter) => Written.Add((logLevel, exception));
    }
}
