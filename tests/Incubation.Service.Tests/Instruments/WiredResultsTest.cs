using System.Text;
using Incubation.Bench;
using Incubation.Exchange.Lis;
using Incubation.Model;
using Incubation.Service.Instruments;
using NodaTime;

namespace Incubation.Service.Tests.Instruments;

/// <summary>What a reader's message becomes before its bench is asked whose it is.</summary>
public sealed class WiredResultsTest
{
    [Theory]
    [InlineData("R|1|^^^DA|4.20|mg/l||||F", "4.20", null)]
    [InlineData("R|1|^^^DA|>10|mg/l||>||V", ">10", null)]
    [InlineData("R|1|^^^DA|4.20|mg/l||HH||F", "4.20", null)]
    [InlineData("R|1|^^^DA|4.20|mg/l||E17||F", "4.20", MatchQuestion.ReaderRemarks)]
    [InlineData("R|1|^^^DA|4.20|mg/l||||F\rC|1|I|result not valid|I", "4.20", MatchQuestion.ReaderRemarks)]
    [InlineData("R|1|^^^DA|4.20|mg/l||||F\rC|1|I|result not valid", "4.20", MatchQuestion.ReaderRemarks)]
    [InlineData("R|1|^^^DA|4.20|mg/l||||F\rC|1|I|lot 12|G", "4.20", null)]
    [InlineData("R|1|^^^DA|4.20|mg/l||||R", "4.20", null)]
    [InlineData("R|1|^^^DA|4.20|mg/l||||C", "4.20", MatchQuestion.Correction)]
    [InlineData("R|1|^^^DA|4.20|mg/l||||P", "4.20", MatchQuestion.NotFinal)]
    [InlineData("R|1|^^^DA||mg/l||||I", null, MatchQuestion.NotFinal)]
    [InlineData("R|1|^^^DA|4.20|mg/l||||W", "4.20", MatchQuestion.NotFinal)]
    [InlineData("R|1|^^^DA|4.20|mg/l||||K", "4.20", MatchQuestion.NotUnderstood)]
    [InlineData("R|1|^^^DA|10|mg/l||>||F", "10", MatchQuestion.NotUnderstood)]
    [InlineData("R|1|^^^DA|4,20|mg/l||||F", null, null)]
    [InlineData("R|1|^^^DA|positive|||||F", null, null)]
    [InlineData("R|1|^^^DA||||||X", "X", null)]
    [InlineData("R|1|^^^DA|E-17|||||X", "E-17", null)]
    [InlineData("R|1|^^^DA||||B||X", "B", null)]
    [InlineData("R|1|^^^DA||||||X\rC|1|I|strip wet", "strip wet", null)]
    public void Of_AResult_IsWhatTheReaderShowsAndWhatSpeaksAgainstIt(string record, string? shown,
        MatchQuestion? objection)
    {
        var result = Assert.Single(WiredResults.Of(Read("H|\\^&", record), null));
        Assert.Equal((shown, objection), (Words(result.Shown), result.Objection));
        Assert.Equal(("SP-R1", "DA"), (result.Specimen, result.Test));
    }

    [Theory]
    [InlineData("H|\\^&||||||||||P", "L|1|N", null)]
    [InlineData("H|\\^&||||||||||T", "L|1|N", MatchQuestion.NotMeant)]
    [InlineData("H|\\^&||||||||||D", "L|1|N", MatchQuestion.NotMeant)]
    [InlineData("H|\\^&||||||||||P", "L|1|T", MatchQuestion.NotMeant)]
    [InlineData("H|\\^&||||||||||P", "L|1|E", MatchQuestion.NotMeant)]
    [InlineData("H|\\^&||||||||||P", "C|1|I|no end", MatchQuestion.NotMeant)]
    [InlineData("H|\\^&||||||||||P", "L|1|N\rR|2|^^^DA|5", MatchQuestion.NotUnderstood)]
    public void Of_AMessageThatIsNoneOfResults_SpeaksAgainstEach(string header, string last,
        MatchQuestion? objection) =>
        Assert.Equal(objection,
            Assert.Single(WiredResults.Of(Read(header, "R|1|^^^DA|4.20|mg/l||||F", last), null)).Objection);

    /// <summary>
    /// What the instrument remarks of the message, the patient or the order is said of each result under it, and of
    /// none before or beside it.
    /// </summary>
    [Theory]
    [InlineData("H|\\^&\rC|1|I|lamp fault|I\rP|1\rO|1|A||^^^DA\rR|1|^^^DA|1|\rP|2\rO|1|B||^^^DA\rR|1|^^^DA|2|", "A B")]
    [InlineData("H|\\^&\rP|1\rC|1|I|clot|I\rO|1|A||^^^DA\rR|1|^^^DA|1|\rP|2\rO|1|B||^^^DA\rR|1|^^^DA|2|", "A")]
    [InlineData("H|\\^&\rP|1\rO|1|A||^^^DA\rR|1|^^^DA|1|\rO|2|B||^^^DA\rC|1|I|clot|I\rR|1|^^^DA|2|", "B")]
    [InlineData("H|\\^&\rP|1\rO|1|A||^^^DA\rC|1|I|clot|I\rR|1|^^^DA|1|\rO|2|B||^^^DA\rR|1|^^^DA|2|", "A")]
    public void Of_WhatTheInstrumentRemarks_SpeaksAgainstWhatStandsUnderIt(string records, string against)
    {
        var message = ReaderMessageReader.Read(Encoding.ASCII.GetBytes(records + "\rL|1|N\r"), LisEncoding.Ascii,
            DateTimeZone.Utc).Message!;
        Assert.Equal(against, string.Join(' ', WiredResults.Of(message, null)
            .Where(result => result.Objection == MatchQuestion.ReaderRemarks).Select(result => result.Specimen)));
    }

    /// <summary>Two values for one read contradict each other; one that is to be followed by the other does not.
    /// </summary>
    [Theory]
    [InlineData("R|2|^^^DA|5|mg/l||||F", MatchQuestion.SeveralValues, MatchQuestion.SeveralValues)]
    [InlineData("R|2|^^^DA|4.20|mg/dl||||F", MatchQuestion.SeveralValues, MatchQuestion.SeveralValues)]
    [InlineData("R|2|^^^DA|4.20|mg/l||||F", null, null)]
    [InlineData("R|2|^^^DB|5|mg/l||||F", null, null)]
    [InlineData("R|2|^^^DA|5|mg/l||||P", null, MatchQuestion.NotFinal)]
    public void Of_TwoResultsOfOneMessage_ContradictEachOtherOrDoNot(string second, MatchQuestion? first,
        MatchQuestion? other) => Assert.Equal([first, other],
            WiredResults.Of(Read("H|\\^&", "R|1|^^^DA|4.20|mg/l||||F\r" + second), null)
                .Select(result => result.Objection));

    [Fact]
    public void Of_AReadersTime_IsSetRightOrLeftOut()
    {
        var message = Read("H|\\^&", "R|1|^^^DA|4.20|mg/l||||F||||20260302081010");
        var at = Instant.FromUtc(2026, 3, 2, 8, 10, 0);
        Assert.Equal(new InstantRange(at, at),
            Assert.Single(WiredResults.Of(message, Duration.FromSeconds(10))).ReadAt);
        Assert.Null(Assert.Single(WiredResults.Of(message, null)).ReadAt);
    }

    [Theory]
    [InlineData("H|\\^&||||||||||Q", "N")]
    [InlineData("H|\\^&||||||||||P", "Q")]
    public void Of_AControl_IsSaidByHeaderOrOrder(string header, string action) =>
        Assert.True(Assert.Single(WiredResults.Of(Read(header, "R|1|^^^DA|4.20", action: action), null)).IsControl);

    private static ReaderMessage Read(string header, string record, string last = "L|1|N", string action = "N") =>
        ReaderMessageReader.Read(Encoding.UTF8.GetBytes(
            $"{header}\rP|1\rO|1|SP-R1||^^^DA|||||||{action}\r{record}\r{last}\r"), LisEncoding.Utf8,
            DateTimeZone.Utc).Message!;

    private static string? Words(ShownResult? shown) => shown switch
    {
        ShownResult.Value value => value.Text,
        ShownResult.NoValue none => none.Code,
        _ => null,
    };
}
