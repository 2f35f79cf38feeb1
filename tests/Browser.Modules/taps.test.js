// Every tap on the bench screen, on snapshots that the server wrote: what it sends is kept in contract/commands.json,
// which the server reads in its own tests (ContractTest).

import assert from "node:assert/strict";
import { readdir, readFile, writeFile } from "node:fs/promises";
import { test } from "node:test";
import { FakeStorage, load, pretend, w } from "./modules.js";
import { answers, FakeElement, pretendPage, settled, tap, type } from "./page.js";

const CONTRACT = new URL("contract/", import.meta.url);
const HOW = "INCUBATION_WRITE_CONTRACT=1 node --test tests/Browser.Modules/taps.test.js";

pretendPage();
const storage = new FakeStorage();
storage.setItem("incubation.device", "tablet-1");
let named = 0;
pretend({ localStorage: storage, setTimeout: () => 0, crypto: { randomUUID: () => `tap-${++named}` } });

const { BenchTaps } = await load("bench-taps.js");
const { command } = await load("reports.js");

const samples = (await readdir(new URL("snapshots/", CONTRACT))).map(file => file.replace(".json", "")).sort();
const snapshots = Object.fromEntries(await Promise.all(samples.map(async sample =>
  [sample, JSON.parse(await readFile(new URL(`snapshots/${sample}.json`, CONTRACT), "utf8"))])));

/** A bench screen that shows a sample. @param {string} sample */
function screenOf(sample) {
  const snapshot = snapshots[sample];
  const now = Math.max(...[snapshot.serverTime, snapshot.offers[0]?.reportFrom].filter(Boolean).map(Date.parse));
  const sent = [];
  const screen = {
    root: new FakeElement(),
    bench: snapshot.bench,
    w,
    clock: { now: () => now },
    snapshot,
    shown: snapshot,
    isAlone: false,
    offers: () => snapshot.offers,
    offer: () => snapshot.offers[0] ?? null,
    alarmsNow: () => snapshot.alarms,
    choose() {},
    render() {},
    numerals() {},
    sounding: { hearing: { ask: async () => "heard" }, attend() {} },
    catchUp: { canStart: false },
    live: { who: { kind: "person", device: "tablet-1" }, send: (_, said) => sent.push(said), waiting: () => [] },
  };
  screen.taps = new BenchTaps(screen);
  screen.sent = sent;
  return screen;
}

const big = screen => screen.root.querySelector(".big").dispatch("click");
const alarmOf = (screen, kind) => screen.snapshot.alarms.find(one => one.id.startsWith(kind));
const chooseFact = n => dialog => dialog.all("button").filter(one => one.className === "side")[n].onclick();
const notice = (screen, label) =>
  tap(label)({ all: () => screen.root.querySelector(".notice").querySelector(".notice-actions").children });

/** What is tapped, by sample and by name; and what is answered to the questions that come. */
const TAPS = {
  preparing: {
    start: [big],
    "not ready": [s => s.taps.life.notReady(), chooseFact(0), tap("InMinutes")],
    "not ready, nobody knows until when": [s => s.taps.life.notReady(), chooseFact(0), tap("NotReadyUnknown")],
    withdraw: [s => s.taps.life.withdraw(), chooseFact(0)],
    "mixed, before it was planned": [s => s.taps.life.somethingElse(), chooseFact(0), tap("JustNow")],
    "loaded into a slot": [s => s.taps.life.somethingElse(), chooseFact(2), tap("SlotNumber"), tap("EarlierAgo")],
    "loaded into the reader": [s => s.taps.life.somethingElse(), chooseFact(2), tap("ReaderNumber"), tap("JustNow")],
    settle: [s => s.live.send(s.bench, command("settle", { at: s.clock.now() }))],
  },
  running: {
    "the big button": [big],
    "its label scanned": [s => s.taps.way.right(asking(s, "asked"))],
    "its label not scanned": [
      s => {
        asking(s, "demanded");
        big(s);
        notice(s, "DoneWithoutScan");
      },
    ],
    "with another's label": [
      s => s.taps.way.wrong(asking(s, "asked"), "CR.bench-1.R2")?.actions[0].act(),
    ],
    "it was earlier": [s => s.root.querySelector(".earlier").dispatch("click"), tap("EarlierAgo")],
    "problem, not begun": [s => s.root.querySelector(".problem").dispatch("click"), tap("ProblemNotBegun")],
    "problem, discard": [
      s => s.root.querySelector(".problem").dispatch("click"),
      tap("ProblemDiscard"),
      type("a few words"),
    ],
    ...Object.fromEntries(
      [0, 1, 2, 3].map(n => [
        `something else was done, ${n + 1}`,
        [
          s => s.taps.life.somethingElse(),
          chooseFact(n),
          dialog => (dialog.all("form")[0] ? type("DA-L1") : chooseFact(0))(dialog),
          tap("JustNow"),
        ],
      ]),
    ),
    "correct the time": [
      s => s.taps.life.correct(),
      chooseFact(0),
      tap("CorrectTime"),
      tap("EarlierAgo"),
      type("looked away"),
    ],
    "correct the place": [
      s => s.taps.life.correct(),
      chooseLoaded,
      tap("CorrectPlace"),
      tap("SlotNumber"),
      type("looked away"),
    ],
    undo: [s => s.taps.life.undo(), tap("UndoAll")],
    "step away": [s => s.taps.life.away(), tap("Minutes")],
    "slot out of use": [s => s.taps.life.outOfUse(), chooseFact(0), tap("OutUntilBack"), type("cracked")],
    "incubator out of use": [s => s.taps.life.outOfUse(), chooseFact(4), tap("Minutes"), type("")],
    "reader out of use": [s => s.taps.life.outOfUse(), chooseFact(5), tap("Minutes"), type("")],
    "card seen": [s => s.taps.life.cardSeen(), type("DA-L1")],
    temperature: [s => s.taps.life.means(), tap("MeansTemperature"), type("25,4")],
    "one more pair of hands": [s => s.taps.life.means(), tap("MeansJoins")],
    "pause intake": [s => s.taps.life.means(), tap("MeansPause")],
  },
  "window-closed": {
    acknowledge: [s => s.taps.alarm("acknowledge", alarmOf(s, "window-closed"))],
    discard: [s => s.taps.alarm("discard", alarmOf(s, "window-closed")), type("")],
    "started in time": [s => s.taps.alarm("started-in-time", alarmOf(s, "window-closed")), type("08:00:00")],
  },
  question: {
    ...Object.fromEntries(
      [0, 1, 2, 3, 4].map(n => [`answer ${n + 1}`, [s => answerTap(s, n), chooseFact(0), chooseFact(0)]]),
    ),
    "hands fewer": [s => s.taps.life.means(), tap("MeansLeaves")],
    "back in use": [s => s.taps.life.outOfUse(), tap("BackInUse")],
    "back in use, by its line": [
      s => {
        s.taps.also.render(s.snapshot);
        tap("AlsoBack")(s.root.querySelector(".also-list"));
      },
    ],
  },
  "given-up": {
    discard: [big, type("")],
    "order its repeat": [
      s => {
        s.taps.answered(command("discarded", { at: s.clock.now() }, { request: "R2" }), {
          recorded: true,
          sentence: null,
          revision: 1,
        });
        notice(s, "RepeatPlan");
      },
    ],
    "away all the same": [
      s => {
        const away = command("out-of-use", { at: s.clock.now() }, { resource: "hands", number: 1, minutes: 10 });
        s.taps.answered(away, { recorded: false, sentence: "It would lose something.", revision: 1 });
        notice(s, "AwayAnyway");
      },
    ],
  },
};

/** The clinic asks for labels, or demands them; what is offered. */
function asking(screen, labelScans) {
  screen.snapshot = screen.shown = { ...screen.snapshot, labelScans };
  return screen.snapshot.offers[0];
}

function chooseLoaded(dialog) {
  const loaded = snapshots.running.reports.findIndex(report => report.kind === "loaded");
  chooseFact(loaded)(dialog);
}

function answerTap(screen, n) {
  screen.taps.questions.render(screen.snapshot.questions);
  const buttons = screen.root.querySelector(".question").querySelector(".question-answers").children;
  buttons[n].onclick();
}

const written = {};

for (const [sample, taps] of Object.entries(TAPS)) {
  written[sample] = {};
  for (const [name, [act, ...said]] of Object.entries(taps))
    test(`${sample}, ${name}: sends one command`, async () => {
      answers.length = 0;
      answers.push(...said);
      named = 0;
      const screen = screenOf(sample);
      act(screen);
      await settled();
      assert.equal(screen.sent.length, 1);
      written[sample][name] = { ...screen.sent[0], id: "tap" };
    });
}

for (const sentence of ["The tablet is locked.", "Not recorded: the tablet is locked.", null])
  test(`Not taken, "${sentence}": is said once`, () => {
    const screen = screenOf("running");
    screen.w = key => (key === "NotTaken" ? "Not recorded: {0}" : key === "NotTakenPlain" ? "Not recorded." : key);
    screen.taps = new BenchTaps(screen);
    const said = command("start-batch", { at: screen.clock.now() });
    screen.taps.answered(said, { recorded: false, sentence, revision: 1, kind: "refused" });
    const text = screen.root.querySelector(".notice").querySelector(".notice-text").textContent;
    assert.match(text, /^Not recorded(: the tablet is locked)?\.$/i);
  });

test("Commands that the modules send: those that the server's tests read", async () => {
  const file = new URL("commands.json", CONTRACT);
  const text = `${JSON.stringify(written, null, 2)}\n`;
  if (process.env.INCUBATION_WRITE_CONTRACT === "1") await writeFile(file, text);
  assert.ok(
    (await readFile(file, "utf8")) === text,
    `contract/commands.json differs from what the modules send. Write it again: ${HOW}`,
  );
});
