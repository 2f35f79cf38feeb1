using NodaTime;

namespace Incubation.Clinic.Connections;

/// <summary>How far a message to a destination is.</summary>
public enum DeliveryStatus
{
    /// <summary>It is to be sent.</summary>
    Waiting,

    /// <summary>It was taken.</summary>
    Sent,

    /// <summary>It was refused for good, and a person must say what becomes of it.</summary>
    Parked,

    /// <summary>A person has given it up.</summary>
    GivenUp,
}

/// <summary>A notice on its way to a destination.</summary>
/// <param name="Id">Which notice.</param>
/// <param name="Number">Its place among all notices of the clinic: the order in which they came about.</param>
/// <param name="Kind">What it says.</param>
/// <param name="Revision">Of an alarm 1; of a request, which of the notices about it.</param>
/// <param name="Status">How far it is.</param>
/// <param name="Tries">How often it was tried.</param>
/// <param name="NextTry">When it is to be tried next; of what has not been tried, the beginning of time.</param>
public sealed record Delivery(NoticeId Id, long Number, NoticeKind Kind, int Revision, DeliveryStatus Status,
    int Tries, Instant NextTry)
{
    /// <summary>When it was tried last; null where it was not.</summary>
    public Instant? LastTry { get; init; }

    /// <summary>What came of the last try, in words; null where it was not tried.</summary>
    public string? Answer { get; init; }

    /// <summary>Whether nothing more becomes of it.</summary>
    public bool IsOver => Status is DeliveryStatus.Sent or DeliveryStatus.GivenUp;
}

/// <summary>What came of a try.</summary>
public abstract record DeliveryOutcome
{
    private DeliveryOutcome() { }

    /// <summary>It was taken.</summary>
    public sealed record Taken(string Answer) : DeliveryOutcome;

    /// <summary>It was not taken now, and may be later.</summary>
    /// <param name="Answer">What came back, or what failed, in words.</param>
    /// <param name="NotBefore">How long its destination asks to be left alone; null where it does not.</param>
    public sealed record NotNow(string Answer, Duration? NotBefore = null) : DeliveryOutcome;

    /// <summary>It was refused, and sending it again would change nothing.</summary>
    public sealed record Refused(string Answer) : DeliveryOutcome;

    /// <summary>Its destination wants no more messages.</summary>
    public sealed record Gone(string Answer) : DeliveryOutcome;
}
