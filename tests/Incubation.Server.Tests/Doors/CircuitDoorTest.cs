using System.Runtime.CompilerServices;
using Incubation.Clinic.People;
using Incubation.Model;
using Incubation.Server.Doors;
using Incubation.Service.People;
using Incubation.TestKit;
using Microsoft.AspNetCore.Components;
using Microsoft.AspNetCore.Components.Server.Circuits;
using Microsoft.Extensions.DependencyInjection;

namespace Incubation.Server.Tests.Doors;

/// <summary>A tap on an open page of the server, before and after the end of its sign-in.</summary>
public sealed class CircuitDoorTest : IAsyncDisposable
{
    private readonly ServerFactory server = new();
    private readonly Reloads navigation = new();

    public ValueTask DisposeAsync() => server.DisposeAsync();

    [Fact]
    public async Task Tap_SignInHolds_DoneAndCountsAsATouch()
    {
        var session = Begin();
        var before = session.LastSeen;

        Assert.True(await TapAsync(session));

        Assert.True(server.Services.GetRequiredService<Sessions>().Find(session.Id)!.LastSeen > before);
        Assert.Equal(0, navigation.Count);
    }

    [Fact]
    public async Task Tap_SignInEnded_NotDoneAndPageLoadedAgain()
    {
        var session = Begin();
        server.Services.GetRequiredService<Sessions>().End(session.Id, SignOutCause.Withdrawn);

        Assert.False(await TapAsync(session));

        Assert.Equal(1, navigation.Count);
    }

    [Fact]
    public async Task Page_SignInEndsWithoutATap_LoadedAgain()
    {
        var session = Begin();
        using var door = new CircuitDoor(new Now(server.Services.GetRequiredService<Actors>(), session),
            server.Services.GetRequiredService<Sessions>(), navigation);
        await door.OnCircuitOpenedAsync(null!, TestContext.Current.CancellationToken);

        server.Services.GetRequiredService<Sessions>().End(session.Id, SignOutCause.Withdrawn);

        await navigation.Once.WaitAsync(Patience.Usual, TestContext.Current.CancellationToken);
        Assert.Equal(1, navigation.Count);
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
            server.Services.GetRequiredService<Sessions>(), navigation);
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

    private sealed class Reloads : NavigationManager
    {
        public Reloads() => Initialize("http://localhost/", "http://localhost/batch/bench-1");

        private readonly TaskCompletionSource once = new();

        public int Count { get; private set; }

        public Task Once => once.Task;

        public override void Refresh(bool forceReload = false)
        {
            Count += forceReload ? 1 : 0;
            once.TrySetResult();
        }
    }
}
