import assert from "node:assert/strict";
import { test } from "node:test";
import { alarm, load, offer, secondsOf, slot, snapshot, step, t, w } from "./modules.js";

const { alarmsLeft, offersAlone, reasonOf, upcomingAlone } = await load("alone.js");

test("Offers alone, a report waiting: goes on in the plan's order without new loads", () => {
  const s = snapshot({
    offers: [offer("move/A", "move", 0, 20, "A")],
    upcoming: [
      step("mix", 30, "X"), step("clear", 90, "A"), step("card-change", 100, null, "L-77"), step("load", 120, "X"),
      step("move", 200, "B"),
    ],
    slots: [slot(1, "A", 30, 110), slot(2, "B", 215, 300)],
  });
  const said = (kind, request, reader = 1) => ({ id: kind, kind, request, reader, at: t(50) });
  const next = waiting => offersAlone(s, waiting, Date.parse(t(0)), w)
    .map(o => `${o.kind} ${o.request ?? o.lot} ${o.windowCloses === null ? "" : secondsOf(o.countTo)}`)[0];
  assert.deepEqual([
    next([]),
    next([said("read-started", "A")]),
    next([said("read-started", "A"), said("cleared", "A")]),
    next([said("read-started", "A"), said("cleared", "A"), said("card-changed", null)]),
  ], ["move A ", "clear A ", "card-change L-77 ", "move B 300"]);
});

for (const [kind, before] of [["mix", "move"], ["load", "load"]])
  test(`Offers alone, ${kind} not begun: is ${kind === "mix" ? "not " : ""}offered`, () => {
    const s = snapshot({
      offers: [offer(`${kind}/X`, kind, 0, 20, "X")],
      upcoming: [step("move", 200, "B")],
      slots: [slot(2, "B", 215, 300)],
    });
    const first = seconds => offersAlone(s, [], Date.parse(t(seconds)), w)[0].kind;
    assert.deepEqual([first(10), first(25)], [before, kind]);
  });

test("Offers alone, a mixture whose report waits: its load into the plan's slot, then its read", () => {
  const s = snapshot({
    offers: [offer("mix/X", "mix", 0, 20, "X")],
    upcoming: [
      { ...step("load", 50, "X"), slot: 4, reader: null }, step("mix", 80, "Y"),
      { ...step("load", 110, "Y"), slot: 5, reader: null }, step("move", 200, "X"),
    ],
    labels: [{ request: "X", specimen: "SP-X" }],
  });
  const said = kind => ({ id: kind, kind, request: "X", reader: null, at: t(40) });
  const next = waiting => offersAlone(s, waiting, Date.parse(t(30)), w)
    .map(o => [o.kind, o.request, o.specimen, o.slot, o.button]);
  assert.deepEqual(next([]), [["mix", "X", "X", null, "mix/X"]]);
  assert.deepEqual(next([said("mixed")]), [["load", "X", "SP-X", 4, "ButtonLoad"]]);
  assert.deepEqual(next([said("mixed"), said("loaded")]), [["move", "X", "SP-X", null, "ButtonMove"]]);
  assert.deepEqual(next([said("mixed"), said("discarded")]), []);
});

test("Offers alone, a discard: has the reason for which the cartridge is given up", () => {
  const s = snapshot({
    offers: [offer("mix/X", "mix", 0, 20, "X")], upcoming: [step("discard", 100, "A")], slots: [slot(1, "A", 30, 110)],
    losses: [{ request: "A", reason: "temperature" }],
  });
  assert.equal(offersAlone(s, [], Date.parse(t(10)), w)[0].reason, "temperature");
  assert.equal(offersAlone({ ...s, losses: [] }, [], Date.parse(t(10)), w)[0].reason, null);
  assert.equal(reasonOf(s, "B"), null);
});

test("Upcoming alone, a card for a cartridge that is not loaded: is left out", () => {
  const s = snapshot({
    slots: [slot(1, "A", 100, 200), slot(2, "B", 300, 400)],
    readers: [{ reader: 1, card: "L-A", request: null, specimen: null, readyAt: null }],
    upcoming: [
      step("card-change", 40, null, "L-N"),
      step("mix", 50, "N"),
      step("move", 60, "N"),
      step("card-change", 90, null, "L-A"),
      step("move", 100, "A"),
      step("clear", 150, "A"),
      step("card-change", 290, null, "L-B"),
      step("move", 300, "B"),
      step("clear", 350, "B"),
      step("card-change", 390, null, "L-N"),
    ],
  });
  assert.deepEqual(
    upcomingAlone(s, []).map(x => `${x.kind} ${x.request ?? x.lot}`),
    ["move A", "clear A", "card-change L-B", "move B", "clear B"]);
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
