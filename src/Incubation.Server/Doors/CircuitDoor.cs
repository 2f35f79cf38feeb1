using Incubation.Clinic.People;
using Incubation.Service.People;
using Microsoft.AspNetCore.Components.Server.Circuits;

namespace Incubation.Server.Doors;

/// <summary>
/// Looks at every tap on a page of this server whether the sign-in behind it still holds: what comes after its end is
/// not done, and the page is loaded again, which leads to the sign-in. It is loaded again too as soon as somebody else
/// is in front of it than when it was opened: what they may not see does not stay on the screen.
/// </summary>
public sealed class CircuitDoor(ICurrentActor current, Sessions sessions, PageReload reload)
    : CircuitHandler, IDisposable
{
    private string? openedBy;

    /// <inheritdoc/>
    public override async Task OnCircuitOpenedAsync(Circuit circuit, CancellationToken cancellationToken)
    {
        openedBy = NameOf(await current.GetAsync());
        sessions.Changed += LookAgain;
    }

    /// <inheritdoc/>
    public override Task OnCircuitClosedAsync(Circuit circuit, CancellationToken cancellationToken)
    {
        sessions.Changed -= LookAgain;
        return Task.CompletedTask;
    }

    /// <inheritdoc/>
    public override Func<CircuitInboundActivityContext, Task> CreateInboundActivityHandler(
        Func<CircuitInboundActivityContext, Task> next) => async context =>
    {
        switch (await current.GetAsync())
        {
            case null:
                _ = reload.AskAsync();
                break;
            case Actor.Person person:
                sessions.Touched(person.Session.Id);
                await next(context);
                break;
            default:
                await next(context);
                break;
        }
    };

    /// <summary>Hears of sign-ins no more.</summary>
    public void Dispose() => sessions.Changed -= LookAgain;

    private void LookAgain() => _ = Task.Run(async () =>
    {
        if (NameOf(await current.GetAsync()) != openedBy)
            await reload.AskAsync();
    });

    /// <summary>Tells actors apart by who they are and what they may do.</summary>
    private static string NameOf(Actor? actor) => actor switch
    {
        null => "",
        Actor.Person person => $"{person.Who.Id} as {person.Role} by {person.Session.Id}",
        _ => actor.Device.Value,
    };
}
