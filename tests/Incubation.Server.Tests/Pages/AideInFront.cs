using Incubation.Clinic.People;
using Incubation.Server.Doors;
using Incubation.Service.Tests.Support;

namespace Incubation.Server.Tests.Pages;

/// <summary>An aide in front of every page, until another is said.</summary>
internal sealed class AideInFront : ICurrentActor
{
    /// <summary>Who it is; an aide at first.</summary>
    public Actor Who { get; set; } = AnAide.Lena;

    public ValueTask<Actor?> GetAsync() => new(Who);
}
