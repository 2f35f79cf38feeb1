import assert from "node:assert/strict";
import { readFile } from "node:fs/promises";
import { test } from "node:test";
import { alarm, load, MODULES, offer, secondsOf, snapshot, t } from "./modules.js";

const { BURSTS, BURST_MS, HARMONICS, REPEAT_MS, RISE, gonePastTheBench, planSounds } = await load("soundplan.js");
const { patternOf } = await load("buzz.js");

const said = sounds => sounds.map(x => `${x.kind}@${x.inMs / 1000}`);
const plan = (s, now, rate, horizon, silenced = new Set(), quietUntil = 0) =>
  planSounds(s, Date.parse(t(now)), rate, horizon, silenced, quietUntil);

test("Two alarms: the more urgent sounds, in its own rhythm", () => {
  const s = snapshot({ alarms: [alarm("a", "medium", -5), alarm("b", "high", 10)] });
  // The medium one's beat is each 12 s from −5; from 10 on the high one sounds, each 6 s.
  assert.deepEqual(said(plan(s, 0, 1, 24_000)), ["medium@7", "high@10", "high@16", "high@22"]);
});

test("Asked again later: the same sounds", () => {
  const s = snapshot({ alarms: [alarm("b", "high", 10)], offers: [offer("o", "mix", 2, 40)] });
  const ids = now => plan(s, now, 1, 60_000).map(x => x.id);
  const later = ids(5);
  assert.ok(ids(0).filter(id => later.includes(id)).length >= later.length - 1);
  assert.ok(later.length > 5);
});

test("A prompt at twenty times the rate: comes at its real time", () => {
  const s = snapshot({ offers: [offer("o", "mix", 20, 40)] });
  assert.deepEqual(said(plan(s, 0, 20, 60_000)), ["prompt@1", "prompt@2"]);
});

test("A note: sounds once", () => {
  const s = snapshot({ alarms: [alarm("a", "low", 5)] });
  assert.deepEqual(said(plan(s, 0, 1, 600_000)), ["low@5"]);
  assert.deepEqual(said(plan(s, 6, 1, 600_000)), []);
});

test("An alarm that has passed: is silent", () => {
  assert.deepEqual(plan(snapshot({ alarms: [{ ...alarm("b", "high", -5), passed: true }] }), 0, 1, 60_000), []);
});

for (const [silenced, acknowledged] of [[new Set(["b"]), false], [new Set(), true]])
  test(`An alarm seen ${acknowledged ? "and acknowledged" : "here"}: is silent`, () => {
    const s = snapshot({ alarms: [{ ...alarm("b", "high", -5), acknowledged }] });
    assert.deepEqual(plan(s, 0, 1, 60_000, silenced), []);
  });

test("A prompt that meets an alarm: is left out", () => {
  const s = snapshot({ alarms: [alarm("b", "high", 0, 4)], offers: [offer("o", "mix", 1, 20)] });
  assert.deepEqual(said(plan(s, 0, 1, 60_000)), ["high@0", "prompt@20"]);
});

test("Audio paused: alarms are silent and prompts are not", () => {
  const s = snapshot({ alarms: [alarm("a", "medium", 0)], offers: [offer("o", "mix", 5, 40)] });
  assert.deepEqual(said(plan(s, 0, 1, 50_000, new Set(), Date.parse(t(30)))), [
    "prompt@5",
    "medium@36",
    "prompt@40",
    "medium@48",
  ]);
});

test("Gone past the bench: only unseen alarms, and from their time", () => {
  const all = [
    alarm("a", "high", 0), { ...alarm("b", "high", 0), acknowledged: true }, { ...alarm("c", "high", 0), passed: true },
  ];
  assert.deepEqual(gonePastTheBench(all).map(x => `${x.id}@${secondsOf(x.from)}`), ["a@30"]);
});

test("A burst: the screen shakes as it sounds", () => {
  assert.deepEqual(patternOf("medium"), [200, 200, 200, 200, 200]);
});

// Quoted from others who quote IEC 60601-1-8:2006 + A1:2012 + A2:2020, or unverified: Bench/Conditions.md marks which.
for (const kind of ["high", "medium", "low"])
  test(`Bursts of ${kind}: keep the figures that they are modelled on`, () => {
    const { tone, pulses } = BURSTS[kind];
    const isHigh = kind === "high";
    const lengths = pulses.map(p => p[1]);
    const gaps = pulses.slice(1).map(([start], i) => Math.round((start - pulses[i][0] - pulses[i][1]) * 1e6) / 1e6);
    const again = Math.min(1e6, REPEAT_MS[kind]) / 1000 - BURST_MS[kind] / 1000;
    inRange(tone, 150, 1000);
    assert.equal(lengths.length, { high: 10, medium: 3, low: 2 }[kind]);
    for (const length of lengths) inRange(length, isHigh ? 0.075 : 0.125, isHigh ? 0.2 : 0.25);
    inRange(RISE, 0.1, 0.2);
    for (const one of HARMONICS) inRange(20 * Math.log10(one / HARMONICS[0]), -15, 15);
    const pitches = HARMONICS.slice(1).map((_, i) => tone * (i + 2));
    assert.ok(pitches.filter(pitch => pitch >= 300 && pitch <= 4000).length >= 4);
    if (!isHigh) for (const gap of gaps) inRange(gap, 0.125, 0.25);
    else {
      // Three and two, played twice: the third is apart from the fourth by twice the usual gap and a pulse.
      for (const place of [0, 1, 3, 5, 6, 8]) inRange(gaps[place], 0.05, 0.125);
      for (const place of [2, 7]) assert.ok(Math.abs(2 * gaps[0] + lengths[0] - gaps[place]) < 1e-6);
      inRange(gaps[4], 0.35, 1.3);
      inRange(again, 2.5, 15);
    }
    if (kind === "medium") inRange(again, 2.5, 30);
  });

test("Flashes of the stylesheet: keep the figures that they are modelled on", async () => {
  const css = await readFile(new URL("../css/alarm.css", MODULES), "utf8");
  const period = priority =>
    Number(new RegExp(`data-priority="${priority}".*animation: alarm-flash ([\\d.]+)s infinite`).exec(css)[1]);
  inRange(1 / period("high"), 1.4, 2.8);
  inRange(1 / period("medium"), 0.4, 0.8);
  assert.doesNotMatch(css, /data-priority="low".*animation/);
  inRange(Number(/0%, (\d+)% \{ opacity: 1; \}/.exec(css)[1]), 20, 60);
});

function inRange(value, least, most) {
  assert.ok(value >= least && value <= most, `${value} lies outside ${least} to ${most}`);
}
