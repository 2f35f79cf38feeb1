using NodaTime;
using NodaTime.Extensions;

namespace Incubation.Service.People;

/// <summary>What an authenticator was asked to sign.</summary>
/// <param name="State">What the answer is held against.</param>
/// <param name="Session">The sign-in in which a passkey is added; null where somebody wants to sign in.</param>
/// <param name="Name">The name of the passkey to be added, or null.</param>
public sealed record PasskeyChallenge(string State, string? Session = null, string? Name = null);

/// <summary>
/// The challenges that authenticators have not answered: on the server alone, each good for one answer and for a few
/// minutes (W3C Web Authentication level 3, 13.4.3). Anybody can ask for one, so they are bounded: of one place, and of
/// all, where the place that has most of them loses its oldest.
/// </summary>
public sealed class PasskeyChallenges([FromKeyedServices(Sessions.RealTime)] TimeProvider real)
{
    /// <summary>
    /// A challenge is good for so long: the browser asks for five minutes at most (W3C Web Authentication level 3,
    /// 15.1).
    /// </summary>
    public static readonly Duration Lasts = Duration.FromMinutes(5);

    /// <summary>At most so many of one place.</summary>
    public const int MostOfAPlace = 20;

    /// <summary>At most so many.</summary>
    public const int Most = 1000;

    private readonly Lock one = new();
    // The oldest first.
    private readonly List<Waiting> waiting = [];

    private sealed record Waiting(string Ticket, PasskeyChallenge Challenge, string Place, Instant Until);

    /// <summary>How many wait.</summary>
    internal int Count
    {
        get
        {
            lock (one)
                return waiting.Count;
        }
    }

    /// <summary>Keeps a challenge; what it is taken by.</summary>
    /// <param name="challenge">The challenge.</param>
    /// <param name="place">Where it was asked for.</param>
    public string Keep(PasskeyChallenge challenge, string place)
    {
        var ticket = Tokens.New();
        var now = real.GetUtcNow().ToInstant();
        lock (one)
        {
            waiting.RemoveAll(old => old.Until <= now);
            if (waiting.Count(old => old.Place == place) >= MostOfAPlace)
                Forget(place);
            else if (waiting.Count >= Most)
                Forget(waiting.CountBy(old => old.Place).MaxBy(count => count.Value).Key);
            waiting.Add(new Waiting(ticket, challenge, place, now + Lasts));
        }

        return ticket;
    }

    /// <summary>Takes a challenge for its one answer, whatever becomes of that; null where there is none.</summary>
    public PasskeyChallenge? Take(string? ticket)
    {
        lock (one)
        {
            if (waiting.FindIndex(known => known.Ticket == ticket) is not (>= 0 and var at))
                return null;
            var taken = waiting[at];
            waiting.RemoveAt(at);
            return taken.Until > real.GetUtcNow().ToInstant() ? taken.Challenge : null;
        }
    }

    private void Forget(string place) => waiting.RemoveAt(waiting.FindIndex(old => old.Place == place));
}
