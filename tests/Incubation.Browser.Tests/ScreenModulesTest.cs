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
          ({ id, priority, word: '', title: '', text: '', from: t(from), until: until === null ? null : t(until), deadline: null, escalatesAt: t(from + 30), acknowledged: false, passed: false, request: id, actions: [], slot: null, reader: null });
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
    [InlineData("2/3", 7, "2,3,4")]
    [InlineData("3/3", 7, "5,6")]
    [InlineData("1/1", 3, "0,1,2")]
    [InlineData("4/3", 3, "0,1,2")]
    [InlineData("1/4", 1, "")]
    [InlineData("x", 2, "0,1")]
    public async Task ShareOf_AScreenOfSeveral_NeighboursAndEachBenchOnce(string share, int benches, string expected)
    {
        var said = await Run("wallpages.js", $"return [m.shareOf([...Array({benches}).keys()], m.readShare('{share}')).join()];");
        Assert.Equal([expected], Texts(said));
    }

    [Fact]
    public async Task Also_SeveralWaitForTheSame_OneLineUnderWhatIsOutOfUse()
    {
        var said = await Run("also.js", """
            document.body.innerHTML = '<section class="also" hidden><ul class="also-list"></ul></section>';
            const words = { AlsoAside: '{0} waits: {1}', AlsoAsideMany: '{0} waiting: {1}', AlsoOut: '{0} out of use' };
            const screen = { root: document.body, w: key => words[key] ?? key, taps: { life: { nameOf: (kind, number) => `${kind} ${number}` } } };
            const waits = (specimen, text) => ({ request: specimen, specimen, text });
            new m.Also(screen, () => {}).render(snapshot({ losses: [], repeats: [],
              notPlanned: [waits('SP-1', 'no reader'), waits('SP-2', 'no reader'), waits('SP-3', 'not ready')],
              means: { hands: 1, outOfUse: [{ resource: 'reader', number: 1, from: t(0), to: null, why: null }], intakePaused: false, incubator: null } }));
            return [...document.querySelectorAll('.also-list li > span')].map(line => line.textContent);
            """);
        Assert.Equal(["reader 1 out of use", "SP-1, SP-2 waiting: no reader", "SP-3 waits: not ready"], Texts(said));
    }

    [Fact]
    public async Task PageAt_NineBenches_ThreePagesOfThreeAndAroundAgain()
    {
        var said = await Run("wallpages.js", "return [0, 15_000, 30_000, 45_000].map(at => { const p = m.pageAt(9, at); return `${p.page}/${p.pages}: ${p.from}-${p.to}`; });");
        Assert.Equal(["0/3: 0-3", "1/3: 3-6", "2/3: 6-9", "0/3: 0-3"], Texts(said));
        Assert.Equal(["0-4"], Texts(await Run("wallpages.js", "const p = m.pageAt(4, 99_000); return [`${p.from}-${p.to}`];")));
    }

    [Fact]
    public async Task ShiftAt_OverAnHour_StandsNowhereForLong()
    {
        var said = await Run("wallpages.js", "const at = new Map(); for (let i = 0; i < 3600; i++) { const k = m.shiftAt(i * 1000).join(); at.set(k, (at.get(k) ?? 0) + 1); } return [at.size, Math.max(...at.values())];");
        Assert.Equal(["8", "480"], Texts(said));
    }

    [Fact]
    public async Task PlayClock_RunAndHeld_CountsAtItsPaceAndStopsAtTheEnd()
    {
        const string Body = """
            let real = 0;
            const clock = new m.PlayClock(() => real);
            clock.set(1000); clock.end = 5000; clock.run(true, 10); real = 100;
            const running = clock.now(); clock.run(false, 10); real = 200; const held = clock.now();
            clock.run(true, 100); real = 300;
            return [running, held, clock.now(), m.momentAt([{ at: t(0) }, { at: t(5) }, { at: t(5) }], Date.parse(t(5))), m.momentAt([{ at: t(0) }], Date.parse(t(-1)))];
            """;
        Assert.Equal(["2000", "2000", "5000", "2", "-1"], Texts(await Run("play.js", Body)));
    }

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

    [Fact]
    public async Task PlanSounds_Note_SoundsOnce()
    {
        var sounds = Texts(await Run("soundplan.js", """
            const s = snapshot({ alarms: [alarm('a', 'low', 5)] });
            const at = now => m.planSounds(s, Date.parse(t(now)), 1, 600_000, new Set()).map(x => x.kind + '@' + x.inMs / 1000);
            return [...at(0), '-', ...at(6)];
            """));
        Assert.Equal(["low@5", "-"], sounds);
    }

    [Fact]
    public async Task PlanSounds_AlarmThatHasPassed_IsSilent()
    {
        var sounds = await Run("soundplan.js", "return m.planSounds(snapshot({ alarms: [{ ...alarm('b', 'high', -5), passed: true }] }), Date.parse(t(0)), 1, 60_000, new Set());");
        Assert.Empty(sounds.EnumerateArray());
    }

    /// <summary>Quoted from others who quote IEC 60601-1-8:2006 + A1:2012 + A2:2020, or unverified: Bench/Conditions.md marks which.</summary>
    [Fact]
    public async Task Bursts_EachPriority_KeepTheFiguresThatTheyAreModelledOn()
    {
        var bursts = await Run("soundplan.js", """
            return ['high', 'medium', 'low'].map(kind => {
              const { tone, pulses } = m.BURSTS[kind];
              const gaps = pulses.slice(1).map(([start], i) => start - pulses[i][0] - pulses[i][1]);
              return { kind, tone, lengths: pulses.map(p => p[1]), gaps, again: Math.min(1e6, m.REPEAT_MS[kind]) / 1000 - m.BURST_MS[kind] / 1000, harmonics: [...m.HARMONICS], rise: m.RISE };
            });
            """);
        foreach (var burst in bursts.EnumerateArray())
        {
            var isHigh = burst.GetProperty("kind").GetString() == "high";
            double[] lengths = [.. burst.GetProperty("lengths").EnumerateArray().Select(one => one.GetDouble())];
            double[] gaps = [.. burst.GetProperty("gaps").EnumerateArray().Select(one => Math.Round(one.GetDouble(), 6))];
            var tone = burst.GetProperty("tone").GetDouble();
            double[] harmonics = [.. burst.GetProperty("harmonics").EnumerateArray().Select(one => one.GetDouble())];
            Assert.Equal(isHigh ? 10 : burst.GetProperty("kind").GetString() == "medium" ? 3 : 2, lengths.Length);
            Assert.InRange(tone, 150, 1000);
            Assert.All(lengths, length => Assert.InRange(length, isHigh ? 0.075 : 0.125, isHigh ? 0.2 : 0.25));
            Assert.InRange(burst.GetProperty("rise").GetDouble(), 0.1, 0.2);
            Assert.All(harmonics, one => Assert.InRange(20 * Math.Log10(one / harmonics[0]), -15, 15));
            Assert.True(harmonics.Skip(1).Select((_, index) => tone * (index + 2)).Count(pitch => pitch is >= 300 and <= 4000) >= 4);
            if (!isHigh)
            {
                Assert.All(gaps, gap => Assert.InRange(gap, 0.125, 0.25));
                continue;
            }

            // Three and two, played twice: the third is apart from the fourth by twice the usual gap and a pulse.
            Assert.All(new[] { 0, 1, 3, 5, 6, 8 }, place => Assert.InRange(gaps[place], 0.05, 0.125));
            Assert.All(new[] { 2, 7 }, place => Assert.Equal((2 * gaps[0]) + lengths[0], gaps[place], 6));
            Assert.InRange(gaps[4], 0.35, 1.3);
            Assert.InRange(burst.GetProperty("again").GetDouble(), 2.5, 15);
        }

        Assert.InRange(bursts[1].GetProperty("again").GetDouble(), 2.5, 30);
    }

    [Fact]
    public async Task Stylesheet_Flashes_KeepTheFiguresThatTheyAreModelledOn()
    {
        var css = await File.ReadAllTextAsync(Path.Combine(Repository.Root, "src", "Incubation.Server", "wwwroot", "css", "alarm.css"), TestContext.Current.CancellationToken);
        double Period(string priority) => double.Parse(
            System.Text.RegularExpressions.Regex.Match(css, $$"""data-priority="{{priority}}".*animation: alarm-flash ([\d.]+)s infinite""").Groups[1].Value, System.Globalization.CultureInfo.InvariantCulture);
        Assert.InRange(1 / Period("high"), 1.4, 2.8);
        Assert.InRange(1 / Period("medium"), 0.4, 0.8);
        Assert.DoesNotMatch("data-priority=\"low\".*animation", css);
        var lit = int.Parse(System.Text.RegularExpressions.Regex.Match(css, @"0%, (\d+)% \{ opacity: 1; \}").Groups[1].Value, System.Globalization.CultureInfo.InvariantCulture);
        Assert.InRange(lit, 20, 60);
    }

    [Fact]
    public async Task PauseEnds_NoNewAlarm_AfterItsTime()
    {
        var ends = await Run("pause.js", """
            const p = m.pauseFrom([alarm('a', 'medium', -5)], 0, 4);
            return [p.until, m.pauseEnds({ ...p, from: Date.parse(t(0)), until: Date.parse(t(480)) }, [alarm('a', 'medium', -5), alarm('b', 'medium', 20)]) - Date.parse(t(0))];
            """);
        Assert.Equal((480_000, 480_000), (ends[0].GetInt32(), ends[1].GetInt32()));
    }

    [Theory]
    [InlineData("alarm('b', 'high', 20)", 20)]
    [InlineData("{ ...alarm('b', 'high', 20), acknowledged: true }", 120)]
    [InlineData("alarm('b', 'high', -20)", 120)]
    [InlineData("alarm('b', 'low', 20)", 120)]
    public async Task PauseEnds_NewAlarm_OnlyWhereItIsMoreUrgentAndNew(string alarm, int seconds)
    {
        var ends = await Run("pause.js", $$"""
            const p = { ...m.pauseFrom([alarm('a', 'medium', -5)], Date.parse(t(0)), 1) };
            return [m.pauseEnds(p, [alarm('a', 'medium', -5), {{alarm}}]) - Date.parse(t(0))];
            """);
        Assert.Equal(seconds * 1000, ends[0].GetInt32());
    }

    [Fact]
    public async Task PlanSounds_AudioPaused_AlarmsAreSilentAndPromptsAreNot()
    {
        var sounds = Texts(await Run("soundplan.js", """
            const s = snapshot({ alarms: [alarm('a', 'medium', 0)], offers: [offer('o', 'mix', 5, 40)] });
            return m.planSounds(s, Date.parse(t(0)), 1, 50_000, new Set(), Date.parse(t(30))).map(x => x.kind + '@' + x.inMs / 1000);
            """));
        Assert.Equal(["prompt@5", "medium@36", "prompt@40", "medium@48"], sounds);
    }

    [Fact]
    public async Task GonePastTheBench_Alarms_OnlyUnseenOnesAndFromTheirTime()
    {
        var alarms = Texts(await Run("soundplan.js", """
            const all = [alarm('a', 'high', 0), { ...alarm('b', 'high', 0), acknowledged: true }, { ...alarm('c', 'high', 0), passed: true }];
            return m.gonePastTheBench(all).map(x => x.id + '@' + (Date.parse(x.from) - Date.parse(t(0))) / 1000);
            """));
        Assert.Equal(["a@30"], alarms);
    }

    [Fact]
    public async Task PatternOf_Burst_ShakesAsItSounds()
    {
        var pattern = Texts(await Run("buzz.js", "return m.patternOf('medium');"));
        Assert.Equal(["200", "200", "200", "200", "200"], pattern);
    }

    [Fact]
    public async Task Uncertainty_OfTheClock_IsHalfATripAndGrows()
    {
        var off = await Run("clock.js", """
            let local = 0; const clock = new m.ServerClock(() => local);
            const none = clock.uncertainty === Infinity;
            clock.sample(500_000, 1, 0, 100);
            const soon = Math.round(clock.uncertainty);
            local = 2 * 3_600_000;
            return [none, soon, clock.uncertainty > 400 && clock.uncertainty < 420];
            """);
        Assert.Equal((true, 50, true), (off[0].GetBoolean(), off[1].GetInt32(), off[2].GetBoolean()));
    }

    [Fact]
    public async Task Resume_AfterALoad_GoesOnByTheDevicesOwnClockAndDoubtsIt()
    {
        var read = await Run("clock.js", """
            let local = 1000; const clock = new m.ServerClock(() => local);
            clock.resume(500_000, Date.now() - 3000, 2);
            const later = clock.now();
            const unsure = clock.uncertainty === Infinity;
            clock.sample(900_000, 2, 1000, 1000);
            return [later >= 506_000 && later < 510_000, unsure, clock.now()];
            """);
        Assert.True(read[0].GetBoolean());
        Assert.True(read[1].GetBoolean());
        Assert.Equal(900_000, read[2].GetDouble());
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

    [Fact]
    public async Task OffersAlone_LoadNotBegun_IsNotOffered()
    {
        var offers = Texts(await Run("alone.js", """
            const s = snapshot({ offers: [offer('load/X', 'load', 0, 20, 'X')], upcoming: [step('move', 200, 'B')], slots: [slot(2, 'B', 215, 300)] });
            return [m.offersAlone(s, [], Date.parse(t(10)), w)[0].kind, m.offersAlone(s, [], Date.parse(t(25)), w)[0].kind];
            """));
        Assert.Equal(["move", "load"], offers);
    }

    [Fact]
    public async Task UpcomingAlone_CardForACartridgeThatIsNotLoaded_IsLeftOut()
    {
        var steps = Texts(await Run("alone.js", """
            const s = snapshot({ slots: [slot(1, 'A', 100, 200), slot(2, 'B', 300, 400)], readers: [{ reader: 1, card: 'L-A', request: null, specimen: null, readyAt: null }],
              upcoming: [step('card-change', 40, null, 'L-N'), step('mix', 50, 'N'), step('move', 60, 'N'), step('card-change', 90, null, 'L-A'), step('move', 100, 'A'), step('clear', 150, 'A'),
                         step('card-change', 290, null, 'L-B'), step('move', 300, 'B'), step('clear', 350, 'B'), step('card-change', 390, null, 'L-N')] });
            return m.upcomingAlone(s, []).map(x => x.kind + ' ' + (x.request ?? x.lot));
            """));
        Assert.Equal(["move A", "clear A", "card-change L-B", "move B", "clear B"], steps);
    }

    [Theory]
    [InlineData("read-started", "window-in-danger/A", false)]
    [InlineData("read-started", "window-closed/A", false)]
    [InlineData("discarded", "cannot-be-saved/A", false)]
    [InlineData("loaded", "mixture-in-danger/A", false)]
    [InlineData("mixed", "mixture-in-danger/A", true)]
    [InlineData("read-started", "window-closed/B", true)]
    [InlineData("read-started", "clock/A", true)]
    public async Task AlarmsLeft_ReportThatWaits_EndsItsOwnAlarms(string reported, string id, bool stands)
    {
        var left = await Run("alone.js", $$"""
            const a = { ...alarm('{{id}}', 'high', 0), request: '{{id}}'.split('/')[1] };
            return [m.alarmsLeft([a], [{ kind: '{{reported}}', request: 'A', at: t(0) }]).length];
            """);
        Assert.Equal(stands ? 1 : 0, left[0].GetInt32());
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
