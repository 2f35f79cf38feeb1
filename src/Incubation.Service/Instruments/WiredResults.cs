using Incubation.Bench;
using Incubation.Exchange.Lis;
using Incubation.Model;
using NodaTime;

namespace Incubation.Service.Instruments;

/// <summary>The results of a reader's message as its bench takes them (<see cref="ReaderMatching"/>).</summary>
public static class WiredResults
{
    /// <summary>The results, in the order of the message; what speaks against each is said with it.</summary>
    /// <param name="message">The message.</param>
    /// <param name="aheadBy">How far the reader's clock is ahead of the bench's; null where that is not known.</param>
    public static IEnumerable<WiredResult> Of(ReaderMessage message, Duration? aheadBy)
    {
        ArgumentNullException.ThrowIfNull(message);
        return message.Results.Select(result => Of(message, result, aheadBy));
    }

    private static WiredResult Of(ReaderMessage message, ReaderResult result, Duration? aheadBy) =>
        new(result.Specimen, result.Test, ShownBy(result), result.Unit)
        {
            IsSpecimenUnreadable = result.IsSpecimenUnreadable,
            IsControl = result.IsControl || message.Use == MessageUse.QualityControl,
            ReadAt = ReaderClock.Right(result.ReadAt?.At, aheadBy),
            Objection = ObjectionTo(message) ?? ObjectionTo(result)
                ?? (IsContradicted(message, result) ? MatchQuestion.SeveralValues : null),
        };

    private static ShownResult? ShownBy(ReaderResult result) => result.Status == ReaderResultStatus.NotMeasured
        ? new ShownResult.NoValue(CodeOf(result))
        : result.Value.Shown is { } shown ? new ShownResult.Value(shown) : null;

    /// <summary>What the reader says instead of a value; X, the letter of the status, where it says nothing.</summary>
    private static string CodeOf(ReaderResult result) =>
        result.Comments.Prepend(result.Value.Text.Trim()).Concat(result.Flags)
            .FirstOrDefault(words => words.Length > 0 && Bounds.IsWords(words)) ?? "X";

    private static MatchQuestion? ObjectionTo(ReaderMessage message) =>
        message.End != MessageEnd.Normal || message.Use is not (MessageUse.Production or MessageUse.QualityControl)
            ? MatchQuestion.NotMeant
        : message.Faults.Any(fault => fault.Record == 0) ? MatchQuestion.NotUnderstood
        : null;

    /// <summary>
    /// Whether its own message has another value for the same, and does not say of that one that it counts less.
    /// </summary>
    private static bool IsContradicted(ReaderMessage message, ReaderResult result) => message.Results.Any(other =>
        IsSame(other.Specimen, result.Specimen) && IsSame(other.Test, result.Test) && ObjectionTo(other) is null
        && (ShownBy(other) != ShownBy(result) || other.Unit != result.Unit) && other.ReadAt == result.ReadAt);

    private static bool IsSame(string? one, string? other) =>
        string.Equals(one?.Trim() ?? "", other?.Trim() ?? "", StringComparison.OrdinalIgnoreCase);

    private static MatchQuestion? ObjectionTo(ReaderResult result) => result switch
    {
        { IsDoubtful: true } or { Status: ReaderResultStatus.Unknown } => MatchQuestion.NotUnderstood,
        { Status: ReaderResultStatus.Correction } => MatchQuestion.Correction,
        { Status: ReaderResultStatus.Preliminary or ReaderResultStatus.Pending or ReaderResultStatus.Doubted } =>
            MatchQuestion.NotFinal,
        { Status: not ReaderResultStatus.NotMeasured, Warnings.IsEmpty: false } => MatchQuestion.ReaderRemarks,
        _ => null,
    };
}
