using Incubation.Bench;
using Incubation.Model;
using Incubation.Service.Tests.Support;
using NodaTime;

namespace Incubation.Service.Tests.Text;

/// <summary>Why a bench does not take something: said of what was said, and of nothing else.</summary>
public sealed class RefusalTextTest
{
    private static readonly RequestId R1 = new("R1");

    /// <summary>Each instruction that needs words, without them: only a correction is told about corrections.</summary>
    [Fact]
    public async Task Say_WithoutWords_SpeaksOfWhatWasSaid()
    {
        await using var rig = await WithAResult();
        var mixed = rig.Log.Entries.First(entry => entry.Event is BenchEvent.Mixed).Provenance.Id;
        await AssertSaid(rig, new BenchCommand.ReleaseResult(R1, " "), "may go out");
        await AssertSaid(rig, new BenchCommand.AmendResult(R1, new ShownResult.Value("5"), ""), "is amended");
        await AssertSaid(rig, new BenchCommand.ProposeAmendment(R1, new ShownResult.Value("5"), ""), "is amended");
        await AssertSaid(rig, new BenchCommand.TellCritical(R1, "", true), "who was told");
        await AssertSaid(rig, new BenchCommand.WaiveTelling(R1, ""), "nobody need be told");
        await AssertSaid(rig, new BenchCommand.RejectSpecimen(new SpecimenId("SP-9"), new AssayCode("DA"), ""),
            "the specimen is rejected");
        await AssertSaid(rig, new BenchCommand.GiveUpRequest(R1, "", true), "ends without a value");
        await AssertSaid(rig, new BenchCommand.CorrectReport(mixed, null, null, null, null, NeverDone: true),
            "correction");

        await rig.Must(new BenchCommand.ProposeAmendment(R1, new ShownResult.Value("5"), "Typing"));
        foreach (var look in new BenchCommand.OfResult[]
        {
            new BenchCommand.ConfirmAmendment(R1, ""), new BenchCommand.DeclineAmendment(R1, " "),
        })
            Assert.Equal(TextWords.RefusedLookUnexplained, (await rig.Runner.SendAsync(look,
                rig.Provenance() with { Person = new PersonId("second") })).Sentence);
    }

    /// <summary>What the bench does not know has no result to enter there.</summary>
    [Fact]
    public async Task Say_OfARequestThatIsNotThere_SaysSo()
    {
        await using var rig = await WithAResult();
        await rig.Must(new BenchCommand.AddRequests([BenchRig.Request("R2")]));
        Assert.Equal("R2 has no result yet. Enter it first.",
            (await rig.Say(new BenchCommand.ReleaseResult(new RequestId("R2"), "Read again"))).Sentence);
        Assert.StartsWith("There is no request R9 on this bench.",
            (await rig.Say(new BenchCommand.ReleaseResult(new RequestId("R9"), "Read again"))).Sentence,
            StringComparison.Ordinal);
    }

    private static async Task AssertSaid(BenchRig rig, BenchCommand command, string words)
    {
        var sentence = (await rig.Say(command)).Sentence!;
        Assert.Contains(words, sentence, StringComparison.Ordinal);
        Assert.Equal(command is BenchCommand.CorrectReport,
            sentence.Contains("correction", StringComparison.OrdinalIgnoreCase));
    }

    /// <summary>A bench whose one cartridge was run, its result entered against another identity.</summary>
    private static async Task<BenchRig> WithAResult()
    {
        var rig = await BenchRig.OpenAsync();
        await rig.Begin(BenchRig.Request("R1"));
        while (rig.Runner.Present.View.Offers is [var offer])
        {
            if (Instant.Max(offer.ReportFrom, offer.PlannedEnd) is var at && at > rig.Now)
                rig.Advance(at - rig.Now);
            await rig.Must(Simulation.VirtualAide.ReportOf(offer.Action));
            await rig.Until(view => view.View.Offers.IsEmpty || view.View.Offers[0].Action != offer.Action);
        }

        await rig.Must(new BenchCommand.ResultEntered(R1, new ShownResult.Value("4.2"), new ShownIdentity("SP-8")));
        return rig;
    }
}
