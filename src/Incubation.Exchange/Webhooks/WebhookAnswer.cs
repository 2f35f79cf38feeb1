using System.Globalization;
using NodaTime;

namespace Incubation.Exchange.Webhooks;

/// <summary>What a webhook's answer means for the message.</summary>
public enum WebhookVerdict
{
    /// <summary>It was taken.</summary>
    Taken,

    /// <summary>Not now: it is sent again later.</summary>
    NotNow,

    /// <summary>This message will never be taken as it is.</summary>
    Refused,

    /// <summary>No message is wanted any more.</summary>
    Gone,
}

/// <summary>
/// What a webhook's answer means. By "Standard Webhooks" 2xx is success, all else failure, a redirect too, and 410 says
/// that the sender is to stop; that 400, 413, 415 and 422 speak of the message itself, so that sending it again changes
/// nothing, is RFC 9110's (15.5), and what says "not you" or "not here" (401, 403, 404, 405) is a setting that somebody
/// may put right.
/// </summary>
public static class WebhookAnswer
{
    /// <summary>What a status means.</summary>
    public static WebhookVerdict Of(int status) => status switch
    {
        >= 200 and < 300 => WebhookVerdict.Taken,
        410 => WebhookVerdict.Gone,
        400 or 413 or 415 or 422 => WebhookVerdict.Refused,
        _ => WebhookVerdict.NotNow,
    };

    /// <summary>
    /// How long the sender is asked to wait, of a Retry-After header in seconds; null where it says nothing of that
    /// form.
    /// </summary>
    public static Duration? WaitOf(string? retryAfter) =>
        int.TryParse(retryAfter, NumberStyles.None, CultureInfo.InvariantCulture, out var seconds)
            ? Duration.FromSeconds(seconds) : null;
}
