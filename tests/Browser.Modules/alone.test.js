import assert from "node:assert/strict";
import { test } from "node:test";
import { FakeStorage, alarm, aloneWith, load, offer, pretend, reacting, row, secondsOf, snapshot,
  t, w } from "./modules.js";

const { goOn, offersAlone, reasonOf, servedBy, upcomingAlone } = await load("alone.js");
const { alarmsAlone, alarmsLeft } = await load("alonealarms.js");
const { questionsAlone, reportOfAnswer } = await load("alonequestions.js");

pretend({ localStorage: new FakeStorage() });
const said = (kind, request, at, parts = {}) =>
  ({ id: `${kind}/${request}`, kind, request, at: t(at), stated: false, slot: null, reader: 1, lot: null, ...parts });
const known = (s, now, waiting = [], parts = {}) =>
  goOn(s, { waiting, since: Date.parse(t(parts.since ?? 0)), now: Date.parse(t(now)), device: null, ...parts.of });
const offers = (s, now, waiting = [], parts = {}) => offersAlone(s, known(s, now, waiting, parts), w);
const questions = (s, now, waiting = []) =>
  questionsAlone(s, known(s, now, waiting)).map(one => one.id.replace("step-not-known", one.title.split(" ")[0]));
const words = list => list.map(o => `${o.kind} ${o.request ?? o.lot}${o.slot ? ` ${o.slot}` : ""}`);

test("Offers alone, a report waiting: goes on in the plan's order", () => {
  const s = aloneWith({
    steps: [row("move", "A", 20), row("clear", "A", 90), row("card-change", null, 100, "r1", 1, "M"),
      row("move", "B", 215), row("clear", "B", 270)],
    cartridges: [reacting("A", 1, -90), reacting("B", 2, 115)], wanted: { B: { lot: "M" } },
  });
  const next = (now, waiting) => offers(s, now, waiting).map(o =>
    `${o.kind} ${o.request ?? o.lot} ${secondsOf(o.mayBegin)} ${o.windowCloses ? secondsOf(o.windowCloses) : ""}`);
  const told = [said("read-started", "A", 40), said("cleared", "A", 95), said("card-changed", null, 120, { lot: "M" })];
  assert.deepEqual([0, 1, 2, 3].flatMap(n => next([0, 41, 96, 121][n], told.slice(0, n))),
    ["move A 0 90", "clear A 80 ", "card-change M 95 ", "move B 200 295"]);
});

test("Offers alone, a mix that has not begun: is not offered, and what comes after it neither", () => {
  const s = aloneWith({
    steps: [row("mix", "X", 20), row("load", "X", 70, 4), row("move", "X", 190), row("clear", "X", 245),
      row("move", "B", 315), row("clear", "B", 370)],
    cartridges: [reacting("B", 2, 215)],
  });
  assert.deepEqual(words(offers(s, 12, [], { since: 10 })), ["move B 2"]);
  assert.deepEqual(words(offers(s, 30, [], { since: 25 })), ["mix X"]);
});

test("Offers alone, a mixture that was told here: its load into the plan's slot, however far down the plan", () => {
  const others = ["A", "B", "C", "D", "E"];
  const s = aloneWith({
    steps: [row("mix", "X", 0), ...others.flatMap((id, i) => [row("move", id, 60 + 70 * i, "r1", 2),
      row("clear", id, 120 + 70 * i, "r1", 2)]), row("load", "X", 500, 6), row("move", "X", 650),
      row("clear", "X", 710)],
    cartridges: others.map((id, i) => reacting(id, i + 1, -20 + 70 * i)), hands: [1, 2],
    // What the card lists is shorter than the plan.
    upcoming: [], offers: [offer("mix/X", "mix", -20, 0, "X")], assay: { mixToLoad: 600_000 },
  });
  assert.deepEqual(words(offers(s, 50, [said("mixed", "X", 45)])).filter(one => one.startsWith("load")), ["load X 6"]);
});

test("Offers alone, nothing was offered when the server was lost: the plan's next steps", () => {
  const s = aloneWith({
    steps: [row("clear", "A", 10), row("move", "B", 60), row("clear", "B", 120)],
    cartridges: [{ ...reacting("A", null, 0), phase: "read", from: null, to: null, reader: 1 }, reacting("B", 2, -45)],
    offers: [],
  });
  assert.deepEqual(words(offers(s, 5)), ["clear A"]);
  assert.deepEqual(words(offers(s, 30, [said("cleared", "A", 25)])), ["move B 2"]);
});

test("Offers alone, a mixture too old: no load, and the slot goes to nobody else", () => {
  const s = aloneWith({
    steps: [row("load", "X", 10, 4), row("move", "X", 150), row("clear", "X", 210)],
    cartridges: [{ ...reacting("X", null, 0), phase: "mixed" }],
  });
  assert.deepEqual(words(offers(s, 69)), ["load X 4"]);
  // Its hands are believed for 25 s and a patience of 45 s.
  assert.deepEqual([words(offers(s, 71)), questions(s, 71), questions(s, 400)], [[], ["load/X"], ["load/X"]]);
});

test("Offers alone, a window that has closed: its move is not offered, and the next one is", () => {
  const s = aloneWith({
    steps: [row("move", "A", 100), row("clear", "A", 160), row("move", "B", 170), row("clear", "B", 230)],
    cartridges: [reacting("A", 1, 0), reacting("B", 2, 90)],
  });
  assert.deepEqual(words(offers(s, 125)), ["move A 1"]);
  assert.deepEqual([words(offers(s, 181)), questions(s, 181)], [[], ["move/A"]]);
  const none = [said("answer", null, 181, { question: "step-not-known/A", answer: "not-begun" })];
  assert.deepEqual([words(offers(s, 182, none)), questions(s, 182, none)], [["move B 2"], []]);
});

test("Offers alone, words: those of the server where it offered the same, and of the slot where it really is", () => {
  const s = aloneWith({
    steps: [row("load", "X", 10, 4), row("move", "X", 150), row("clear", "X", 210)],
    cartridges: [{ ...reacting("X", null, 0), phase: "mixed" }],
    offers: [{ ...offer("load/X/slot-4/1", "load", 0, 10, "X"), slot: 4, reader: null, title: "as the server says" }],
  });
  const [load] = offers(s, 5);
  assert.deepEqual([load.key, load.title, load.button], ["load/X/slot-4/1", "as the server says", "load/X/slot-4/1"]);
  const [move] = offers(s, 60, [said("loaded", "X", 50, { slot: 2, reader: null })]);
  assert.deepEqual([move.title, move.slot, move.countTo], ["AloneMove", 2, move.windowCloses]);
});

test("Offers alone, a discard: has the reason for which the cartridge is given up", () => {
  const s = aloneWith({ steps: [row("discard", "A", 100)], cartridges: [reacting("A", 1, 0)] });
  s.alone.lost.push("A");
  s.losses = [{ request: "A", reason: "temperature" }];
  assert.deepEqual(offers(s, 110).map(o => [o.kind, o.reason]), [["discard", "temperature"]]);
  assert.equal(offers({ ...s, losses: [] }, 110)[0].reason, null);
  assert.equal(reasonOf(s, "B"), null);
});

test("Upcoming alone, a card for a cartridge that is not loaded: is left out", () => {
  const s = aloneWith({
    steps: [row("card-change", null, 40, "r1", 1, "N"), row("mix", "N", 50), row("load", "N", 55, 5),
      row("move", "N", 60), row("card-change", null, 90, "r1", 1, "L"), row("move", "A", 100), row("clear", "A", 150),
      row("card-change", null, 290, "r1", 1, "M"), row("move", "B", 300), row("clear", "B", 350),
      row("card-change", null, 390, "r1", 1, "N")],
    cartridges: [reacting("A", 1, 20), reacting("B", 2, 200)], wanted: { B: { lot: "M" }, N: { lot: "N" } },
  });
  assert.deepEqual([...words(offers(s, 0)), ...words(upcomingAlone(s, known(s, 0), w))],
    ["move A 1", "clear A", "card-change M", "move B", "clear B"]);
});

test("Two screens alone: each serves the hands that it served last, and none a slot of the other's", () => {
  const s = aloneWith({
    steps: [row("load", "X", 10, 4, 1), row("move", "A", 20, "r1", 2), row("clear", "A", 80, "r1", 2),
      row("load", "Y", 100, 1, 1), row("move", "B", 110, "r1", 1), row("clear", "B", 170, "r1", 1),
      row("move", "X", 180), row("clear", "X", 240), row("move", "Y", 250), row("clear", "Y", 310)],
    cartridges: [{ ...reacting("X", null, 0), phase: "mixed" }, { ...reacting("Y", null, 0), phase: "mixed" },
      reacting("A", 1, -70), reacting("B", 2, 0)],
    hands: [1, 2], devices: { 1: "one", 2: "two" },
  });
  const of = (device, waiting, taken = []) => words(offers(s, 30, waiting, { of: { device, taken } }));
  assert.deepEqual([of("one", []), of("two", [])], [["load X 4"], ["move A 1"]]);
  // Slot 1 is free only when the other screen's hands have moved what is in it.
  assert.deepEqual(of("one", [said("loaded", "X", 20, { slot: 4, reader: null })]), []);
  assert.deepEqual([of("three", []), of(null, [])], [[], ["load X 4", "move A 1"]]);
  assert.deepEqual(of("three", [], [2]), ["move A 1"]);
  assert.deepEqual(servedBy(s, "two", []), [2]);
});

/** A mix that nobody reports, with a cartridge whose window opens meanwhile and whose card is not in. */
const leftMix = () => aloneWith({
  steps: [row("mix", "X", 0), row("load", "X", 60, 4), row("card-change", null, 140, "r1", 1, "M"),
    row("move", "B", 165), row("clear", "B", 220), row("card-change", null, 240, "r1", 1, "L"),
    row("move", "X", 260), row("clear", "X", 320)],
  cartridges: [reacting("B", 2, 65)], wanted: { B: { lot: "M" } }, assay: { mixToLoad: 600_000 },
});

test("Hands freed by patience, a mix that nobody reports: it is asked for, and what can still be saved is next", () => {
  const s = leftMix();
  // Its allowed 50 s and a patience of 60 s.
  assert.deepEqual([words(offers(s, 109)), questions(s, 109)], [["mix X"], []]);
  assert.deepEqual([words(offers(s, 111)), questions(s, 111)], [["card-change M"], ["mix/X"]]);
  assert.deepEqual(secondsOf(offers(s, 130)[0].mayBegin), 130);
});

test("Hands freed by patience, answers: what was planned goes on, or is begun anew", () => {
  const s = leftMix();
  const at = known(s, 130);
  const [question] = questionsAlone(s, at);
  const report = (answer, then = null) =>
    reportOfAnswer(s, at, question, answer, then && Date.parse(t(then)), Date.parse(t(130)));
  const mixed = report("at-that-time", 60);
  assert.deepEqual([mixed.kind, mixed.request, mixed.stated, secondsOf(mixed.at)], ["mixed", "X", true, 60]);
  assert.deepEqual([report("spoilt").kind, report("spoilt").reason, report("not-begun")],
    ["discarded", "dropped", null]);
  const none = said("answer", null, 130, { question: question.id, answer: "not-begun" });
  assert.deepEqual([words(offers(s, 131, [mixed])), questions(s, 131, [mixed])], [["load X 4"], []]);
  // Begun anew it would be in the way of B.
  assert.deepEqual([words(offers(s, 131, [none])), questions(s, 131, [none])], [["card-change M"], []]);
});

test("Hands freed by patience, a card change or a move: the card is put in; what may be in the reader is asked", () => {
  const s = aloneWith({
    steps: [row("card-change", null, 0, "r1", 1, "M"), row("move", "B", 30), row("clear", "B", 90),
      row("move", "C", 100), row("clear", "C", 160)],
    cartridges: [reacting("B", 2, -90), reacting("C", 3, -20)], wanted: { B: { lot: "M" }, C: { lot: "M" } },
  });
  assert.deepEqual([words(offers(s, 51)), questions(s, 51)], [["card-change M"], []]);
  const put = [said("card-changed", null, 20, { lot: "M" })];
  assert.deepEqual([words(offers(s, 64, put)), questions(s, 64, put)], [["move B 2"], []]);
  assert.deepEqual([words(offers(s, 80, put)), questions(s, 80, put)], [[], ["move/B"]]);
});

test("Alarms alone, what was mixed and loaded here: its mixture's age and its window", () => {
  const s = aloneWith({
    steps: [row("load", "X", 10, 4), row("move", "X", 150), row("clear", "X", 210)],
    cartridges: [{ ...reacting("X", null, 0), phase: "mixed" }],
  });
  const waiting = [{ ...said("loaded", "X", 30, { slot: 4, reader: null }), stated: true }];
  const found = alarmsAlone(s, known(s, 40, waiting), waiting, w);
  assert.deepEqual(found.map(a => [a.id, secondsOf(a.from), a.deadline && secondsOf(a.deadline)]),
    [["window-in-danger/X", 180, 205], ["window-closed/X", 205, null]]);
  const seen = [...waiting, { kind: "acknowledge", alarm: "window-closed/X", at: t(41) }];
  assert.ok(alarmsAlone(s, known(s, 42, seen), seen, w)[1].acknowledged);
});

test("Alarms alone, whoever is at a move in time: not asked to be before its allowed end is told", () => {
  const from = (/** @type {object[]} */ first) => {
    const s = {
      ...aloneWith({ steps: [...first, row("move", "X", 115), row("clear", "X", 200)],
        cartridges: [reacting("A", 3, 20), reacting("X", 4, 30)] }),
      alarms: [{ id: "window-in-danger/X", request: "X", from: t(110), until: t(205), priority: "high" }],
    };
    return secondsOf(alarmsAlone(s, known(s, 112), [], w)[0].from);
  };
  assert.deepEqual([from([]), from([row("move", "A", 105)])], [131, 110]);
});

for (const [reported, id, stands] of [
  ["read-started", "window-in-danger/A", false],
  ["read-started", "window-closed/A", false],
  ["discarded", "cannot-be-saved/A", false],
  ["loaded", "mixture-in-danger/A", false],
  ["mixed", "mixture-in-danger/A", true],
  ["read-started", "window-closed/B", true],
  ["read-started", "clock/A", true],
])
  test(`Alarms left, ${reported} of A waits: ${id} ${stands ? "stands" : "has ended"}`, () => {
    const a = { ...alarm(id, "high", 0), request: id.split("/")[1] };
    assert.equal(alarmsLeft([a], [{ kind: reported, request: "A", at: t(0) }]).length, stands ? 1 : 0);
  });

test("A snapshot without a plan: nothing is offered", () =>
  assert.deepEqual([offersAlone(snapshot({}), known(snapshot({}), 0), w)], [[]]));
