using Incubation.Clinic.Worklist;
using Incubation.Model;
using NodaTime;

namespace Incubation.Clinic.TestKit;

/// <summary>Orders that come to an invented clinic.</summary>
public static class WorklistStory
{
    public static OrderSource Source { get; } = new("Ward 7");

    /// <summary>How many rows there are before the first order.</summary>
    public static long Before { get; } = ClinicStory.Commands.Sum(command => command.Events.Length);

    public static OrderContent Content { get; } = new(SpecimenId.Of("SP-71"), ClinicStory.A, Priority.Urgent,
        "1970-01-01", "serum", StoryProvenance.Morning - Duration.FromHours(1),
        StoryProvenance.Morning + Duration.FromHours(4), "Fasting.");

    /// <summary>Three by one number and another; one is run, waits again and is run once more, one is cancelled.
    /// </summary>
    public static IReadOnlyList<StoryCommand> Commands { get; } =
    [
        .. ClinicStory.Commands,
        .. StoryCommand.Numbered(
            [
                [Received("N-1", Content), Received("N-1", Content with { Assay = ClinicStory.B })],
                [Received("N-2", new OrderContent(SpecimenId.Of("SP-72"), ClinicStory.A, Priority.Routine, null, null,
                    null, null, null))],
                [new ClinicEvent.OrderPlaced(Before + 1, ClinicStory.Bench, RequestId.Of("R01"))],
                [new ClinicEvent.OrderReturned(Before + 1, RequestId.Of("R01"))],
                [new ClinicEvent.OrderPlaced(Before + 1, ClinicStory.Bench, RequestId.Of("R02"))],
                [new ClinicEvent.OrderCancelled(Before + 3, "Ordered by mistake.")],
            ], 800),
    ];

    /// <summary>After all of that: what was cancelled goes when its days are over.</summary>
    public static StoryCommand Erased { get; } = new(
        [new ClinicEvent.OrdersErased([Before + 3], [new RowRange(Before + 3, Before + 3),
            new RowRange(Before + 7, Before + 7)], WorklistState.KeptDays)], StoryProvenance.Of(820) with
            {
                Arrived = StoryProvenance.Morning + Duration.FromDays(100),
            });

    public static ClinicEvent.OrderReceived Received(string number, OrderContent content) =>
        new(Source, new OrderNumber(number), content);
}
