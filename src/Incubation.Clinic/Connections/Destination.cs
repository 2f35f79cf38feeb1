using System.Collections.Immutable;
using System.Globalization;
using Incubation.Model;
using NodaTime;

namespace Incubation.Clinic.Connections;

/// <summary>What a destination is told of.</summary>
public enum NoticeTopic
{
    /// <summary>Patients' results: ready, amended, withheld, cancelled.</summary>
    Results,

    /// <summary>Alarms that nobody has seen. Nothing in them leads to a patient.</summary>
    Alarms,
}

/// <summary>What a destination may be told of a result beside the request's own id.</summary>
public enum NoticeField
{
    /// <summary>The specimen's id.</summary>
    Specimen,

    /// <summary>The assay's code.</summary>
    Assay,

    /// <summary>The bench and its batch.</summary>
    Bench,
}

/// <summary>By what a destination is reached: a kind of destination each.</summary>
public abstract record DestinationWay
{
    private DestinationWay() { }

    /// <summary>Messages are posted to an address, signed.</summary>
    /// <param name="Address">The address, absolute: https, or http where its host is among those that an administrator
    /// has named.</param>
    public sealed record Webhook(string Address) : DestinationWay;
}

/// <summary>Somewhere else that is told of results or alarms.</summary>
/// <param name="Name">The name that people read.</param>
/// <param name="Way">By what it is reached.</param>
/// <param name="Topics">What it is told of; at least one, and never another.</param>
/// <param name="Fields">What it is told of a result beside the request's id.</param>
/// <param name="Named">Addresses, in numbers, that an administrator has named for it: this machine, this link, or one
/// that is reached without TLS.</param>
public sealed record Destination(string Name, DestinationWay Way, ImmutableArray<NoticeTopic> Topics,
    ImmutableArray<NoticeField> Fields, ImmutableArray<string> Named)
{
    /// <summary>The longest address, in characters.</summary>
    public const int MaxAddress = 500;

    /// <summary>The most addresses that are named for one.</summary>
    public const int MaxNamed = 8;

    /// <summary>Whether it can be so at all.</summary>
    public bool IsPossible => Bounds.IsName(Name)
        && !Topics.IsDefaultOrEmpty && Topics.Distinct().Count() == Topics.Length
        && !Fields.IsDefault && Fields.Distinct().Count() == Fields.Length
        && !Named.IsDefault && Named.Length <= MaxNamed && Named.Distinct().Count() == Named.Length
        && Named.All(Bounds.IsIdentifier)
        && Way is DestinationWay.Webhook webhook && IsAddress(webhook.Address);

    /// <summary>Whether a text can be the address of a webhook: no user's name, no part after a hash sign.</summary>
    public static bool IsAddress(string? text) => text is { Length: > 0 and <= MaxAddress }
        && Uri.TryCreate(text, UriKind.Absolute, out var address)
        && (address.Scheme == Uri.UriSchemeHttps || address.Scheme == Uri.UriSchemeHttp)
        && address.Host.Length > 0 && address.UserInfo.Length == 0 && address.Fragment.Length == 0;

    /// <summary>
    /// Whether a notice's member may go to it: the one table of which destination gets which fields. What stands in an
    /// alarm names no patient, and goes whole.
    /// </summary>
    public bool Gets(NoticeField field) => Fields.Contains(field);
}

/// <summary>The end of a bench's stream.</summary>
/// <param name="Bench">The bench.</param>
/// <param name="Sequence">The sequence of its last row.</param>
public sealed record StreamEnd(BenchId Bench, long Sequence);

/// <summary>A destination as the clinic's stream tells of it.</summary>
/// <param name="Id">Names it in the log.</param>
/// <param name="Destination">What it is now.</param>
/// <param name="After">It is told of what came after these rows of the benches' streams.</param>
/// <param name="AddedAt">Its own row in the clinic's stream: it is told of what came after.</param>
/// <param name="By">Who changed it last.</param>
/// <param name="At">When.</param>
public sealed record Connection(DestinationId Id, Destination Destination, ImmutableArray<StreamEnd> After,
    long AddedAt, PersonId By, Instant At)
{
    /// <summary>Why nothing is sent to it for now, in words; null where it is sent to.</summary>
    public string? WhyOff { get; init; }

    /// <summary>Whether it is used no more.</summary>
    public bool HasEnded { get; init; }

    /// <summary>Of what was told in these spans it is told as well, though that was before it, and again.</summary>
    public ImmutableArray<Interval> Again { get; init; } = [];

    /// <summary>The row of the clinic's stream by which it was last to be told again; 0 for none.</summary>
    public long AgainSince { get; init; }

    /// <summary>The id of the n-th destination.</summary>
    public static DestinationId IdOf(int number) =>
        new("to-" + number.ToString(CultureInfo.InvariantCulture));

    /// <summary>Told again of what was told in a span. Spans that touch become one.</summary>
    /// <param name="span">The span.</param>
    /// <param name="row">The row of the clinic's stream that says so.</param>
    internal Connection ToldAgain(Interval span, long row)
    {
        var touching = Again.Where(one => one.Start <= span.End && span.Start <= one.End).Append(span).ToList();
        return this with
        {
            Again = [.. Again.Except(touching),
                new Interval(touching.Min(one => one.Start), touching.Max(one => one.End))],
            AgainSince = row,
        };
    }

    /// <summary>Whether it is told of a notice.</summary>
    /// <param name="notice">Which.</param>
    /// <param name="kind">What it says.</param>
    /// <param name="at">When what it tells of was recorded.</param>
    public bool IsToldOf(NoticeId notice, NoticeKind kind, Instant at)
    {
        ArgumentNullException.ThrowIfNull(notice);
        var topic = kind == NoticeKind.Alarm ? NoticeTopic.Alarms : NoticeTopic.Results;
        return Destination.Topics.Contains(topic)
            && (notice.Sequence > (notice.Bench is not { } bench ? AddedAt
                    : After.FirstOrDefault(one => one.Bench == bench)?.Sequence ?? 0)
                || (topic == NoticeTopic.Results && Again.Any(span => span.Contains(at))));
    }
}
