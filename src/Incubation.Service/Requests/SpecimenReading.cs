using Incubation.Model;
using Incubation.Service.Clock;
using Incubation.Service.Text;
using NodaTime;

namespace Incubation.Service.Requests;

/// <summary>What is stated of a request's specimen, judged by its assay's sheet.</summary>
/// <param name="rule">Which specimens may be run.</param>
/// <param name="now">The present.</param>
/// <param name="wrong">Told what is wrong: the member, the sentence, the things in it.</param>
internal sealed class SpecimenReading(SpecimenRule rule, Instant now, Action<string, string, object?[]> wrong)
{
    /// <summary>No specimen is older than this.</summary>
    private static readonly Instant Earliest = Instant.FromUtc(1990, 1, 1, 0, 0);

    /// <summary>Its type, or null where none was stated.</summary>
    public string? Type(string? stated)
    {
        var type = stated?.Trim();
        if (string.IsNullOrEmpty(type))
            return null;
        if (!Bounds.IsIdentifier(type))
            wrong("specimenType", Words.IntakeTextFault, []);
        else if (!rule.Types.IsEmpty && !rule.Types.Contains(type, StringComparer.OrdinalIgnoreCase))
            wrong("specimenType", RequestsWords.IntakeTypeNotAccepted, [type, string.Join(", ", rule.Types)]);
        return type;
    }

    /// <summary>A time that has passed, or null where none was stated.</summary>
    public Instant? Past(string member, Instant? stated)
    {
        if (stated is not { } at)
            return null;
        if (at <= now && at >= Earliest)
            return BenchClock.ToMilliseconds(at);
        wrong(member, at > now ? RequestsWords.IntakeNotYet : RequestsWords.IntakeTooLongAgo, [Earliest.InUtc().Year]);
        return null;
    }

    /// <summary>From when it may be mixed: not before it has stood at room temperature.</summary>
    public Instant Ready(Instant stated, Instant? takenOut) => takenOut is { } at
        ? Instant.Max(stated, at + rule.Stand) : stated;

    /// <summary>When its load must end: not later than its age allows.</summary>
    public Instant LoadBy(Instant by, Instant? collected, Instant ready)
    {
        if (collected is not { } at || rule.LongestAge is not { } age)
            return by;
        if (at + age <= ready)
            wrong("collected", RequestsWords.IntakeTooOld, [Say.Length(age)]);
        return Instant.Min(by, at + age);
    }
}
