// What happened, told from an alarm, a slot or a reader: two presses and one time at most; what cannot be is not there.

import assert from "node:assert/strict";
import { test } from "node:test";
import { alarm, FakeStorage, load, NOON, pretend, secondsOf, slot, snapshot, t } from "./modules.js";
import { answers, pretendPage, settled, tap, type } from "./page.js";

pretendPage();
const storage = new FakeStorage();
storage.setItem("incubation.device", "tablet-1");
pretend({ localStorage: storage, setInterval: () => 0, clearInterval: () => {} });

const { Tellings } = await load("tellings.js");
const { command } = await load("reports.js");

const WORDS = {
  SlotNumber: "Slot {0}", ReaderNumber: "Reader {0}", TellPlace: "{0}: {1}", TellFree: "free", TellNamed: "{0}: {1}",
  EarlierAgo: "{0} ago", Minute: "1 min", Minutes: "{0} min", Seconds: "{0} s", AnyTimeBetween: "from {0}",
};
const w = key => WORDS[key] ?? key;
const label = request => ({ request, specimen: `SP-${request}` });
const TELLINGS = [
  {
    request: "R1", slot: null, reader: null,
    can: [
      { what: "loaded", slots: [3, 1, 2], earliest: t(-400) },
      { what: "fell", earliest: t(-400) },
      { what: "gone" },
    ],
  },
  {
    request: "R2", slot: 1, reader: null,
    can: [
      { what: "read-started", readers: [1], earliest: t(-90), inTimeFrom: t(-10) },
      { what: "elsewhere", slots: [2, 3], of: "T2" },
      { what: "still-mixed", notSo: "T2" },
      { what: "other-time", of: "T2", earliest: t(-100) },
    ],
  },
  { request: "R3", slot: null, reader: 1, can: [{ what: "elsewhere", slots: [2], notSo: "T3", of: "T4", liesIn: 2 }] },
  {
    request: "R4", slot: null, reader: null,
    can: [{ what: "loaded", slots: [1, 2, 3], earliest: t(-900), mixedBefore: 25 }],
  },
];

function screenOf(waiting = []) {
  answers.length = 0;
  const shown = snapshot({
    tellings: TELLINGS, labels: ["R1", "R2", "R3", "R4"].map(label), lots: ["DA-L1"],
    batch: { phase: "running" }, slots: [slot(1, "R2", 0, 60), slot(2, null, 0, 0), slot(3, null, 0, 0)],
    readers: [{ reader: 1, request: "R3", specimen: "R3" }],
  });
  const screen = {
    bench: "bench-1", w, snapshot: shown, shown, sent: [], clock: { now: () => NOON },
    live: { untold: () => waiting },
  };
  screen.tellings = new Tellings(screen, said => screen.sent.push(said));
  return screen;
}

const labelsOf = dialog => dialog.all("button").filter(one => one.className === "side").map(one => one.textContent);
const brief = said => [said.kind, said.request ?? said.of, said.slot ?? said.reader, secondsOf(said.at), said.stated];

/** What is sent for these presses. */
async function told(act, presses, waiting) {
  const screen = screenOf(waiting);
  answers.push(...presses);
  await act(screen.tellings);
  await settled();
  assert.equal(answers.length, 0);
  return screen.sent;
}

test("Mixture too old that was loaded: what, which slot, when", async () => {
  const sent = await told(t => t.atAlarm(alarm("R1", "high", 0)),
    [tap("TellLoaded"), tap("Slot 3: free"), tap("5 min ago")]);
  assert.deepEqual(sent.map(brief), [["loaded", "R1", 3, -300, true]]);
});

test("Pressed at the slot: the other that is in it", async () => {
  const sent = await told(t => t.at({ slot: 3 }), [tap("TellOther"), tap("SP-R1"), tap("2 min ago")]);
  assert.deepEqual(sent.map(brief), [["loaded", "R1", 3, -120, true]]);
});

test("Which cannot lie there is not offered, nor a time before it can have been", async () => {
  let offered;
  let times;
  await told(t => t.at({ slot: 2 }), [tap("TellOther"), dialog => {
    offered = labelsOf(dialog);
    dialog.close();
  }]);
  assert.deepEqual(offered, ["SP-R1", "SP-R2", "SP-R3", "SP-R4"]);
  await told(t => t.at({ slot: 1 }), [tap("TellReadStarted"), dialog => {
    times = labelsOf(dialog);
    dialog.close();
  }]);
  assert.deepEqual(times.slice(0, 6), ["JustNow", "10 s ago", "20 s ago", "30 s ago", "1 min ago", "AtAnotherTime"]);
});

test("A time typed that cannot have been is asked again", async () => {
  let wrong;
  const sent = await told(t => t.at({ slot: 1 }), [tap("TellReadStarted"), tap("AtAnotherTime"), dialog => {
    type("11:50")(dialog);
    wrong = dialog.all("p").find(one => one.className === "dialog-wrong").textContent;
    type("11:59")(dialog);
  }]);
  assert.equal(wrong, "from 11:58:30");
  assert.deepEqual(sent.map(one => [...brief(one), one.inTime]), [["read-started", "R2", 1, -60, true, true]]);
});

test("What was never so is taken back, and nothing is corrected where it lies then", async () => {
  const sent = await told(t => t.at({ slot: 1 }), [tap("TellStillMixed")]);
  assert.deepEqual(sent.map(one => [one.kind, one.of, one.answer, one.words]),
    [["correct", "T2", "mistake", "SP-R2: TellStillMixed"]]);
  const back = await told(t => t.at({ slot: 2 }), [tap("TellOther"), tap("SP-R3")]);
  assert.deepEqual(back.map(one => [one.kind, one.of, one.answer]), [["correct", "T3", "mistake"]]);
});

test("It lies in another slot, was done at another time, was never told mixed", async () => {
  const lies = await told(t => t.at({ slot: 1 }), [tap("TellElsewhere"), tap("Slot 2: free")]);
  assert.deepEqual(lies.map(brief), [["correct", "T2", 2, 0, false]]);
  const time = await told(t => t.at({ slot: 1 }), [tap("TellOtherTime"), tap("1 min ago")]);
  assert.deepEqual(time.map(one => [one.of, secondsOf(one.then)]), [["T2", -60]]);
  const both = await told(t => t.at({ slot: 3 }), [tap("TellOther"), tap("SP-R4"), tap("2 min ago")]);
  assert.deepEqual(both.map(brief), [["mixed", "R4", null, -145, false], ["loaded", "R4", 3, -120, true]]);
});

test("The card of a reader", async () => {
  const sent = await told(t => t.at({ reader: 1 }), [tap("TellCard"), type("DA-L1")]);
  assert.deepEqual(sent.map(one => [one.kind, one.reader, one.lot]), [["card-seen", 1, "DA-L1"]]);
});

test("What waits for the server is not asked for again; a snapshot from before has nothing to tell", () => {
  const screen = screenOf([command("loaded", { at: NOON }, { request: "R1", slot: 3 })]);
  assert.equal(screen.tellings.canTell(alarm("R1", "high", 0)), true);
  const discarded = screenOf([command("discarded", { at: NOON }, { request: "R4" })]);
  assert.equal(discarded.tellings.canTell(alarm("R4", "high", 0)), false);
  delete screen.shown.tellings;
  assert.equal(screen.tellings.canTell(alarm("R1", "high", 0)), false);
});
