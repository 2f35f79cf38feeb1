using Incubation.Bench;
using Incubation.Clinic.Instruments;
using Incubation.Model;
using NodaTime;

namespace Incubation.Clinic.TestKit;

/// <summary>The instruments of an invented clinic, and what they sent.</summary>
public static class InstrumentsStory
{
    public static InstrumentId Reader { get; } = Instrument.IdOf(1);

    public static InstrumentLink Link { get; } = new("Reader 1", ClinicStory.Bench, new ReaderNumber(1),
        new WireTransport.Tcp("127.0.0.1", 4001, ["127.0.0.1", "192.0.2.7"]), WireEncoding.Utf8,
        [new ReaderTest("AA", ClinicStory.A, "mg/l"), new ReaderTest("BB", ClinicStory.B, "")], OnlyListens: false);

    public static WireFate Entered { get; } =
        new(1, WireVerdict.Entered, null, RequestId.Of("R01"), Duration.FromSeconds(7));

    public static WireFate Asked { get; } = new(2, WireVerdict.Asked, MatchQuestion.OtherSpecimen);

    /// <summary>One on a port, one on a line that is ended; a message with a question that is decided, and others.
    /// </summary>
    public static IReadOnlyList<StoryCommand> Commands { get; } =
    [
        .. ClinicStory.Commands,
        .. StoryCommand.Numbered(
            [
                [new ClinicEvent.InstrumentSet(Reader, Link)],
                [new ClinicEvent.InstrumentSet(Instrument.IdOf(2), Link with
                {
                    Name = "Reader 2",
                    Transport = new WireTransport.Serial("/dev/ttyUSB0", 9600),
                    Encoding = WireEncoding.Latin1,
                    OnlyListens = true,
                })],
                [Taken(1)],
                [new ClinicEvent.WireMessageJudged(1, [Entered, Asked, Asked with { Result = 3 }])],
                [new ClinicEvent.WireQuestionSettled(1, 2, WireSettling.Entered, RequestId.Of("R02"),
                    "It was this one.")],
                [Taken(2)],
                [new ClinicEvent.WireMessageJudged(2, [])],
                [new ClinicEvent.InstrumentEnded(Instrument.IdOf(2), "It is sold.")],
                [Taken(3)],
            ], 700),
    ];

    /// <summary>After all of that: the bytes of what was decided go when their days are over.</summary>
    public static StoryCommand Erased { get; } = new(
        [new ClinicEvent.WireMessagesErased([2], InstrumentsState.UsualDays)], StoryProvenance.Of(720) with
        {
            Arrived = StoryProvenance.Morning + Duration.FromDays(100),
        });

    public static ClinicEvent.WireMessageTaken Taken(long number) => new(Reader, number,
        new string((char)('a' + number), 64), new string('b', 64), 400, IsWhole: number != 2);
}
