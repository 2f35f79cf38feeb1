// What is asked about times: clock times that count on while the question stands; "just now" is the press.

import assert from "node:assert/strict";
import { test } from "node:test";
import { FakeStorage, load, NOON, offer, pretend, snapshot, t } from "./modules.js";
import { answers, FakeElement, pretendPage, settled, tap, type } from "./page.js";

pretendPage();
const ticks = new Set();
pretend({
  localStorage: new FakeStorage(), setTimeout: () => 0,
  setInterval: tick => (ticks.add(tick), tick), clearInterval: tick => ticks.delete(tick),
});
const { BenchTaps } = await load("bench-taps.js");

const WORDS = { JustNow: "Just now ({0})", EarlierAgo: "{0} ago ({1})", Minute: "1 min", Seconds: "{0} s" };
const w = key => WORDS[key] ?? key;
const FIVE_MINUTES = 300;

/** A screen whose clock goes on; seconds after noon. */
function screenAt(seconds, offers) {
  answers.length = 0;
  const parts = {
    offers, zone: "UTC", lots: ["DA-L1"], labels: [], questions: [], undos: [], reports: [], notPlanned: [],
    means: { outOfUse: [] },
  };
  const shown = snapshot(parts);
  const screen = {
    at: seconds, root: new FakeElement(), bench: "bench-1", w, snapshot: shown, shown, isAlone: false, sent: [],
    clock: { now: () => NOON + screen.at * 1000 },
    offers: () => shown.offers, offer: () => shown.offers[0] ?? null, alarmsNow: () => [],
    choose() {}, render() {}, numerals() {}, sounding: { attend() {} },
    catchUp: { canStart: false },
    live: { who: { device: "tablet-1" }, send: (_, said) => screen.sent.push(said), waiting: () => [] },
  };
  screen.taps = new BenchTaps(screen);
  return screen;
}

/** The dialog stands for five minutes, then this is pressed. */
const later = (screen, press) => dialog => {
  screen.at += FIVE_MINUTES;
  for (const tick of ticks) tick();
  press(dialog);
};

const mix = { ...offer("m", "mix", 0, 20), askWhenAfter: t(60), request: "R1" };

for (const [label, at] of [["Just now (12:06:40)", 400], ["1 min ago (12:05:40)", 340], ["10 s ago (12:06:30)", 390]])
  test(`Late mix, "${label}" pressed five minutes after the question: is recorded so`, async () => {
    const screen = screenAt(100, [mix]);
    answers.push(later(screen, tap(label)));
    screen.root.querySelector(".big").dispatch("click");
    await settled();
    assert.deepEqual(screen.sent.map(c => [c.kind, c.at, c.stated]), [["mixed", t(at), true]]);
    assert.equal(ticks.size, 0);
  });

test("At another time: is read against the time at which it is recorded", async () => {
  const screen = screenAt(100, [mix]);
  answers.push(tap("AtAnotherTime"), later(screen, type("12:05")));
  screen.root.querySelector(".big").dispatch("click");
  await settled();
  assert.deepEqual(screen.sent.map(c => [c.kind, c.at, c.stated]), [["mixed", t(300), true]]);
});

test("A discard confirmed five minutes after its dialog was opened: was just now", async () => {
  const screen = screenAt(100, [{ ...offer("d", "discard", 0, 20), request: "R1" }]);
  answers.push(later(screen, type("")));
  screen.root.querySelector(".big").dispatch("click");
  await settled();
  assert.deepEqual(screen.sent.map(c => [c.kind, c.at, c.stated]), [["discarded", t(400), false]]);
});

test("A card whose lot was typed five minutes after: was changed then", async () => {
  const screen = screenAt(100, [{ ...offer("c", "card-change", 0, 20), request: null, lot: "DA-L1" }]);
  answers.push(later(screen, type("DA-L1")));
  screen.root.querySelector(".big").dispatch("click");
  await settled();
  assert.deepEqual(screen.sent.map(c => [c.kind, c.at, c.lot]), [["card-changed", t(400), "DA-L1"]]);
});

test("The read was started in time: a time after the dialog was opened can be typed", async () => {
  const screen = screenAt(100, []);
  answers.push(later(screen, type("12:06:00")));
  screen.taps.alarm("started-in-time", { id: "window-closed/R1", request: "R1", reader: 1 });
  await settled();
  assert.deepEqual(screen.sent.map(c => [c.kind, c.at, c.inTime]), [["read-started", t(360), true]]);
});

test("Not begun, said five minutes after the menu was opened: is as of the press", async () => {
  const screen = screenAt(100, [mix]);
  answers.push(later(screen, tap("ProblemNotBegun")));
  screen.root.querySelector(".problem").dispatch("click");
  await settled();
  assert.deepEqual(screen.sent.map(c => [c.kind, c.at]), [["not-begun", t(400)]]);
});

test("Not begun, pressed on the card: is said of the hands whose step it shows", async () => {
  const screen = screenAt(100, [{ ...mix, hands: 2, ifNotBegun: "First move slot 1." }]);
  screen.root.querySelector(".not-begun").dispatch("click");
  await settled();
  assert.deepEqual(screen.sent.map(c => [c.kind, c.hands, c.at]), [["not-begun", 2, t(100)]]);
});

test("A read that is told at its alarm: is asked when, where its step is not known", async () => {
  const screen = screenAt(100, []);
  const alarm = { id: "window-in-danger/R1", title: "", request: "R1", reader: 1 };
  await screen.taps.alarm("read-started", alarm);
  screen.shown.questions = [{ id: "step-not-known/R1", kind: "step-not-known", request: "R1" }];
  answers.push(later(screen, tap("1 min ago (12:05:40)")));
  screen.taps.alarm("read-started", alarm);
  await settled();
  assert.deepEqual(screen.sent.map(c => [c.kind, c.at, c.stated]),
    [["read-started", t(100), false], ["read-started", t(340), true]]);
});

test("A question that asks for a time: the answer's time is that of the press", async () => {
  const screen = screenAt(100, []);
  const answer = { answer: "at-that-time", text: "It was at …", slots: [], takesTime: true, takesLot: false };
  screen.shown.questions = [{ id: "when-loaded/T1", title: "", text: "", answers: [answer] }];
  screen.taps.questions.render(screen.shown.questions);
  answers.push(later(screen, tap("1 min ago (12:05:40)")));
  screen.root.querySelector(".question").querySelector(".question-answers").children[0].onclick();
  await settled();
  assert.deepEqual(screen.sent.map(c => [c.kind, c.at, c.stated]), [["answer", t(340), true]]);
});

test("One dialog stands at a time: the next one closes the one before", async () => {
  const screen = screenAt(100, [mix]);
  let first = null;
  answers.push(dialog => {
    first = dialog;
    answers.push(tap("ProblemNotBegun"));
    screen.root.querySelector(".problem").dispatch("click");
  });
  screen.root.querySelector(".big").dispatch("click");
  await settled();
  assert.ok(first);
  assert.deepEqual(screen.sent.map(c => c.kind), ["not-begun"]);
});
