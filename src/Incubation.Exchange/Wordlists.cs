using Incubation.Model;

namespace Incubation.Exchange;

/// <summary>
/// The words that the files use for what the model enumerates. They are the contract of the files, in no language.
/// </summary>
internal static class Wordlists
{
    public static readonly IReadOnlyDictionary<string, IncubationPlace> Places = new Dictionary<string, IncubationPlace>
    {
        ["incubator"] = IncubationPlace.Incubator,
        ["reader"] = IncubationPlace.Reader,
        ["either"] = IncubationPlace.Either,
    };

    public static readonly IReadOnlyDictionary<string, RequestKind> Kinds = new Dictionary<string, RequestKind>
    {
        ["patient"] = RequestKind.Patient,
        ["control"] = RequestKind.Control,
        ["proficiency"] = RequestKind.Proficiency,
    };

    public static readonly IReadOnlyDictionary<string, Priority> Priorities = new Dictionary<string, Priority>
    {
        ["routine"] = Priority.Routine,
        ["urgent"] = Priority.Urgent,
    };

    public static readonly IReadOnlyDictionary<string, ResourceKind> Resources = new Dictionary<string, ResourceKind>
    {
        ["hands"] = ResourceKind.Hands,
        ["slot"] = ResourceKind.Slot,
        ["reader"] = ResourceKind.Reader,
        ["incubator"] = ResourceKind.Incubator,
    };

    public static readonly IReadOnlyDictionary<string, StepWord> Steps = new Dictionary<string, StepWord>
    {
        ["mix"] = StepWord.Mix,
        ["load"] = StepWord.Load,
        ["move"] = StepWord.Move,
        ["read"] = StepWord.Read,
        ["clear"] = StepWord.Clear,
        ["discard"] = StepWord.Discard,
        ["card-change"] = StepWord.CardChange,
    };

    /// <summary>Steps that hands can be at: all but the read.</summary>
    public static readonly IReadOnlyDictionary<string, StepWord> HandsSteps =
        Steps.Where(word => word.Value != StepWord.Read).ToDictionary(word => word.Key, word => word.Value);

    public static readonly IReadOnlyDictionary<string, PhaseWord> Phases = new Dictionary<string, PhaseWord>
    {
        ["mixed"] = PhaseWord.Mixed,
        ["reacting"] = PhaseWord.Reacting,
        ["reading"] = PhaseWord.Reading,
        ["read"] = PhaseWord.Read,
    };

    /// <summary>The word of a value.</summary>
    public static string WordOf<T>(this IReadOnlyDictionary<string, T> words, T value)
        where T : struct => words.First(word => word.Value.Equals(value)).Key;
}

/// <summary>The steps that a file can name.</summary>
internal enum StepWord
{
    Mix,
    Load,
    Move,
    Read,
    Clear,
    Discard,
    CardChange,
}

/// <summary>The phases that a file can name.</summary>
internal enum PhaseWord
{
    Mixed,
    Reacting,
    Reading,
    Read,
}
