using System.Text.Json.Nodes;
using Microsoft.Playwright;
using Xunit;

namespace Incubation.Browser.Tests;

/// <summary>
/// The bench page's column, measured: whatever stands, the alarm, the question, the next thing with its buttons, what
/// can be said beside it and the next two steps are in sight, at the sizes of a tablet either way up. What is shown is
/// made from a snapshot of the server; the page and its modules are the real ones.
/// </summary>
public sealed class ColumnPageTest(Browser browser, ColumnPageTest.BegunBench begun)
    : IClassFixture<ColumnPageTest.BegunBench>
{
    private static readonly string[] Always = [".alarm", ".alarm [data-action]", ".question", ".card-title",
        ".card > .big", ".card .not-begun", ".problem", ".earlier", ".undo", ".upcoming-list li:nth-child(1)",
        ".upcoming-list li:nth-child(2)"];

    /// <summary>What stands: alarms unseen and seen, questions, hands, and how long its words are.</summary>
    private static readonly (string Name, int Alarms, int Seen, int Questions, int Hands, bool Long)[] States =
    [
        ("quiet", 0, 0, 0, 1, false), ("one-alarm", 1, 0, 0, 1, false), ("one-seen", 0, 1, 0, 1, false),
        ("question", 0, 0, 1, 1, false), ("alarm-and-question", 1, 0, 2, 1, false),
        ("four-alarms", 4, 0, 1, 1, false), ("twelve-alarms", 9, 3, 3, 1, false),
        ("long-quiet", 0, 0, 0, 1, true), ("long-question", 0, 0, 2, 2, true), ("long-alarm", 1, 0, 0, 2, true),
        ("long-everything", 6, 2, 4, 2, true), ("long-seen", 0, 5, 2, 2, true),
        ("first", 0, 0, 0, 1, false), ("first-alarm-and-question", 1, 0, 2, 2, false), ("long-first", 2, 0, 1, 2, true),
    ];

    private static CancellationToken Cancel => TestContext.Current.CancellationToken;

    [Fact]
    public async Task Column_WhateverStands_HasEverythingInSight()
    {
        var page = await browser.Open(1280, 800);
        var taken = await Taken(page);
        var faults = new List<string>();
        await page.OnEach([ScreenSize.Upright, ScreenSize.Desk], async size =>
        {
            foreach (var (name, alarms, seen, questions, hands, longs) in States)
            {
                await Show(page, First(taken, name), alarms, seen, questions, hands, longs);
                await Pictures.Keep(page, $"column-{name}-{size.Width}");
                faults.AddRange((await OutOfSight(page)).Select(part => $"{name} at {size}: {part}"));
                if (alarms + seen > 0 && !await page.Locator(".alarm").IsVisibleAsync())
                    faults.Add($"{name} at {size}: no alarm");
            }
        });

        Assert.True(faults.Count == 0, string.Join('\n', faults));
    }

    [Fact]
    public async Task Phone_WhateverStands_ReachesAlarmAndNowByScrolling()
    {
        var page = await browser.Open(360, 740);
        var taken = await Taken(page);
        foreach (var (name, alarms, seen, questions, hands, longs) in States)
        {
            await Show(page, First(taken, name), alarms, seen, questions, hands, longs);
            await Pictures.Keep(page, $"column-{name}-360");
            Assert.True(await page.EvaluateAsync<bool>("document.documentElement.scrollWidth <= 360"),
                $"{name} scrolls sideways");
            // What comes next can be read to its end, where it says which slot.
            Assert.Empty(await page.EvaluateAsync<string[]>("""
                () => [...document.querySelectorAll('.upcoming-title')]
                  .filter(title => title.offsetHeight > 0 && title.scrollWidth > title.clientWidth)
                  .map(title => title.textContent)
                """));
            foreach (var part in new[] { ".alarm .side", ".card .not-begun", ".card > .big" })
                if (await page.Locator(part).First.IsVisibleAsync())
                    await page.Locator(part).First.ClickAsync(new() { Trial = true });
        }
    }

    [Fact]
    public async Task Text_OfTwiceItsSize_IsReachedByScrollingWithNothingCut()
    {
        var page = await browser.Open(1280, 800);
        var taken = await Taken(page);
        await page.EvaluateAsync("document.documentElement.style.fontSize = '200%'");
        await Show(page, taken, 2, 0, 1, 1, false);
        await Pictures.Keep(page, "column-200-percent");
        Assert.True(await page.EvaluateAsync<bool>("document.documentElement.scrollWidth <= innerWidth"));
        foreach (var part in new[] { ".alarm .side", ".question-open", ".card > .big", ".problem", ".undo" })
        {
            Assert.True(await page.Locator(part).First.IsVisibleAsync(), part);
            await page.Locator(part).First.ScrollIntoViewIfNeededAsync();
            await page.Locator(part).First.ClickAsync(new() { Trial = true });
        }
    }

    [Fact]
    public async Task Alarms_Several_ShareABlockAndOpenIntoAList()
    {
        var page = await browser.Open(1280, 800);
        var taken = await Taken(page);
        await Show(page, taken, 3, 1, 0, 1, false);
        var block = page.Locator(".alarm");
        await Assertions.Expect(block).ToHaveAttributeAsync("data-priority", "high");
        await Assertions.Expect(block.Locator(".alarm-all")).ToHaveTextAsync("All 4 alarms");
        await block.Locator(".alarm-all").ClickAsync();
        await Pictures.Keep(page, "column-list");
        await Assertions.Expect(block.Locator(".alarm-all")).ToHaveAttributeAsync("aria-expanded", "true");
        await Assertions.Expect(page.Locator(".alarm-items li")).ToHaveCountAsync(4);
        Assert.False(await Overlap(page, ".alarm", ".alarm-list"));
        Assert.Empty(await OutOfSight(page));
        await page.Keyboard.PressAsync("Escape");
        await Assertions.Expect(page.Locator(".alarm-list")).ToBeHiddenAsync();
        await Assertions.Expect(block.Locator(".alarm-all")).ToBeFocusedAsync();

        // What somebody has seen is a line; its acts stand in the list.
        await Show(page, taken, 0, 1, 0, 1, false);
        Assert.True((await block.BoundingBoxAsync())!.Height <= 90);
        await block.Locator(".alarm-all").ClickAsync();
        await Assertions.Expect(page.Locator(".alarm-items [data-action='discard']")).ToBeVisibleAsync();
    }

    [Fact]
    public async Task Dialog_WhenAnAlarmComes_MovesAsideAndKeepsTheFocus()
    {
        var page = await browser.Open(1280, 800);
        var taken = await Taken(page);
        await page.OnEach(ScreenSize.Every, size => DialogKeepsTheFocus(page, taken, size.Width));
    }

    private static async Task DialogKeepsTheFocus(IPage page, JsonNode taken, int width)
    {
        await Show(page, taken, 0, 0, 0, 1, false);
        // Nothing is left of the size before.
        await Assertions.Expect(page.Locator(".alarm")).ToBeHiddenAsync();
        await page.EvaluateAsync("() => document.querySelector('.announce-alarm').textContent = ''");
        await page.Locator(".problem").ClickAsync();
        var first = page.Locator("dialog[open] .dialog-choices button").First;
        await first.FocusAsync();
        await Show(page, taken, 1, 0, 0, 1, false);
        await Pictures.Keep(page, $"column-dialog-{width}");
        await Assertions.Expect(first).ToBeFocusedAsync();
        await Assertions.Expect(page.Locator(".announce-alarm")).ToContainTextAsync("Slot 1");
        // On a phone what is asked scrolls beneath the alarm.
        Assert.Equal(width < 700, await Overlap(page, ".alarm", "dialog[open]"));
        // Not greyed, not inert: under its middle lies the alarm itself, and its button takes the focus and the tap.
        Assert.True(await page.EvaluateAsync<bool>("""
            () => {
              const alarm = document.querySelector('.alarm');
              alarm.scrollIntoView({ block: 'nearest' });
              const box = alarm.getBoundingClientRect();
              return alarm.contains(document.elementFromPoint(box.x + box.width / 2, box.y + box.height / 2))
                && !alarm.closest('[inert]') && !document.querySelector('dialog:modal');
            }
            """));
        var seen = page.Locator(".alarm [data-action='acknowledge']");
        await seen.FocusAsync();
        await Assertions.Expect(seen).ToBeFocusedAsync();
        await seen.ClickAsync(new() { Trial = true });
        await page.Locator("dialog[open] .dialog-cancel").FocusAsync();
        await page.Keyboard.PressAsync("Escape");
        await Assertions.Expect(page.Locator("dialog[open]")).ToHaveCountAsync(0);
        await Assertions.Expect(page.Locator(".problem")).ToBeFocusedAsync();
    }

    [Fact]
    public async Task Urgent_Came_StandsBesideTheColumnUntilSeen()
    {
        var page = await browser.Open(1280, 800);
        var taken = await Taken(page);
        var text = "Urgent: SP-077, result by about 20:49, begin at 20:41";
        taken["urgent"] = new JsonArray(new JsonObject { ["request"] = "R77", ["text"] = text });
        await Show(page, taken, 1, 0, 1, 1, false);
        await Pictures.Keep(page, "column-urgent-1280");
        var news = page.Locator(".urgent-news");
        await Assertions.Expect(news).ToContainTextAsync(text);
        Assert.Empty(await OutOfSight(page));
        Assert.False(await Overlap(page, ".urgent-news", ".bench-left > .alarm"));

        var seen = news.Locator("button");
        await seen.FocusAsync();
        await page.Keyboard.PressAsync("Enter");
        await Assertions.Expect(news).ToBeHiddenAsync();
        await Show(page, taken, 1, 0, 1, 1, false);
        await Assertions.Expect(news).ToBeHiddenAsync();
    }

    /// <summary>One running bench for all cases: none of them tells the server anything.</summary>
    public sealed class BegunBench() : OneServer(
        cancel => ServerProcess.StartEarlierDemo(["R01", "R02", "R04", "R06"], cancel),
        (server, cancel) => new BenchByApi(server).Say("start-batch", TimeSpan.Zero, cancel));

    /// <summary>
    /// A snapshot of the running bench, the page open, and its screen mounted anew without a line of its own: it shows
    /// what the test gives it.
    /// </summary>
    private async Task<JsonNode> Taken(IPage page)
    {
        await new BenchScreen(page).Open(begun.Server);
        var snapshot = await new BenchByApi(begun.Server).Snapshot(Cancel);
        await page.EvaluateAsync("""
            async () => {
              // As on a tablet on which the batch was started.
              sessionStorage.setItem('incubation.heard', 'yes');
              const old = document.querySelector('#bench-screen');
              const fresh = old.cloneNode(true);
              old.replaceWith(fresh);
              const { mount } = await import(new URL('js/bench.js', document.baseURI).href);
              const screen = mount(fresh);
              await screen.live.end();
              // However long the line took to end: what is shown is the server's, and nothing is worked out beside it.
              Object.defineProperty(screen.live, 'line',
                { get: () => ({ state: 'connected', since: null }), set: () => {} });
              // What it asked for before may still come.
              screen.shows = screen.live.onSnapshot;
              screen.live.onSnapshot = () => {};
              window.shown = screen;
            }
            """);
        return snapshot;
    }

    /// <summary>
    /// In a state that is named so, the card says what comes first if its step has not been begun.
    /// </summary>
    private static JsonNode First(JsonNode taken, string name)
    {
        var says = taken.DeepClone();
        if (name.Contains("first", StringComparison.Ordinal))
            says["offers"]![0]!["ifNotBegun"] = "Not begun, or left? First change the card of reader 1 to DB-L1.";
        return says;
    }

    private static async Task Show(IPage page, JsonNode taken, int alarms, int seen, int questions, int hands,
        bool isLong)
    {
        var text = taken.DeepClone().ToJsonString();
        await page.EvaluateAsync(Shown, new object[]
        {
            text, alarms, seen, questions, hands, isLong, ++revision,
        });
        await page.EvaluateAsync("() => new Promise(done => requestAnimationFrame(() => requestAnimationFrame(done)))");
    }

    private static int revision = 1_000_000;

    private const string Shown = """
        ([text, alarms, seen, questions, hands, isLong, revision]) => {
          const snapshot = JSON.parse(text);
          const now = window.shown.clock.now();
          const iso = ms => new Date(now + ms).toISOString();
          const words = isLong
            ? 'Donaudampfschifffahrtsgesellschaftsprobe-2026/0000000000000417 Entzündungsmarkerbestimmungskartusche '
            : '';
          const specimen = isLong ? 'SP-2026-ABCDEFGHIJKLMNOPQRSTUVWXYZ-0123456789-0001' : 'SP-001';
          snapshot.revision = revision;
          snapshot.alarms = Array.from({ length: alarms + seen }, (_, i) => ({
            id: `window-closed/X${i}`, priority: i % 3 === 1 ? 'medium' : 'high', word: 'Alarm',
            title: `Slot ${i + 1}: ${words}window closed`,
            text: `${words}No read of ${specimen} was reported in time. Discard it as biohazard waste, or report that `
              + 'the read was started in time.',
            from: iso(-60000 - i), until: null, deadline: i % 2 ? iso(90000) : null, escalatesAt: iso(-30000),
            acknowledged: i >= alarms, passed: false, request: `X${i}`,
            actions: ['discard', 'started-in-time', 'acknowledge'], slot: i + 1, reader: 1, reason: 'window-closed',
          }));
          snapshot.questions = Array.from({ length: questions }, (_, i) => ({
            id: `when-loaded/T${i}`, kind: 'when-loaded', title: `${words}When was ${specimen} loaded?`,
            text: `${words}Its load was reported late, so its read window is uncertain. Enter when the load ended.`,
            since: iso(0), report: null, request: null, specimen: null, other: null, otherSpecimen: null, slot: null,
            reader: null,
            answers: ['It was at …', 'Nobody knows', `${words}is in slot …`].map(t => (
              { answer: 'not-known', text: t, slots: [], takesTime: false, takesLot: false })),
          }));
          const offer = { ...snapshot.offers[0], mayBegin: iso(-5000), promptAt: iso(-25000), countTo: iso(40000),
            plannedEnd: iso(40000), reportFrom: iso(-5000), latestStart: iso(100000),
            title: `${snapshot.offers[0].title} ${words}`, detail: `${specimen} · ${words} CRP · kit DA-L1`,
            instruction: 'Mix well, as the instructions for use say.' };
          snapshot.offers = Array.from({ length: hands }, (_, i) => (
            { ...offer, key: `${offer.key}/${i}`, hands: i + 1, handsText: hands > 1 ? `Hands ${i + 1}` : '' }));
          snapshot.upcoming = snapshot.upcoming.map(step => ({ ...step, title: `${step.title} ${words}` }));
          const device = window.shown.live.who?.device ?? 'tablet';
          snapshot.undo = { report: 'T1', device, text: `Undo: read started ${specimen}` };
          window.shown.live.waiting = () => [];
          const who = { kind: 'person', person: 'lena', name: 'Lena', device, canSwitch: true };
          Object.defineProperty(window.shown.live, 'who', { configurable: true, get: () => who, set: () => {} });
          window.shown.shows(snapshot);
        }
        """;

    private static Task<string[]> OutOfSight(IPage page) => page.EvaluateAsync<string[]>("""
        parts => parts.flatMap(part => [...document.querySelectorAll(part)].flatMap(element => {
          const box = element.getBoundingClientRect();
          if (element.closest('[hidden]') || (part !== '.alarm' && box.height === 0 && element.closest('.question')))
            return [];
          const left = document.querySelector('.bench-left');
          const column = left.getBoundingClientRect();
          const scrolls = getComputedStyle(left).overflowY === 'auto';
          const more = document.querySelector('.more-below').getBoundingClientRect();
          const bottom = Math.min(innerHeight, scrolls ? column.bottom - more.height : innerHeight) + 1;
          const inside = box.height > 0 && box.top >= 0 && box.bottom <= bottom && box.right <= column.right + 1;
          const [x, y] = [box.x + box.width / 2, box.y + box.height / 2];
          const top = document.elementFromPoint(x, y);
          const covered = !top || !(element.contains(top) || top.contains(element));
          return inside && !covered ? [] : [`${part} ${covered ? 'covered' : 'out of sight'} (${Math.round(box.top)}–`
            + `${Math.round(box.bottom)} of ${Math.round(bottom)}, density ${left.dataset.density})`];
        }))
        """, Always);

    private static Task<bool> Overlap(IPage page, string one, string other) => page.EvaluateAsync<bool>("""
        ([one, other]) => {
          const [a, b] = [one, other].map(s => document.querySelector(s).getBoundingClientRect());
          return a.left < b.right && b.left < a.right && a.top < b.bottom - 1 && b.top < a.bottom - 1;
        }
        """, new[] { one, other });
}
