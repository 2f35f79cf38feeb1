using System.Collections.Immutable;
using Incubation.Bench;

namespace Incubation.Clinic.TestKit;

/// <summary>One command of an invented clinic's story.</summary>
/// <param name="Events">What it wants recorded.</param>
/// <param name="Provenance">Who says so, when, through what.</param>
public sealed record StoryCommand(ImmutableArray<ClinicEvent> Events, Provenance Provenance)
{
    /// <summary>Commands one after the other, numbered.</summary>
    /// <param name="commands">What each of them wants recorded.</param>
    /// <param name="first">The first one's number.</param>
    public static IReadOnlyList<StoryCommand> Numbered(
        IEnumerable<IReadOnlyList<ClinicEvent>> commands, int first = 0) =>
        [.. commands.Select((events, at) => new StoryCommand([.. events], StoryProvenance.Of(first + at, events)))];
}
