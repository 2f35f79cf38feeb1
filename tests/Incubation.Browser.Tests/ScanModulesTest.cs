using System.Text.Json;
using Xunit;

namespace Incubation.Browser.Tests;

/// <summary>Scans at the bench: what is a scan and what is typing, and what a label means for the step that is due.</summary>
public sealed class ScanModulesTest(Browser browser, ScreenModulesTest.Running running) : IClassFixture<ScreenModulesTest.Running>
{
    // Slots 3 and 5 hold cartridges, the reader holds one, one waits, one is over; slot 3's is due.
    private const string Helpers = """
        const label = (request, over = false) => ({ code: 'CR.bench-1.' + request, request, specimen: 'SP-' + request, assay: 'X', over });
        const slot = (number, request) => ({ slot: number, request });
        const snapshot = {
          bench: 'bench-1', slots: [slot(3, 'A'), slot(5, 'B'), slot(6, null)], readers: [{ reader: 1, request: 'C' }],
          labels: [label('A'), label('B'), label('C'), label('D'), label('E', true)],
        };
        const offer = (kind, request, title = kind) => ({ kind, request, specimen: request ? 'SP-' + request : null, title, key: kind + request, hands: 1 });
        const move = offer('move', 'A', 'Move slot 3 to the reader');
        const said = { LabelRight: 'right {0} {1}', LabelWrong: '{0}; {1} is due', LabelCardDue: '{0} card {1}', LabelNothingDue: '{0} nothing', LabelOver: 'over {0}', LabelEarlier: 'earlier {0}',
          LabelOtherBench: 'other {0}', LabelNone: 'none {0}', LabelOfSlot: "slot {0}'s cartridge", LabelOfReader: 'in reader {0}', LabelOfSpecimen: 'of {0} for {1}' };
        const w = key => said[key];

        """;

    [Theory]
    [InlineData("CR.bench-1.A", "[move]", "move", "right SP-A Move slot 3 to the reader", true)]
    // Another keyboard layout, or a scanner set to small letters.
    [InlineData("cr.BENCH-1.a ", "[move]", "move", "right SP-A Move slot 3 to the reader", true)]
    // Due for another pair of hands.
    [InlineData("CR.bench-1.D", "[move, offer('mix', 'D')]", "move", "right SP-D mix", true)]
    [InlineData("CR.bench-1.B", "[move]", "move", "slot 5's cartridge; slot 3's cartridge is due", false)]
    [InlineData("CR.bench-1.C", "[move]", "move", "in reader 1; slot 3's cartridge is due", false)]
    [InlineData("CR.bench-1.D", "[move]", "move", "of SP-D for X; slot 3's cartridge is due", false)]
    [InlineData("CR.bench-1.B", "[offer('card-change', null, 'Change the card')]", "offer('card-change', null, 'Change the card')", "slot 5's cartridge card Change the card", false)]
    [InlineData("CR.bench-1.B", "[]", "null", "slot 5's cartridge nothing", false)]
    [InlineData("CR.bench-1.E", "[move]", "move", "over SP-E", false)]
    [InlineData("CR.bench-1.Z", "[move]", "move", "earlier CR.bench-1.Z", false)]
    [InlineData("CR.bench-2.A", "[move]", "move", "other CR.bench-2.A", false)]
    [InlineData("CR.bench-11.A", "[move]", "move", "other CR.bench-11.A", false)]
    [InlineData("0112312312312333", "[move]", "move", "none 0112312312312333", false)]
    public async Task JudgeLabel_Scan_IsTheCartridgeThatIsDueOrIsStopped(string scanned, string offers, string due, string sentence, bool isDue)
    {
        var judged = await Run("labels.js", $$"""const f = m.judgeLabel(w, snapshot, {{offers}}, {{due}}, {{JsonSerializer.Serialize(scanned)}}); return [f.sentence, f.offer !== null];""");
        Assert.Equal((sentence, isDue), (judged[0].GetString(), judged[1].GetBoolean()));
    }

    /// <summary>Keys and the milliseconds before each.</summary>
    [Theory]
    [InlineData("CR.bench-1.A", 5, 5, "CR.bench-1.A")]
    [InlineData("CR.bench-1.A", 40, 40, "CR.bench-1.A")]
    [InlineData("CR.bench-1.A", 90, 5, null)]
    [InlineData("CR.bench-1.A", 5, 400, null)]
    [InlineData("ABC", 5, 5, null)]
    public async Task Burst_Keys_AreAScanOnlyWhereTheyComeFastAndEndWithEnter(string text, int gap, int beforeEnter, string? expected)
    {
        var found = await Run("wedge.js", $$"""
            const b = new m.Burst(); let at = 1000;
            for (const key of {{JsonSerializer.Serialize(text)}}) b.key(key, at += {{gap}});
            return [b.key('Enter', at + {{beforeEnter}}).scanned];
            """);
        Assert.Equal(expected, found[0].GetString());
    }

    [Fact]
    public async Task Burst_TypedBeforeAndShiftWithin_BelongsToNoScan()
    {
        var found = await Run("wedge.js", """
            const b = new m.Burst();
            const typed = b.key('x', 0).isBurst;
            for (const [key, at] of [['Shift', 900], ['C', 905], ['Shift', 910], ['R', 915], ['.', 920], ['1', 925]]) b.key(key, at);
            return [typed, b.key('Enter', 930).scanned];
            """);
        Assert.Equal((false, "CR.1"), (found[0].GetBoolean(), found[1].GetString()));
    }

    private async Task<JsonElement> Run(string module, string body)
    {
        var page = await browser.Open(400, 400);
        await page.GotoAsync(new Uri(running.Server.Address, "no-such-page").ToString());
        return (await page.EvaluateAsync<JsonElement?>($$"""async () => { const m = await import('/js/{{module}}'); {{Helpers}} {{body}} }"""))!.Value;
    }
}
