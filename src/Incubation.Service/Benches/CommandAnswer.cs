using System.ComponentModel.DataAnnotations;
using System.Text.Json.Serialization;

namespace Incubation.Service.Benches;

/// <summary>The kinds of answer to a command, as they stand in an answer: these three and no other.</summary>
public static class AnswerKinds
{
    /// <summary>It stands in the log, now or since it was sent before.</summary>
    public const string Recorded = "recorded";

    /// <summary>It will never stand there: sent again it is refused again.</summary>
    public const string Refused = "refused";

    /// <summary>
    /// It does not stand there because of something that passes: keep it, and send it again under the same id.
    /// </summary>
    public const string NotNow = "not-now";
}

/// <summary>
/// What became of a command: recorded, refused for good, or not now. It is made as one of the three, and travels flat,
/// so that whoever knows <see cref="Recorded"/> alone can still read it.
/// </summary>
public sealed record CommandAnswer
{
    /// <summary>What is waited for usually passes, or is looked at again, within this.</summary>
    public const int UsualRetrySeconds = 5;

    [JsonConstructor]
    private CommandAnswer(bool recorded, string? sentence, long revision, bool signIn, string kind, int? retryAfter) =>
        (Recorded, Sentence, Revision, SignIn, Kind, RetryAfter) =
            (recorded, sentence, revision, signIn, kind, retryAfter);

    /// <summary>Whether it stands in the log.</summary>
    public bool Recorded { get; }

    /// <summary>Where it does not: what is wrong and what to do.</summary>
    public string? Sentence { get; }

    /// <summary>The bench's revision after it.</summary>
    public long Revision { get; }

    /// <summary>
    /// Whether it was not heard because nobody is signed in, or nobody who may say it: keep it, and send it again
    /// afterwards.
    /// </summary>
    public bool SignIn { get; }

    /// <summary>"recorded", "refused" (for good) or "not-now" (keep it, and send it again).</summary>
    [AllowedValues(AnswerKinds.Recorded, AnswerKinds.Refused, AnswerKinds.NotNow)]
    public string Kind { get; }

    /// <summary>For "not-now": seconds after which it is worth sending again; null where a person must act.</summary>
    public int? RetryAfter { get; }

    /// <summary>Whether it was the sender's budget of writes, or the rate of its calls, that was used up.</summary>
    internal bool IsTooMuch { get; private init; }

    /// <summary>It stands in the log.</summary>
    /// <param name="revision">The bench's revision after it.</param>
    public static CommandAnswer Stands(long revision) =>
        new(true, null, revision, false, AnswerKinds.Recorded, null);

    /// <summary>Refused for good.</summary>
    /// <param name="sentence">What is wrong and what to do.</param>
    /// <param name="revision">The bench's revision.</param>
    public static CommandAnswer Refuse(string sentence, long revision) =>
        new(false, sentence, revision, false, AnswerKinds.Refused, null);

    /// <summary>Not recorded because of something that passes.</summary>
    /// <param name="sentence">What is in the way.</param>
    /// <param name="revision">The bench's revision.</param>
    /// <param name="retryAfter">Seconds after which it is worth sending again.</param>
    public static CommandAnswer Later(string sentence, long revision, int retryAfter = UsualRetrySeconds) =>
        new(false, sentence, revision, false, AnswerKinds.NotNow, retryAfter);

    /// <summary>Not recorded because its sender has sent more than it may in a while.</summary>
    /// <param name="sentence">What is to be done.</param>
    /// <param name="retryAfter">Seconds after which it is worth sending again.</param>
    public static CommandAnswer TooMuch(string sentence, int retryAfter) =>
        Later(sentence, 0, retryAfter) with { IsTooMuch = true };

    /// <summary>Not recorded until somebody signs in who may say it.</summary>
    /// <param name="sentence">What is to be done.</param>
    public static CommandAnswer AfterSignIn(string sentence) =>
        new(false, sentence, 0, true, AnswerKinds.NotNow, null);
}
