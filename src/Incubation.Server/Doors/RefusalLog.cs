using Incubation.Clinic.People;
using NodaTime;
using NodaTime.Extensions;

namespace Incubation.Server.Doors;

/// <summary>
/// Says in the log who was refused what, and from where: wrong keys, and what somebody may not do who is known. At most
/// <see cref="MaxAMinute"/> lines a minute, so that nobody can fill the log; how many were left out is said then.
/// </summary>
public sealed partial class RefusalLog(TimeProvider time, ILogger<RefusalLog> logger)
{
    /// <summary>Lines a minute.</summary>
    public const int MaxAMinute = 60;

    private readonly Lock one = new();
    private Instant since;
    private int said;

    /// <summary>Somebody who is known may not do it.</summary>
    /// <param name="actor">Who.</param>
    /// <param name="what">What was asked for, without what it was asked for by name.</param>
    /// <param name="where">The network address.</param>
    public void NotAllowed(Actor? actor, string what, string where)
    {
        if (MaySay())
            RefusedTo(WhoIs(actor), what, where);
    }

    /// <summary>A key that opens nothing was presented.</summary>
    /// <param name="what">The kind of key.</param>
    /// <param name="where">The network address.</param>
    public void KeyUnknown(string what, string where)
    {
        if (MaySay())
            KeyRefused(what, where);
    }

    /// <summary>A program's key was presented whose last day has passed.</summary>
    /// <param name="key">What the log calls it.</param>
    /// <param name="where">The network address.</param>
    public void KeyHasEnded(string key, string where)
    {
        if (MaySay())
            EndedKeyRefused(key, where);
    }

    private static string WhoIs(Actor? actor) => actor switch
    {
        null => "nobody",
        Actor.Person person => person.Who.Id.Value + " through " + person.Device.Value,
        _ => actor.Device.Value,
    };

    private bool MaySay()
    {
        lock (one)
        {
            var now = time.GetUtcNow().ToInstant();
            if (now - since >= Duration.FromMinutes(1) || now < since)
            {
                if (said > MaxAMinute)
                    LeftOut(said - MaxAMinute);
                (since, said) = (now, 0);
            }

            return ++said <= MaxAMinute;
        }
    }

    [LoggerMessage(LogLevel.Warning, "Refused the key {Key} from {Where}: its last day has passed.")]
    private partial void EndedKeyRefused(string key, string where);

    [LoggerMessage(LogLevel.Warning, "Refused to {Who} from {Where}: {What}.")]
    private partial void RefusedTo(string who, string what, string where);

    [LoggerMessage(LogLevel.Warning, "Refused from {Where}: the key of a {What} that opens nothing.")]
    private partial void KeyRefused(string what, string where);

    [LoggerMessage(LogLevel.Warning, "{Count} further refusals within a minute are not named.")]
    private partial void LeftOut(int count);
}
