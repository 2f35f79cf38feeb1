using Microsoft.AspNetCore.Components;
using Microsoft.AspNetCore.Components.Server.Circuits;

namespace Incubation.Server.People;

/// <summary>
/// Looks at every tap on a page of this server whether the sign-in behind it still holds: what comes after its end is not
/// done, and the page is loaded again, which leads to the sign-in.
/// </summary>
public sealed class CircuitDoor(ICurrentActor current, Sessions sessions, NavigationManager navigation) : CircuitHandler
{
    /// <inheritdoc/>
    public override Func<CircuitInboundActivityContext, Task> CreateInboundActivityHandler(Func<CircuitInboundActivityContext, Task> next) => async context =>
    {
        switch (await current.GetAsync())
        {
            case null:
                navigation.Refresh(forceReload: true);
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
}
