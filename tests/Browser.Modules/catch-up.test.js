// Catching up after an absence: what is asked, place by place, and what is said for it. Nothing is sent before "Done".

import assert from "node:assert/strict";
import { test } from "node:test";
import { FakeStorage, load, NOON, offer, pretend, secondsOf, slot, snapshot, step, t } from "./modules.js";
import { FakeElement, pretendPage } from "./page.js";

pretendPage();
const [storage, session] = [new FakeStorage(), new FakeStorage()];
pretend({ localStorage: storage, sessionStorage: session, CSS: { escape: text => text } });
const { CatchUp } = await load("catch-up.js");
const { reasonToCatchUp } = await load("catch-up-bench.js");
const { placesOf, reportsOf } = await load("catch-up-places.js");
const { keepRefused, refusedOf } = await load("refused.js");

const w = key => `${key} {0} {1}`;
const assay = {
  mix: 50_000, mixToLoad: 120_000, load: 25_000, incubation: 480_000, readWindow: 90_000, move: 15_000, read: 40_000,
  clear: 10_000, mixShortest: 35_000, loadShortest: 15_000, texts: null,
};
const request = (id, lot = "DA-L1") => ({
  request: id, specimen: `SP-${id}`, assay: 0, lot, ready: t(0), loadBy: null, after: [], control: false, urgent: false,
  repeatLeft: true,
});
const row = (kind, id, end, place) => ({ ...step(kind, end - 15, id), hands: 1, end: t(end), ...place });
const inWork = (id, phase, to, place) => ({
  request: id, phase, from: t(to), to: t(to), slot: null, reader: null, mustGo: false, ...place,
});

/** R1 reacts in slot 1, R2 is mixed, R3 is to be mixed; nobody has reported since 12:00:00. */
function bench(parts = {}) {
  return snapshot({
    batch: { phase: "running" }, lots: ["DA-L1", "DB-L1"], labels: [], questions: [], zone: "UTC",
    offers: [offer("m", "mix", 0, 600, "R3")],
    slots: [slot(1, "R1", 500, 590), { slot: 2, request: null, outOfUse: null }, { slot: 3, request: null,
      outOfUse: null }],
    readers: [{ reader: 1, card: "DA-L1", request: null, cardDoubt: null, cardBelieved: null, outOfUse: null }],
    alone: {
      startedAt: t(-60), promptAhead: 20_000, cardChange: 25_000, readGuard: 15_000, slots: 3, readers: 1,
      hands: [{ hands: 1, lastReport: t(0), device: null }], assays: [assay],
      requests: [request("R1"), request("R2"), request("R3")],
      cartridges: [inWork("R1", "reacting", 20, { slot: 1 }), inWork("R2", "mixed", 0)],
      steps: [
        row("load", "R2", 30, { slot: 3, reader: null }), row("move", "R1", 530), row("clear", "R1", 590),
        row("mix", "R3", 640), row("load", "R3", 700, { slot: 1, reader: null }),
      ],
      closings: [], cards: [], lost: [], alarms: [],
    },
    ...parts,
  });
}

const said = place => ({
  key: place.options[0].key, basis: place.basis, slot: place.options[0].slots[0] ?? null,
  reader: place.options[0].readers[0] ?? null, times: place.options[0].times,
});
const short = ({ at, says }) => [says.kind, says.request ?? says.lot ?? says.hands, says.slot ?? says.reader ?? null,
  secondsOf(new Date(at).toISOString())];

test("Places: the plan's guess comes first, with the plan's times", () => {
  const places = placesOf(bench(), [], NOON + 620_000, {}, w);
  assert.deepEqual(places.map(p => [p.key, p.options[0].key]),
    [["slot-1", "clear"], ["mix-R2", "load"], ["mix-R3", "still"], ["card-1", "card-stays"]]);
  assert.deepEqual(places.flatMap(p => reportsOf(p, said(p)).map(short)), [
    ["read-started", "R1", 1, 530], ["cleared", "R1", 1, 590], ["loaded", "R2", 3, 30], ["not-begun", 1, null, 620],
  ]);
});

test("Places: what cannot be by now is not offered", () => {
  const places = placesOf(bench(), [], NOON + 100_000, {}, w);
  assert.deepEqual(places.map(p => p.options.map(o => o.key)), [
    ["still", "dropped", "unsure"], ["load", "still", "dropped", "unsure"],
    ["card-stays", "card-DB-L1", "unsure"],
  ]);
});

test("Places: a step of which nobody knows is guessed to be done, and can be said not to have been begun", () => {
  const asked = {
    id: "step-not-known/R2", kind: "step-not-known", request: "R2", since: t(90), slot: 2, reader: null,
    specimen: "SP-R2", answers: [{ answer: "at-that-time" }, { answer: "not-begun" }, { answer: "spoilt" }],
  };
  const shown = bench({ questions: [asked] });
  shown.alone.steps = shown.alone.steps.filter(one => one.request !== "R2");
  const place = placesOf(shown, [], NOON + 620_000, {}, w).find(p => p.key === "mix-R2");
  assert.deepEqual(reportsOf(place, said(place)).map(short), [["loaded", "R2", 2, 90]]);
  const still = reportsOf(place, { ...said(place), key: "still", times: [NOON] })[0].says;
  assert.deepEqual([still.kind, still.question, still.answer], ["answer", "step-not-known/R2", "not-begun"]);
});

test("Places: a read with the card of another lot has that card put in before it", () => {
  const shown = bench();
  shown.alone.requests[0].lot = "DB-L1";
  const first = placesOf(shown, [], NOON + 620_000, {}, w);
  const places = placesOf(shown, [], NOON + 620_000, { "slot-1": said(first[0]) }, w);
  const card = places.find(p => p.key === "card-1");
  assert.deepEqual(reportsOf(card, said(card)).map(short), [["card-changed", "DB-L1", 1, 514]]);
});

test("Places: a slot is offered once, and only where it is free or was left", () => {
  const slots = answers => placesOf(bench(), [], NOON + 620_000, answers, w).find(p => p.key === "mix-R2")
    .options.find(o => o.key === "load").slots;
  assert.deepEqual(slots({}), [3, 2, 1]);
  const still = { key: "still", basis: "", slot: null, reader: null, times: [] };
  assert.deepEqual(slots({ "slot-1": still, "mix-R3": { ...still, key: "load", slot: 2 } }), [3]);
});

test("Places: where no plan says when, a read is guessed while the reader was free, inside its window", () => {
  const shown = bench();
  shown.alone.cartridges = [inWork("R1", "reacting", 20, { slot: 1 }), inWork("R2", "reacting", 50, { slot: 2 })];
  shown.alone.steps = [];
  const [first] = placesOf(shown, [], NOON + 1200_000, {}, w);
  const read = { ...said(first), key: "clear", times: first.options.find(o => o.key === "clear").times };
  const second = placesOf(shown, [], NOON + 1200_000, { "slot-1": read }, w)[1];
  const times = place => place.options.find(o => o.key === "clear").times.map(at => (at - NOON) / 1000);
  assert.deepEqual([times(first), times(second)], [[500, 550], [565, 615]]);
});

test("Places: what waits for the server is believed", () => {
  const untold = [
    { kind: "loaded", request: "R2", slot: 2, at: t(40) }, { kind: "discarded", request: "R1", at: t(50) },
  ];
  const places = placesOf(bench(), untold, NOON + 100_000, {}, w);
  assert.deepEqual(places.map(p => p.key), ["slot-2", "card-1"]);
});

test("Reason: silence while steps were due, several steps not known, an outage; none on a bench on time", () => {
  const asked = (kind, id) => ({ id: `${kind}/${id}`, kind, request: id, answers: [] });
  assert.equal(reasonToCatchUp(bench(), NOON + 650_000), null);
  assert.equal(reasonToCatchUp(bench(), NOON + 720_000), `silent/${NOON}`);
  const one = [asked("step-not-known", "R1")];
  assert.equal(reasonToCatchUp(bench({ questions: one }), NOON), null);
  assert.ok(reasonToCatchUp(bench({ questions: [...one, asked("step-not-known", "R2")] }), NOON));
  assert.equal(reasonToCatchUp(bench({ questions: [asked("power-cut", "x")] }), NOON), "power-cut/x");
});

/** A bench screen on which somebody catches up; seconds after noon. */
function screenAt(seconds, shown = bench()) {
  const screen = {
    at: seconds, root: new FakeElement(), bench: "bench-1", w, snapshot: shown, shown, sent: [], waits: [],
    clock: { now: () => NOON + screen.at * 1000 },
    live: {
      who: { person: "lena", device: "tablet-1" }, untold: () => [], waiting: () => screen.waits,
      send: (_, told) => (screen.sent.push(told), screen.waits.push(told)),
    },
    render: () => screen.catchUp.render(shown),
  };
  screen.catchUp = new CatchUp(screen);
  const panel = screen.root.querySelector(".catch-up");
  screen.panel = panel;
  screen.press = name => panel.querySelector(name).dispatch("click");
  screen.cards = () => panel.querySelector(".catch-up-places").children;
  screen.guess = () => screen.cards().flatMap(card => card.children)
    .find(one => one.className?.includes("catch-up-guess"));
  screen.render();
  return screen;
}

function begin(seconds, shown) {
  storage.removeItem("incubation.catch-up.bench-1");
  const screen = screenAt(seconds, shown);
  screen.catchUp.start();
  return screen;
}

test("Done: sends all of it as one command, and nothing before", () => {
  const screen = begin(620);
  screen.press(".catch-up-done");
  for (let guess = screen.guess(); guess; guess = screen.guess()) guess.onclick();
  assert.deepEqual(screen.sent, []);
  screen.press(".catch-up-done");
  assert.deepEqual(screen.sent.map(one => [one.kind, one.told.map(told => [told.kind, told.stated])]), [["several", [
    ["loaded", true], ["read-started", true], ["cleared", true], ["not-begun", true]]]]);
  assert.equal(screen.panel.hidden, true);
});

test("Reload: what was said stands, at its times, however late it is by then", () => {
  const first = begin(620);
  first.guess().onclick();
  const screen = screenAt(900);
  assert.equal(screen.panel.hidden, false);
  assert.deepEqual(screen.cards().map(card => card.attributes["data-answered"]), ["true", "false", "false", "false"]);
  for (let guess = screen.guess(); guess; guess = screen.guess()) guess.onclick();
  screen.press(".catch-up-done");
  assert.deepEqual(screen.sent[0].told.filter(told => told.request === "R1").map(told => told.at), [t(530), t(590)]);
});

test("A time that was guessed can be said otherwise", () => {
  const screen = begin(620);
  screen.guess().onclick();
  const [input] = screen.cards()[0].all("input");
  assert.equal(input.value, "12:08:50");
  input.value = "12:09:00";
  input.dispatch("change");
  for (let guess = screen.guess(); guess; guess = screen.guess()) guess.onclick();
  screen.press(".catch-up-done");
  assert.equal(screen.sent[0].told.find(told => told.kind === "read-started").at, t(540));
});

test("Refused: nothing is lost of what was said, and the sentence stands beside it", () => {
  const screen = begin(620);
  for (let guess = screen.guess(); guess; guess = screen.guess()) guess.onclick();
  screen.press(".catch-up-done");
  const [told] = screen.sent;
  screen.waits = [];
  keepRefused("bench-1", told, "Nothing is recorded yet.");
  screen.render();
  assert.equal(screen.panel.hidden, false);
  assert.equal(screen.panel.querySelector(".catch-up-refused").textContent, "Nothing is recorded yet.");
  assert.deepEqual(refusedOf("bench-1"), []);
  screen.press(".catch-up-done");
  assert.deepEqual(screen.sent.map(one => one.id), [told.id, told.id]);
});

test("Recorded: the draft is gone; while it waits for the server it is neither asked nor offered again", () => {
  const screen = begin(620);
  for (let guess = screen.guess(); guess; guess = screen.guess()) guess.onclick();
  screen.press(".catch-up-done");
  assert.ok(storage.getItem("incubation.catch-up.bench-1"));
  screen.render();
  assert.deepEqual([screen.panel.hidden, screen.root.querySelector(".catch-up-offer").hidden], [true, true]);
  screen.waits = [];
  screen.render();
  assert.equal(storage.getItem("incubation.catch-up.bench-1"), null);
});

test("Said of a place where something else is believed by now: is asked again", () => {
  const first = begin(620);
  first.guess().onclick();
  const shown = bench();
  shown.alone.cartridges = [inWork("R9", "reacting", 20, { slot: 1 }), inWork("R2", "mixed", 0)];
  const screen = screenAt(640, shown);
  assert.equal(screen.cards()[0].attributes["data-answered"], "false");
  assert.match(screen.cards()[0].textContent, /CatchUpChanged/);
});

test("Somebody else takes over a step that was left: it is offered", () => {
  storage.removeItem("incubation.catch-up.bench-1");
  const screen = screenAt(100, bench({ questions: [{ id: "step-not-known/R2", kind: "step-not-known", request: "R2",
    since: t(90), slot: 2, reader: null, answers: [{ answer: "spoilt" }] }] }));
  const { hidden } = screen.root.querySelector(".catch-up-offer");
  screen.live.who = { person: "mara", device: "tablet-1" };
  screen.render();
  assert.deepEqual([hidden, screen.root.querySelector(".catch-up-offer").hidden], [true, false]);
});
