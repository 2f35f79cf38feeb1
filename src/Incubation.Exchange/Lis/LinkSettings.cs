using NodaTime;

namespace Incubation.Exchange.Lis;

/// <summary>Who gives way where both ends ask for the line at once.</summary>
public enum LinkRole
{
    /// <summary>The computer: it gives way.</summary>
    Computer,

    /// <summary>The instrument: it comes first.</summary>
    Instrument,
}

/// <summary>What the two ends of a line have agreed; left as it is, what the standard says.</summary>
/// <param name="Role">Which end this is.</param>
public sealed record LinkSettings(LinkRole Role = LinkRole.Computer)
{
    /// <summary>How often a frame is sent before the sender gives it up.</summary>
    public const int MaxTries = 6;

    /// <summary>A sender waits so long for an answer.</summary>
    public static readonly Duration AnswerWithin = Duration.FromSeconds(15);

    /// <summary>A receiver waits so long for the next frame.</summary>
    public static readonly Duration FrameWithin = Duration.FromSeconds(30);

    /// <summary>A sender that was not answered, or told that the other end is busy, asks again after so long.</summary>
    public static readonly Duration AskAgainAfter = Duration.FromSeconds(10);

    /// <summary>A sender that was asked for the line leaves it free for so long.</summary>
    public static readonly Duration LineLeftFree = Duration.FromSeconds(15);

    /// <summary>The most bytes of text in a frame that is sent.</summary>
    public int SentText { get; init; } = Frame.UsualText;

    /// <summary>The most bytes of text in a frame that is taken.</summary>
    public int TakenText { get; init; } = Frame.MaxText;

    /// <summary>The most bytes of a message that is taken; what goes beyond is not acknowledged.</summary>
    public int TakenMessage { get; init; } = 4 * 1024 * 1024;

    /// <summary>The most messages that wait to be sent.</summary>
    public int Waiting { get; init; } = 100;

    /// <summary>So long after both have asked at once, this end may ask again.</summary>
    public Duration AfterContention => Role == LinkRole.Instrument ? Duration.FromSeconds(1) : Duration.FromSeconds(20);
}
