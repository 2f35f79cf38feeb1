using Incubation.Clinic;
using Incubation.Clinic.Connections;
using Incubation.Service.Text;

namespace Incubation.Service.Clinic;

/// <summary>The words of what the clinic's log says of destinations.</summary>
public static class ConnectionText
{
    /// <summary>Why the clinic's log refused something about a destination; null for what is not about one.</summary>
    public static string? Of(ClinicRefusal why) => why switch
    {
        ClinicRefusal.UnknownDestination => ConnectionsWords.RefusedUnknown,
        ClinicRefusal.DestinationImpossible => ConnectionsWords.RefusedImpossible,
        ClinicRefusal.DestinationIsSo => ConnectionsWords.RefusedIsSo,
        ClinicRefusal.DestinationsFull => Say.Of(ConnectionsWords.RefusedFull, ConnectionsState.MaxInUse),
        _ => null,
    };

    /// <summary>What happened, in a sentence; null for what is not about a destination.</summary>
    public static string? Of(ClinicEvent happened) => happened switch
    {
        ClinicEvent.DestinationAdded added => Say.Of(ConnectionsWords.LogAdded, added.What.Name, added.Destination,
            Of(added.What.Way), TopicsOf(added.What), FieldsOf(added.What), NamedOf(added.What)),
        ClinicEvent.DestinationChanged changed => Say.Of(ConnectionsWords.LogChanged, changed.What.Name,
            changed.Destination, Of(changed.What.Way), TopicsOf(changed.What), FieldsOf(changed.What),
            NamedOf(changed.What)),
        ClinicEvent.DestinationSecretReplaced replaced => Say.Of(ConnectionsWords.LogSecret, replaced.Destination),
        ClinicEvent.DestinationSwitched switched => Say.Of(switched.IsOn ? ConnectionsWords.LogOn
            : ConnectionsWords.LogOff, switched.Destination, switched.Why),
        ClinicEvent.DestinationEnded ended => Say.Of(ConnectionsWords.LogEnded, ended.Destination, ended.Why),
        ClinicEvent.DeliveryResent resent => Say.Of(ConnectionsWords.LogResent, Of(resent.Notice),
            resent.Destination),
        ClinicEvent.DayResent resent => Say.Of(ConnectionsWords.LogDay, Say.Day(resent.Day), resent.Destination),
        ClinicEvent.DeliveryGivenUp given => Say.Of(ConnectionsWords.LogGivenUp, Of(given.Notice), given.Destination,
            given.Why),
        ClinicEvent.ResultNoticed noticed => Say.Of(ConnectionsWords.LogNoticed, noticed.Request, noticed.Bench,
            noticed.Batch, Of(noticed.Kind)),
        ClinicEvent.AlarmNoticed noticed => Say.Of(ConnectionsWords.LogAlarm, noticed.Bench,
            Bench.Conditions.Of(noticed.Kind).Name),
        _ => null,
    };

    /// <summary>What a notice says, in a few words.</summary>
    public static string Of(NoticeKind kind) => kind switch
    {
        NoticeKind.Ready => ConnectionsWords.KindReady,
        NoticeKind.Amended => ConnectionsWords.KindAmended,
        NoticeKind.Withheld => ConnectionsWords.KindWithheld,
        NoticeKind.InDoubt => ConnectionsWords.KindInDoubt,
        NoticeKind.Cancelled => ConnectionsWords.KindCancelled,
        NoticeKind.Reopened => ConnectionsWords.KindReopened,
        NoticeKind.Alarm => ConnectionsWords.KindAlarm,
        _ => throw new ArgumentOutOfRangeException(nameof(kind), kind, "This notice has no words."),
    };

    /// <summary>What came of a try.</summary>
    public static string AnswerOf(DeliveryOutcome outcome) => outcome switch
    {
        DeliveryOutcome.Taken taken => taken.Answer,
        DeliveryOutcome.NotNow not => not.Answer,
        DeliveryOutcome.Refused refused => refused.Answer,
        DeliveryOutcome.Gone gone => gone.Answer,
        _ => throw new ArgumentOutOfRangeException(nameof(outcome), outcome, "This outcome has no words."),
    };

    /// <summary>What a destination may be told of a result.</summary>
    public static string Of(NoticeField field) => field switch
    {
        NoticeField.Specimen => ConnectionsWords.FieldSpecimen,
        NoticeField.Assay => ConnectionsWords.FieldAssay,
        NoticeField.Bench => ConnectionsWords.FieldBench,
        _ => throw new ArgumentOutOfRangeException(nameof(field), field, "This field has no words."),
    };

    /// <summary>What a destination is told of.</summary>
    public static string Of(NoticeTopic topic) => topic switch
    {
        NoticeTopic.Results => ConnectionsWords.TopicResults,
        NoticeTopic.Alarms => ConnectionsWords.TopicAlarms,
        _ => throw new ArgumentOutOfRangeException(nameof(topic), topic, "This topic has no words."),
    };

    /// <summary>By what a destination is reached.</summary>
    public static string Of(DestinationWay way) => way switch
    {
        DestinationWay.Webhook webhook => Say.Of(ConnectionsWords.ByWebhook, webhook.Address),
        _ => throw new ArgumentOutOfRangeException(nameof(way), way, "This way has no words."),
    };

    /// <summary>What a destination is told of, together.</summary>
    public static string TopicsOf(Destination destination)
    {
        ArgumentNullException.ThrowIfNull(destination);
        return string.Join(", ", destination.Topics.Select(Of));
    }

    /// <summary>What it gets of a result, together.</summary>
    public static string FieldsOf(Destination destination)
    {
        ArgumentNullException.ThrowIfNull(destination);
        return !destination.Topics.Contains(NoticeTopic.Results) ? ConnectionsWords.FieldsNone
            : string.Join(", ", destination.Fields.Select(Of).Prepend(ConnectionsWords.FieldRequest));
    }

    private static string NamedOf(Destination destination) => destination.Named.IsEmpty ? ConnectionsWords.NamedNone
        : string.Join(", ", destination.Named);

    private static string Of(NoticeId notice) => notice.Request?.Value ?? Say.Of(ConnectionsWords.AlarmAt,
        notice.Sequence);
}
