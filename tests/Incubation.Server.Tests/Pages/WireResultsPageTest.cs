using System.Text;
using Bunit;
using Incubation.Bench;
using Incubation.Clinic;
using Incubation.Clinic.Instruments;
using Incubation.Clinic.People;
using Incubation.Exchange.Lis;
using Incubation.Model;
using Incubation.Records.Instruments;
using Incubation.Server.Pages.Instruments;
using Incubation.Service.Benches;
using Incubation.Service.Clinic;
using Incubation.Service.Clock;
using Incubation.Service.Instruments;
using Incubation.Service.Record;
using Incubation.Service.Tests.Support;
using Microsoft.Extensions.DependencyInjection;

namespace Incubation.Server.Tests.Pages;

/// <summary>The page of results by wire offers nothing that is refused, and says what to do instead.</summary>
public sealed class WireResultsPageTest : DemoPages
{
    public WireResultsPageTest()
    {
        JSInterop.Mode = JSRuntimeMode.Loose;
        Share<ClinicHost>();
        Share<BenchRegistry>();
        Share<AccessLog>();
        Share<WireInbox>();
        Assert.Empty(Share<InstrumentService>().Set(ControlsHouse.Person("mara", Role.Administrator), null,
            new InstrumentForm
            {
                Name = "Reader",
                Bench = "bench-1",
                Port = "40401",
                Peers = "127.0.0.1",
                Tests = "A = DA = mg/L",
                OnlyListens = "no",
            }).Select(fault => fault.Sentence));
    }

    [Theory]
    [InlineData("A", "12,5", "mg/L", "The value cannot be read in one way.")]
    [InlineData("B", "12.5", "mg/L", "The test \"B\" is not in the table of this reader.")]
    [InlineData("A", "12.5", "ug/L", "The reader says ug/L, and the table says mg/L.")]
    [InlineData("A", "12.5", "mg/L", "No cartridge of DA on this bench waits for a result.")]
    public async Task Question_ThatCannotBeEntered_OffersNoCartridgeAndSaysWhatToDo(string test, string value,
        string unit, string said)
    {
        var page = await PageAfter($"H|\\^&\rP|1\rO|1|T-9||^^^{test}\rR|1|^^^{test}|{value}|{unit}||||F\rL|1|N\r");

        Assert.Contains(said, page.Find(".wire-question form").TextContent, StringComparison.Ordinal);
        Assert.Equal("results/bench-1", page.Find(".wire-question form a").GetAttribute("href"));
        Assert.Empty(page.FindAll(".wire-question select, .wire-question .button-primary"));
        Assert.Equal(["Match again", "Put aside"],
            page.FindAll(".wire-question button").Select(button => button.TextContent.Trim()));
    }

    [Fact]
    public async Task Message_WithoutAHeader_ShowsWhatItSaysOfSpecimensAndResults()
    {
        var page = await PageAfter("P|1||||Name\rO|1|T-9\rR|1|^^^A|12.5|mg/L\rL|1|N\r");

        Assert.Equal(["O|1|T-9", "R|1|^^^A|12.5|mg/L"],
            page.FindAll(".wire-question .code").Select(record => record.TextContent.Trim()));
        Assert.Equal(["Put aside"], page.FindAll(".wire-question button").Select(button => button.TextContent.Trim()));
    }

    /// <summary>Who may not put it aside is told who may, and has no button that is refused.</summary>
    [Theory]
    [InlineData(Role.Aide, false)]
    [InlineData(Role.Supervisor, true)]
    public void Question_AgainstAResultThatStands_IsPutAsideByASupervisorAlone(Role role, bool may)
    {
        var log = Server.Services.GetRequiredService<ClinicHost>().Log;
        var now = Server.Services.GetRequiredService<BenchClock>().Now;
        var by = new Provenance(new ReportId("wire.taken"), now, now, new PersonId("wire-1"), new DeviceId("wire-1"));
        log.Record(new ClinicEvent.WireMessageTaken(Instrument.IdOf(1), 1, new string('a', 64), new string('b', 64), 9,
            IsWhole: true), by);
        log.Record(new ClinicEvent.WireMessageJudged(1,
            [new WireFate(1, WireVerdict.Asked, MatchQuestion.OtherValue, RequestId.Of("R01"))]),
            by with { Id = new ReportId("wire.judged") });
        Front.Who = ControlsHouse.Person("tess", role);
        Begin();
        var page = Render<WireResultsPage>();

        Assert.Equal(may, page.FindAll(".wire-question button").Count == 1);
        Assert.Equal(may, page.FindAll(".wire-question input").Count == 1);
        Assert.Equal(!may, page.Find(".wire-question").TextContent.Contains(
            "a supervisor decides whether it is put aside", StringComparison.Ordinal));
    }

    private async Task<IRenderedComponent<WireResultsPage>> PageAfter(string message)
    {
        Share<WireTaker>().Keep(new WireArrival(Instrument.IdOf(1), "by hand"),
            new LinkAct.Store(1, 0, Encoding.ASCII.GetBytes(message), IsLast: true));
        Assert.True(await Share<WireJudge>().JudgeAllAsync());
        Front.Who = ControlsHouse.Lena;
        Begin();
        return Render<WireResultsPage>();
    }
}
