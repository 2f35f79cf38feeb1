// A scan of a cartridge's label as the report, on a snapshot that the server wrote: keys go in, commands come out.

import assert from "node:assert/strict";
import { readFile } from "node:fs/promises";
import { beforeEach, test } from "node:test";
import { FakeStorage, load, pretend } from "./modules.js";
import { answers, FakeElement, pretendPage, settled, tap } from "./page.js";

pretendPage();
const listeners = [];
let ticks = 100_000;
pretend({
  localStorage: new FakeStorage(),
  setTimeout: () => 0,
  addEventListener: (name, listener) => name === "keydown" && listeners.push(listener),
  performance: { now: () => ticks }, HTMLInputElement: class {}, HTMLTextAreaElement: class {},
});

const { BenchTaps } = await load("bench-taps.js");
const { takesScan, withThisOne } = await load("labelway.js");

// R1 is due to be moved to the reader; R2 and R3 react, too.
const running = JSON.parse(
  await readFile(new URL("contract/snapshots/running.json", import.meta.url), "utf8"));
const [move] = running.offers;
const opens = Date.parse(move.reportFrom);
const words = { LabelNotNext: "This is {0}; the plan's next is {1}.", ScanFirst: "Scan {0} first." };

/** @param {"off"|"asked"|"demanded"} labelScans */
function screenOf(labelScans, parts = {}, now = opens + 1000) {
  listeners.length = 0;
  const snapshot = { ...running, labelScans, ...parts };
  const screen = {
    root: new FakeElement(),
    bench: snapshot.bench,
    w: key => words[key] ?? key,
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
    live: {
      who: { kind: "person", device: "tablet-1" }, send: (_, said) => void screen.sent.push(said), waiting: () => [],
      judgeBox: async () => null,
    },
    sent: [],
  };
  screen.taps = new BenchTaps(screen);
  return screen;
}

async function scan(request) {
  const label = running.labels.find(one => one.request === request)?.code ?? request;
  let at = (ticks += 1000);
  for (const key of [...label, "Enter"])
    listeners[0]({ key, timeStamp: (at += 5), target: null, preventDefault() {} });
  await settled();
}

const noticeOf = screen => screen.root.querySelector(".notice");
const textOf = screen => noticeOf(screen).querySelector(".notice-text").textContent;
const buttons = screen => noticeOf(screen).querySelector(".notice-actions").children.map(one => one.textContent);
const press = (screen, label) =>
  tap(label)({ all: () => noticeOf(screen).querySelector(".notice-actions").children });
const big = screen => screen.root.querySelector(".big").dispatch("click");
const said = screen => screen.sent.map(({ kind, request, slot, reader, scan: label }) =>
  [kind, request, slot, reader, label]);

beforeEach(() => (answers.length = 0));

for (const way of ["asked", "demanded"])
  test(`${way}: a scan of the right label is the report, at the scan's time`, async () => {
    const screen = screenOf(way);
    await scan("R1");
    assert.deepEqual(said(screen), [["read-started", "R1", null, 1, "scanned"]]);
    assert.equal(Date.parse(screen.sent[0].at), opens + 1000);
    assert.equal(screen.taps.stateOf(move).recorded, "Recorded");
  });

test("off: a scan of the right label reports nothing, and nothing is said on the card", async () => {
  const screen = screenOf("off");
  await scan("R1");
  assert.deepEqual(screen.sent, []);
  assert.equal(screen.taps.stateOf(move).scan, "");
});

test("asked: the button reports as before; demanded: it asks for the scan first", async () => {
  const asked = screenOf("asked");
  big(asked);
  await settled();
  assert.deepEqual(said(asked), [["read-started", "R1", null, 1, undefined]]);

  const demanded = screenOf("demanded");
  big(demanded);
  await settled();
  assert.deepEqual(demanded.sent, []);
  assert.equal(textOf(demanded), `Scan ${move.specimen} first.`);
  press(demanded, "DoneWithoutScan");
  await settled();
  assert.deepEqual(said(demanded), [["read-started", "R1", null, 1, "not-scanned"]]);
});

test("demanded: told at an alarm, too", async () => {
  const screen = screenOf("demanded");
  const alarm = { id: "move-now/R1", request: "R1", slot: 1, reader: 1, reason: null };
  await screen.taps.alarm("read-started", alarm);
  assert.deepEqual(screen.sent, []);
  press(screen, "DoneWithoutScan");
  assert.deepEqual(said(screen), [["read-started", "R1", null, 1, "not-scanned"]]);
});

test("Before the step can have been done, the right label is no report", async () => {
  const screen = screenOf("asked", {}, opens - 1);
  await scan("R1");
  assert.deepEqual(screen.sent, []);
  assert.match(textOf(screen), /ScanAgain/);
});

test("A scan that came twice is one report, and the second holds nothing", async () => {
  const screen = screenOf("asked");
  await scan("R1");
  screen.snapshot = screen.shown = { ...screen.shown, offers: [{ ...move, request: "R2", key: "move/R2//1" }] };
  screen.offers = () => screen.shown.offers;
  screen.offer = () => screen.shown.offers[0];
  await scan("R1");
  assert.equal(screen.sent.length, 1);
  assert.equal(screen.taps.way.wrongFor, "");
  ticks += 10_000;
  await scan("R1");
  assert.equal(screen.taps.way.wrongFor, "move/R2//1");
});

test("Another cartridge's label stops the offer, and says both", async () => {
  const screen = screenOf("asked");
  await scan("R2");
  const [own, other] = ["R1", "R2"].map(r => running.labels.find(label => label.request === r).specimen);
  assert.equal(textOf(screen), `This is ${other}; the plan's next is ${own}.`);
  assert.deepEqual(screen.taps.stateOf(move), { recorded: null, guarded: true, held: true, scan: "ScanAsked" });
  assert.deepEqual(buttons(screen), ["LabelSeen", "LabelWithThisOne"]);
  assert.deepEqual(screen.sent, []);
});

test("It was done with this one: told of the scanned cartridge, and the offer is free again", async () => {
  const screen = screenOf("demanded");
  await scan("R2");
  press(screen, "LabelWithThisOne");
  await settled();
  assert.deepEqual(said(screen), [["read-started", "R2", null, 1, "other-than-planned"]]);
  assert.equal(screen.taps.stateOf(move).recorded, null);
  assert.equal(screen.taps.stateOf(move).held, false);
});

test("A notice about an offer goes with it", async () => {
  const screen = screenOf("demanded");
  big(screen);
  await settled();
  screen.taps.exchanged({ ...move, key: "other" });
  assert.equal(noticeOf(screen).hidden, true);
});

for (const kind of ["mix", "load", "move", "clear", "card-change", "discard"])
  test(`A label is asked for at ${kind}: ${["load", "move", "clear"].includes(kind)}`, () => {
    const takes = labelScans => takesScan({ ...running, labelScans }, { ...move, kind });
    assert.deepEqual([takes("off"), takes(undefined), takes("asked"), takes("demanded")],
      ["load", "move", "clear"].includes(kind) ? [false, false, true, true] : [false, false, false, false]);
  });

const later = new Date(opens + 60_000).toISOString();
const earlier = new Date(opens - 60_000).toISOString();
const load3 = { ...move, kind: "load", slot: 3, reader: null };
for (const [name, due, fact, can] of [
  ["a load into the offered slot", load3, { what: "loaded", slots: [4, 3] }, true],
  ["a load into another slot", load3, { what: "loaded", slots: [4] }, false],
  ["a load of what was not mixed", load3, { what: "loaded", slots: [3], mixedBefore: 25 }, false],
  ["a load into the offered reader", { ...load3, slot: null, reader: 2 }, { what: "loaded", readers: [2] }, true],
  ["a read in the offered reader", move, { what: "read-started", readers: [1] }, true],
  ["a read before it can have been", move, { what: "read-started", readers: [1], earliest: later }, false],
  ["a read after its window", move, { what: "read-started", readers: [1], inTimeFrom: earlier }, false],
  ["a read of what was said to be elsewhere", move, { what: "read-started", readers: [1], notSo: "T1" }, false],
  ["a clear of the offered reader", { ...move, kind: "clear" }, { what: "cleared", readers: [1] }, true],
  ["a clear of what only reacts", { ...move, kind: "clear" }, { what: "read-started", readers: [1] }, false],
])
  test(`With this one, ${name}: ${can ? "can" : "cannot"} be`, () => {
    const snapshot = { ...running, tellings: [{ request: "R9", slot: null, reader: null, can: [fact] }] };
    const done = withThisOne(snapshot, due, "R9", [], opens);
    assert.equal(done?.request ?? null, can ? "R9" : null);
    if (done) assert.notEqual(done.key, due.key);
  });
