using System.ComponentModel.DataAnnotations;
using System.Collections.Concurrent;
using System.Data.Common;
using System.Reflection;
using System.Threading.RateLimiting;
using Incubation.Clinic.People;
using Incubation.Records.Log;
using Incubation.Server.Doors;
using Incubation.Service.Benches;
using Incubation.Service.People;
using Microsoft.AspNetCore.SignalR;

namespace Incubation.Server.Hubs;

/// <summary>The right that a method of a hub needs; a method without one is refused.</summary>
/// <param name="right">The right.</param>
[AttributeUsage(AttributeTargets.Method)]
public sealed class HubNeedsAttribute(Right right) : Attribute
{
    /// <summary>The right.</summary>
    public Right Right { get; } = right;
}

/// <summary>
/// Judges every call of a hub's method by the one table, also by which bench it names, each time anew.
/// </summary>
public sealed partial class HubDoor(Actors actors, RefusalLog log, ILogger<HubDoor> logger) : IHubFilter, IDisposable
{
    private readonly PartitionedRateLimiter<string> limit = Limits.OfLines();

    /// <summary>Gives the counts back.</summary>
    public void Dispose() => limit.Dispose();

    /// <inheritdoc/>
    public async ValueTask<object?> InvokeMethodAsync(HubInvocationContext invocationContext,
        Func<HubInvocationContext, ValueTask<object?>> next)
    {
        ArgumentNullException.ThrowIfNull(invocationContext);
        ArgumentNullException.ThrowIfNull(next);
        var actor = actors.Present(invocationContext.Context.User);
        var method = invocationContext.HubMethod;
        var isTooMuch = !limit.AttemptAcquire(invocationContext.Context.ConnectionId).IsAcquired;
        if (!isTooMuch && Access.May(actor, RightOf(method), BenchOf(method, invocationContext.HubMethodArguments)))
            return await CallAsync(invocationContext, next);
        if (!isTooMuch && actor is not null)
            log.NotAllowed(actor, "the hub's " + method.Name,
                invocationContext.Context.GetHttpContext() is { } context ? Addresses.Of(context) : "a line");
        var sentence = isTooMuch ? Words.TooManyRequests
            : actor is null ? ServiceWords.SignInFirst : ServiceWords.NotAllowed;
        // A report is not lost because a sign-in has ended, or the line was busy: the screen keeps it and sends it
        // again.
        return method.ReturnType != typeof(Task<CommandAnswer>) ? throw new HubException(sentence)
            : isTooMuch ? CommandAnswer.TooMuch(sentence, CommandAnswer.UsualRetrySeconds)
            : actor is null ? CommandAnswer.AfterSignIn(sentence)
            : CommandAnswer.Refuse(sentence, 0);
    }

    /// <summary>
    /// A sentence for the screen is no fault and stands in no log: whoever asks for what is not there cannot fill it.
    /// </summary>
    private async ValueTask<object?> CallAsync(HubInvocationContext call,
        Func<HubInvocationContext, ValueTask<object?>> next)
    {
        try
        {
            return await next(call);
        }
        catch (Exception fault) when (fault is not HubException)
        {
            Failed(fault, call.HubMethod.Name);
            throw;
        }
    }

    [LoggerMessage(LogLevel.Error, "The hub's {Method} failed.")]
    private partial void Failed(Exception fault, string method);

    private static Right RightOf(MethodInfo method) =>
        method.GetCustomAttribute<HubNeedsAttribute>()?.Right ?? throw new HubException(ServiceWords.NotAllowed);

    private static string? BenchOf(MethodInfo method, IReadOnlyList<object?> arguments)
    {
        var at = Array.FindIndex(method.GetParameters(), parameter => parameter.Name == "bench");
        return at < 0 ? null : arguments[at] as string ?? "";
    }
}

/// <summary>
/// The lines of the hub that are open: told who is signed in when that changes, and cut when their sign-in, device or
/// key has come to its end.
/// </summary>
public sealed partial class Lines(Actors actors, Sessions sessions, IHubContext<BenchHub, IBenchScreen> hub,
    WhoWriter who, ILogger<Lines> logger) : BackgroundService
{
    private static readonly TimeSpan SweepEvery = TimeSpan.FromSeconds(5);
    private readonly ConcurrentDictionary<string, HubCallerContext> open = new(StringComparer.Ordinal);

    /// <summary>A line was opened; false where its device, browser or program has too many open already.</summary>
    public bool Opened(HubCallerContext line)
    {
        var device = actors.Present(line.User)?.Device;
        if (open.Values.Count(other => actors.Present(other.User)?.Device == device) >= Limits.MaxLinesOfOne)
            return false;
        open[line.ConnectionId] = line;
        return true;
    }

    /// <summary>A line was closed.</summary>
    public void Closed(HubCallerContext line) => open.TryRemove(line.ConnectionId, out _);

    /// <inheritdoc/>
    protected override async Task ExecuteAsync(CancellationToken stoppingToken)
    {
        sessions.Changed += Tell;
        try
        {
            using var sweep = new PeriodicTimer(SweepEvery);
            while (await sweep.WaitForNextTickAsync(stoppingToken))
                Sweep();
        }
        catch (OperationCanceledException) when (stoppingToken.IsCancellationRequested)
        {
            // The server stops.
        }
        finally
        {
            sessions.Changed -= Tell;
        }
    }

    private void Sweep()
    {
        try
        {
            sessions.Sweep();
            // A key's last day passes without anybody doing anything.
            foreach (var line in open.Values)
                if (actors.Present(line.User) is null)
                    line.Abort();
        }
        catch (Exception fault) when (fault is AppendException or DbException)
        {
            // A full disk must not stop the server: the next sweep tries again.
            NotSwept(fault.Message);
        }
    }

    [LoggerMessage(LogLevel.Warning, "Ended sign-ins could not be written: {Fault}")]
    private partial void NotSwept(string fault);

    private void Tell()
    {
        foreach (var (id, line) in open)
        {
            if (actors.Present(line.User) is { } actor)
                _ = hub.Clients.Client(id).Who(who.Write(actor))
                    .ContinueWith(_ => { }, CancellationToken.None, TaskContinuationOptions.OnlyOnFaulted,
                        TaskScheduler.Default);
            else
                line.Abort();
        }
    }
}

/// <summary>Who is in front of a screen, for the screen.</summary>
/// <param name="Kind">"person", "tablet" (enrolled and locked), "wall" or "program".</param>
/// <param name="Person">The name to sign in with, of who is signed in; null where nobody is.</param>
/// <param name="Name">The name that people read, or null.</param>
/// <param name="Device">What the log calls this screen.</param>
/// <param name="CanSwitch">Whether persons switch here by PIN.</param>
public sealed record WhoSnapshot(
    [property: AllowedValues("person", "tablet", "wall", "program")] string Kind, string? Person, string? Name,
        string Device, bool CanSwitch);

/// <summary>Writes it.</summary>
public sealed class WhoWriter
{
    /// <summary>Who an actor is, for a screen.</summary>
    public WhoSnapshot Write(Actor actor)
    {
        ArgumentNullException.ThrowIfNull(actor);
        var person = (actor as Actor.Person)?.Who;
        var kind = actor switch
        {
            Actor.Person => "person",
            Actor.Tablet { Enrolled.Kind: DeviceKind.Wall } => "wall",
            Actor.Tablet => "tablet",
            _ => "program",
        };
        return new WhoSnapshot(kind, person?.Id.Value, person?.Name, actor.Device.Value,
            Access.May(actor, Right.Switch));
    }
}
