using Incubation.Clinic.People;
using Incubation.Server.Doors;
using Incubation.Service.Tests.Support;

namespace Incubation.Server.Tests.Pages;

/// <summary>An aide in front of every page.</summary>
internal sealed class AideInFront : ICurrentActor
{
    public ValueTask<Actor?> GetAsync() => new(AnAide.Lena);
}
