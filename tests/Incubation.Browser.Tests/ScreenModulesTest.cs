using System.Text.Json;
using Xunit;

namespace Incubation.Browser.Tests;

/// <summary>What the screens work out by themselves: the modules' own functions, run in the browser that they are written for.</summary>
public sealed class ScreenModulesTest(Browser browser, ScreenModulesTest.Running running) : IClassFixture<ScreenModulesTest.Running>
{
    /// <summary>One server for all of these tests: they only fetch its files.</summary>
    public sealed class Running : IAsyncLifetime
    {
        internal ServerProcess Server { get; private set; } = null!;

        public async ValueTask InitializeAsync() => Server = await ServerProcess.StartDemo(CancellationToken.None);

        public ValueTask DisposeAsync() => Server.DisposeAsync();
    }

    // A snapshot in the making: an instant is a number of seconds after noon.
    private const string Helpers = """
        const t = s => new Date(Date.UTC(2026, 2, 2, 12, 0, 0) + s * 1000).toISOString();
        const alarm = (id, priority, from, until = null) =>
          ({ id, priority, word: '', title: '', text: '', from: t(from), until: until === null ? null : t(until), deadline: null, acknowledged: false, request: id, actions: [], reader: null });
        const offer = (key, kind, prompt, begin, request = key) =>
          ({ key, kind, hands: 1, handsText: '', title: key, detail: '', button: key, countdownToBegin: '', countdownToLatest: '', urgent: false, request, specimen: request, slot: null, reader: 1,
             lot: null, promptAt: t(prompt), mayBegin: t(begin), plannedEnd: t(begin + 30), countTo: t(begin + 30), latestStart: null, reportFrom: t(begin), askWhenAfter: null, windowOpens: null, windowCloses: null });
        const step = (kind, start, request, lot = null) => ({ title: kind + ' ' + request, start: t(start), spareSeconds: 60, urgent: false, request, kind, slot: null, reader: 1, lot });
        const slot = (number, request, opens, closes) => ({ slot: number, request, specimen: request, assay: '', urgent: false, opens: t(opens), guardFrom: t(closes - 15), closes: t(closes), moveAt: t(opens) });
        const snapshot = parts => ({ bench: 'bench-1', revision: 1, serverTime: t(0), rate: 1, zone: 'UTC', offers: [], upcoming: [], slots: [], readers: [], alarms: [], ...parts });
        const w = key => key;

        """;

    private async Task<JsonElement> Run(string module, string body)
    {
        var page = await browser.Open(400, 400);
        await page.GotoAsync(new Uri(running.Server.Address, "no-such-page").ToString());
        var answer = await page.EvaluateAsync<JsonElement?>($$"""async () => { const m = await import('/js/{{module}}'); {{Helpers}} {{body}} }""");
        await page.Context.CloseAsync();
        return answer!.Value;
    }

    private static string[] Texts(JsonElement list) => [.. list.EnumerateArray().Select(e => e.ToString())];

    [Theory]
    [InlineData("DB-L2", "-L2", true)]
    [InlineData("DB-L2", "b-l2", true)]
    [InlineData("DA-L1", "-L1", false)]
    [InlineData("DA-L1", "A-L1", true)]
    [InlineData("DB-L2", "L2", false)]
    [InlineData("DB-L2", "-L1", false)]
    [InlineData("L2", "l2", true)]
    [InlineData("L2", "2", false)]
    // The element string as a scanner types it: GTIN, then the lot after its prefix 10.
    [InlineData("ABC123", "(01)12312312312333(10)ABC123", true)]
    [InlineData("ABC123", "]d2011231231231233310ABC123", true)]
    [InlineData("ABC12", "(01)12312312312333(10)ABC123", false)]
    public async Task NamesLot_TypedOrScanned_IsTheLotOrNot(string lot, string typed, bool expected)
    {
        var said = await Run("reports.js", $"return [m.namesLot({JsonSerializer.Serialize(typed)}, {JsonSerializer.Serialize(lot)}, ['DA-L1', 'DC-L1', 'DB-L2', 'L2X'])];");
        Assert.Equal(expected, said[0].GetBoolean());
    }

    [Theory]
    [InlineData("11:59:50", -10)]
    [InlineData("115950", -10)]
    [InlineData("11:59", -60)]
    [InlineData("12:00:00", 0)]
    [InlineData("12:00:05", null)]
    [InlineData("25:00", null)]
    [InlineData("soon", null)]
    public async Task ReadClock_TimeOnTheReader_IsTheLatestSuchInstant(string typed, int? secondsFromNoon)
    {
        var read = await Run("dialogs.js", $"const at = m.readClock('{typed}', Date.parse(t(0)), 'UTC'); return [at === null ? null : (at - Date.parse(t(0))) / 1000];");
        Assert.Equal(secondsFromNoon, read[0].ValueKind == JsonValueKind.Null ? null : read[0].GetInt32());
    }

    [Fact]
    public async Task ServerClock_SeveralRoundTrips_BelievesTheQuickest()
    {
        var read = await Run("clock.js", """
            let local = 1000; const clock = new m.ServerClock(() => local);
            clock.sample(500_000, 2, 900, 1000);   // 100 ms: true time at the middle, 950
            clock.sample(700_000, 2, 0, 1000);     // a slow one says nonsense
            local = 1950;
            return [clock.now(), clock.realUntil(504_000)];
            """);
        // 1000 ms of real time after the middle, at twice the rate.
        Assert.Equal(502_000, read[0].GetDouble());
        Assert.Equal(1000, read[1].GetDouble());
    }

    [Fact]
    public async Task PlanSounds_TwoAlarms_SoundTheMoreUrgentInItsOwnRhythm()
    {
        var sounds = Texts(await Run("soundplan.js", """
            const s = snapshot({ alarms: [alarm('a', 'medium', -5), alarm('b', 'high', 10)] });
            return m.planSounds(s, Date.parse(t(0)), 1, 24_000, new Set()).map(x => x.kind + '@' + x.inMs / 1000);
            """));
        // The medium one's beat is each 12 s from −5; from 10 on the high one sounds, each 6 s.
        Assert.Equal(["medium@7", "high@10", "high@16", "high@22"], sounds);
    }

    [Fact]
    public async Task PlanSounds_AskedAgainLater_KeepsTheSameSounds()
    {
        var same = await Run("soundplan.js", """
            const s = snapshot({ alarms: [alarm('b', 'high', 10)], offers: [offer('o', 'mix', 2, 40)] });
            const ids = now => m.planSounds(s, Date.parse(t(now)), 1, 60_000, new Set()).map(x => x.id);
            const later = ids(5);
            return [ids(0).filter(id => later.includes(id)).length >= later.length - 1, later.length > 5];
            """);
        Assert.All(same.EnumerateArray(), e => Assert.True(e.GetBoolean()));
    }

    [Fact]
    public async Task PlanSounds_PromptAtTwentyTimesTheRate_ComesAtItsRealTime()
    {
        var sounds = Texts(await Run("soundplan.js", """
            const s = snapshot({ offers: [offer('o', 'mix', 20, 40)] });
            return m.planSounds(s, Date.parse(t(0)), 20, 60_000, new Set()).map(x => x.kind + '@' + x.inMs / 1000);
            """));
        Assert.Equal(["prompt@1", "prompt@2"], sounds);
    }

    [Theory]
    [InlineData("new Set(['b'])")]
    [InlineData("new Set()", true)]
    public async Task PlanSounds_AlarmSeen_IsSilent(string silenced, bool acknowledged = false)
    {
        var sounds = Texts(await Run("soundplan.js", $$"""
            const b = { ...alarm('b', 'high', -5), acknowledged: {{(acknowledged ? "true" : "false")}} };
            return m.planSounds(snapshot({ alarms: [b] }), Date.parse(t(0)), 1, 60_000, {{silenced}}).map(x => x.id);
            """));
        Assert.Empty(sounds);
    }

    [Fact]
    public async Task PlanSounds_PromptThatMeetsAnAlarm_IsLeftOut()
    {
        var sounds = Texts(await Run("soundplan.js", """
            const s = snapshot({ alarms: [alarm('b', 'high', 0, 4)], offers: [offer('o', 'mix', 1, 20)] });
            return m.planSounds(s, Date.parse(t(0)), 1, 60_000, new Set()).map(x => x.kind + '@' + x.inMs / 1000);
            """));
        Assert.Equal(["high@0", "prompt@20"], sounds);
    }

    [Fact]
    public async Task Outbox_ServerGone_KeepsOrderAndSendsEachOnce()
    {
        var seen = Texts(await Run("outbox.js", """
            localStorage.clear();
            let there = false; const tried = []; const answered = [];
            const box = new m.Outbox('b', async c => { tried.push(c.id); return there ? { recorded: true, sentence: null, revision: 1 } : null; }, c => answered.push(c.id));
            box.add({ id: '1' }); box.add({ id: '2' }); await box.flush();
            const again = new m.Outbox('b', async c => { tried.push(c.id); return { recorded: true, sentence: null, revision: 1 }; }, c => answered.push(c.id));
            const kept = again.waiting().map(c => c.id);
            await again.flush(); await again.flush();
            return [kept.join(), answered.join(), String(again.waiting().length), String(tried.filter(x => x === '2').length)];
            """));
        Assert.Equal(["1,2", "1,2", "0", "1"], seen);
    }

    [Fact]
    public async Task OffersAlone_ReportWaiting_GoesOnInThePlansOrderWithoutNewLoads()
    {
        var offers = Texts(await Run("alone.js", """
            const s = snapshot({
              offers: [offer('move/A', 'move', 0, 20, 'A')],
              upcoming: [step('mix', 30, 'X'), step('clear', 90, 'A'), step('card-change', 100, null, 'L-77'), step('load', 120, 'X'), step('move', 200, 'B')],
              slots: [slot(1, 'A', 30, 110), slot(2, 'B', 215, 300)],
            });
            const said = (kind, request, reader = 1) => ({ id: kind, kind, request, reader, at: t(50) });
            const next = waiting => m.offersAlone(s, waiting, Date.parse(t(0)), w).map(o => o.kind + ' ' + (o.request ?? o.lot) + ' ' + (o.windowCloses === null ? '' : (Date.parse(o.countTo) - Date.parse(t(0))) / 1000));
            return [next([])[0], next([said('read-started', 'A')])[0], next([said('read-started', 'A'), said('cleared', 'A')])[0],
                    next([said('read-started', 'A'), said('cleared', 'A'), said('card-changed', null)])[0]];
            """));
        Assert.Equal(["move A ", "clear A ", "card-change L-77 ", "move B 300"], offers);
    }

    [Fact]
    public async Task OffersAlone_MixNotBegun_IsNotOffered()
    {
        var offers = Texts(await Run("alone.js", """
            const s = snapshot({ offers: [offer('mix/X', 'mix', 0, 20, 'X')], upcoming: [step('move', 200, 'B')], slots: [slot(2, 'B', 215, 300)] });
            return [m.offersAlone(s, [], Date.parse(t(10)), w)[0].kind, m.offersAlone(s, [], Date.parse(t(25)), w)[0].kind];
            """));
        Assert.Equal(["move", "mix"], offers);
    }

    [Theory]
    [InlineData(0, "0:00")]
    [InlineData(1, "0:01")]
    [InlineData(59_001, "1:00")]
    [InlineData(3_599_000, "59:59")]
    [InlineData(3_600_000, "1:00:00")]
    [InlineData(-5, "0:00")]
    public async Task Length_Milliseconds_AreReadAsATimer(int milliseconds, string expected) =>
        Assert.Equal(expected, (await Run("format.js", $"return [m.length({milliseconds})];"))[0].GetString());
}
