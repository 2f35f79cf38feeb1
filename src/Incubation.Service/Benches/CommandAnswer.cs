namespace Incubation.Service.Benches;

/// <summary>What became of a screen's command: recorded (now or before), or refused with a sentence.</summary>
/// <param name="Recorded">Whether it stands in the log.</param>
/// <param name="Sentence">Where refused: what is wrong and what to do.</param>
/// <param name="Revision">The bench's revision after it.</param>
/// <param name="SignIn">Whether it was not heard because nobody is signed in: keep it, and send it again
/// afterwards.</param>
public sealed record CommandAnswer(bool Recorded, string? Sentence, long Revision, bool SignIn = false);
