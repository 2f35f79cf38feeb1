using Incubation.Bench;
using Incubation.Model;
using Incubation.Service.Text;

namespace Incubation.Service.Batches;

/// <summary>
/// What somebody typed from a reader's display for a cartridge, understood; or what is wrong with it. Wherever a result
/// is typed it is read here, so that everywhere the same is asked.
/// </summary>
/// <param name="Entry">The result; null where it was not understood.</param>
/// <param name="Fault">What is wrong, in a sentence; else null.</param>
public sealed record TypedResult(ResultEntry? Entry, string? Fault)
{
    /// <summary>How the value goes out; null where there is none.</summary>
    public MarkedResult? Marked { get; private init; }

    /// <summary>What is asked about the value; null where it is possible.</summary>
    public ValueQuestion? Question { get; private init; }

    /// <summary>
    /// How the value is reported, with its marks; null where that is just as it was entered, or it is asked about.
    /// </summary>
    public string? Reported { get; private init; }

    /// <summary>Whether somebody must be told of it at once.</summary>
    public bool IsCriticalNow { get; private init; }

    /// <summary>
    /// Whether what was typed is the specimen's own number: then the tube was scanned or typed, not its value.
    /// </summary>
    public bool IsOwnNumber { get; private init; }

    /// <summary>
    /// Whether it is read back before it is saved wherever it is typed: it will be held or told, or is no value.
    /// </summary>
    public bool NeedsReadBack { get; private init; }

    /// <summary>Reads what was typed.</summary>
    /// <param name="cartridge">Whose result.</param>
    /// <param name="shown">What the reader shows as the specimen's identity; empty or null where it shows none.</param>
    /// <param name="text">The value, or the code that came instead of one.</param>
    /// <param name="noValue">Whether it is a code.</param>
    public static TypedResult Read(Cartridge cartridge, string? shown, string? text, bool noValue)
    {
        ArgumentNullException.ThrowIfNull(cartridge);
        var typed = text?.Trim() ?? "";
        var value = noValue ? null : ResultText.Read(typed);
        if (FaultOf(typed, value) is { } fault)
            return new TypedResult(null, fault);
        var identity = shown?.Trim() is { Length: > 0 } seen ? seen : null;
        var matches = new ShownIdentity(identity).Against(cartridge.Wanted) == ResultIdentity.Matches;
        var isOwnNumber = IsNumberOf(cartridge.Wanted, identity, value?.Value ?? typed);
        var (specimen, unit) = (cartridge.Wanted.Request.Specimen.Value, cartridge.Wanted.Unit);
        if (value?.Value is not { } understood)
            return new TypedResult(new ResultEntry(cartridge.Id, specimen, identity, null, typed, matches), null)
            {
                IsOwnNumber = isOwnNumber,
                NeedsReadBack = true,
            };
        var entry = new ResultEntry(cartridge.Id, specimen, identity, understood, null, matches);
        var marked = MarkedResult.Of(RuleOf(cartridge), understood);
        var isPatient = cartridge.Wanted.Request.Kind == RequestKind.Patient;
        var question = PossibleValue.QuestionOf(RuleOf(cartridge), understood);
        var told = Say.Dotted(UnitText.Of(marked.Reported, unit), isPatient ? ResultSentence.Flags(marked) : null);
        var reported = question is not null || told == UnitText.Of(understood, unit) ? null : told;
        return new TypedResult(entry, null)
        {
            Marked = marked,
            Question = question,
            Reported = reported,
            IsOwnNumber = isOwnNumber,
            IsCriticalNow = isPatient && marked.IsCritical,
            NeedsReadBack = !matches || isOwnNumber || question is not null || (isPatient && marked.IsCritical),
        };
    }

    /// <summary>How results of a cartridge's assay are entered.</summary>
    public static ResultRule RuleOf(Cartridge cartridge) =>
        cartridge?.Wanted.Facts?.Results ?? ResultRule.AsDisplayed;

    /// <summary>Leading zeros are no part of a number: a display leaves them out.</summary>
    private static bool IsNumberOf(BenchRequest wanted, string? identity, string typed) =>
        new[] { wanted.Request.Specimen.Value, wanted.Facts?.Identifier, identity }.Any(number =>
            number is not null && string.Equals(number.Trim().TrimStart('0'), typed.TrimStart('0'),
                StringComparison.OrdinalIgnoreCase));

    private static string? FaultOf(string typed, TypedValue? value) =>
        typed.Length == 0 ? BatchesWords.ResultEmpty
        : value?.Fault is { } unread ? unread
        : typed.Length > TextId.MaximumLength ? Words.IntakeTextFault : null;
}
