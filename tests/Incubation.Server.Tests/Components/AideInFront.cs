using Incubation.Clinic.People;
using Incubation.Server.Doors;

namespace Incubation.Server.Tests.Components;

/// <summary>An aide in front of every page.</summary>
internal sealed class AideInFront : ICurrentActor
{
    public ValueTask<Actor?> GetAsync() => new(AnAide.Lena);
}
