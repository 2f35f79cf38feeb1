using Incubation.Bench;
using Incubation.Clinic.Connections;
using Incubation.Model;
using NodaTime;

namespace Incubation.Clinic.TestKit;

/// <summary>The destinations of an invented clinic, and what they are told.</summary>
public static class ConnectionsStory
{
    public static DestinationId First { get; } = Connection.IdOf(1);

    public static Destination Records { get; } = new("Records", new DestinationWay.Webhook("https://records.test/in"),
        [NoticeTopic.Results], [NoticeField.Specimen, NoticeField.Bench], []);

    public static Destination Pager { get; } = new("Pager", new DestinationWay.Webhook("http://127.0.0.1:9/in"),
        [NoticeTopic.Results, NoticeTopic.Alarms], [NoticeField.Assay], ["127.0.0.1"]);

    public static NoticeId Notice { get; } = new(ClinicStory.Bench, 7, RequestId.Of("R01"));

    /// <summary>Two destinations, one of which is ended; what is said of messages, results and alarms.</summary>
    public static IReadOnlyList<StoryCommand> Commands { get; } =
    [
        .. ClinicStory.Commands,
        .. StoryCommand.Numbered(
            [
                [new ClinicEvent.DestinationAdded(First, Records, [new StreamEnd(ClinicStory.Bench, 3)])],
                [new ClinicEvent.DestinationAdded(Connection.IdOf(2), Pager, [])],
                [new ClinicEvent.DestinationChanged(First, Records with { Name = "Records 2" })],
                [new ClinicEvent.DestinationSecretReplaced(First,
                    StoryProvenance.Morning + Duration.FromDays(1))],
                [new ClinicEvent.DestinationSwitched(First, false, "It moves.")],
                [new ClinicEvent.DestinationSwitched(First, true, "It is back.")],
                [new ClinicEvent.DeliveryResent(First, Notice)],
                [new ClinicEvent.DeliveryGivenUp(First, Notice, "They have it on paper.")],
                [new ClinicEvent.ResultNoticed(ClinicStory.Bench, 1, RequestId.Of("R01"), NoticeKind.InDoubt)],
                [new ClinicEvent.AlarmNoticed(ClinicStory.Bench, AlarmKind.WindowInDanger, "slot 3",
                    StoryProvenance.Morning, null)],
                [new ClinicEvent.DestinationSwitched(First, false, "It moves again.")],
                [new ClinicEvent.DayResent(First, new LocalDate(2026, 3, 2), StoryProvenance.Morning,
                    StoryProvenance.Morning + Duration.FromDays(1))],
                [new ClinicEvent.DestinationEnded(Connection.IdOf(2), "It is sold.")],
            ], 800),
    ];
}
