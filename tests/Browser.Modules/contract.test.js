// What the screen works out by itself, on snapshots that the server wrote (ContractTest of the server's tests keeps
// them current).

import assert from "node:assert/strict";
import { readdir, readFile } from "node:fs/promises";
import { test } from "node:test";
import { load, w } from "./modules.js";

const FOLDER = new URL("contract/snapshots/", import.meta.url);
const samples = {};
for (const file of await readdir(FOLDER))
  samples[file.replace(".json", "")] = JSON.parse(await readFile(new URL(file, FOLDER), "utf8"));

const { goOn, offersAlone, reasonOf, upcomingAlone } = await load("alone.js");
const { alarmsAlone, alarmsLeft } = await load("alonealarms.js");
const { isReadable } = await load("form.js");
const { judgeLabel } = await load("labels.js");
const { cartridgesOf } = await load("dialogs.js");
const { planSounds } = await load("soundplan.js");

const KINDS = {
  mix: "mixed",
  load: "loaded",
  move: "read-started",
  clear: "cleared",
  "card-change": "card-changed",
  discard: "discarded",
};
const now = snapshot => Date.parse(snapshot.serverTime);
const reportOf = step => ({
  id: step.kind,
  kind: KINDS[step.kind],
  request: step.request,
  slot: step.slot,
  reader: step.reader,
  lot: step.lot,
  stated: false,
  at: step.reportFrom,
});
const known = (snapshot, waiting) => goOn(snapshot, {
  waiting, since: now(snapshot), now: Math.max(now(snapshot), ...waiting.map(c => Date.parse(c.at))), device: null,
});
const alone = (snapshot, waiting) => offersAlone(snapshot, known(snapshot, waiting), w);

for (const [name, snapshot] of Object.entries(samples)) {
  test(`${name}: has the form of these modules`, () => assert.ok(isReadable(snapshot)));

  test(`${name}: whatever is offered alone is whole`, () => {
    const waiting = snapshot.offers.map(reportOf);
    const offers = [
      ...alone(snapshot, []),
      ...alone(snapshot, waiting),
    ];
    const whole = Object.keys(samples.running.offers[0]).sort();
    for (const offer of offers) {
      assert.deepEqual(Object.keys(offer).sort(), whole);
      assert.ok(!Object.values(offer).includes(undefined));
    }
  });

  test(`${name}: sounds are planned in order, and none for what was seen`, () => {
    const sounds = planSounds(snapshot, now(snapshot), snapshot.rate, 60_000, new Set());
    assert.deepEqual(sounds, [...sounds].sort((a, b) => a.inMs - b.inMs));
    const seen = new Set([...snapshot.offers.map(o => o.key), ...snapshot.alarms.map(a => a.id)]);
    assert.deepEqual(planSounds(snapshot, now(snapshot), snapshot.rate, 60_000, seen), []);
  });

  test(`${name}: the label of each cartridge that is due names its step`, () => {
    for (const offer of snapshot.offers.filter(o => o.request)) {
      const label = snapshot.labels.find(one => one.request === offer.request);
      assert.equal(judgeLabel(w, snapshot, snapshot.offers, offer, label.code).offer, offer);
    }
  });

  test(`${name}: a cartridge that is to be discarded can be chosen`, () => {
    const known = cartridgesOf(w, snapshot).map(c => c.request);
    for (const offer of snapshot.offers.filter(o => o.kind === "discard")) assert.ok(known.includes(offer.request));
    for (const alarm of snapshot.alarms.filter(a => a.actions.includes("discard")))
      assert.ok(known.includes(alarm.request));
  });
}

test("running: alone to the end, every cartridge in work is read and taken out, with the cards that it needs", () => {
  const snapshot = samples.running;
  const waiting = [];
  for (
    let [next] = alone(snapshot, []);
    next;
    [next] = alone(snapshot, waiting)
  ) {
    assert.ok(waiting.length < 20);
    waiting.push(reportOf(next));
  }
  assert.deepEqual(
    waiting.map(c => `${c.kind} ${c.request ?? c.lot}`),
    [
      "read-started R1",
      "cleared R1",
      "read-started R2",
      "cleared R2",
      "card-changed DB-L1",
      "read-started R3",
      "cleared R3",
    ],
  );
  assert.deepEqual(upcomingAlone(snapshot, known(snapshot, waiting), w), []);
});

test("running: an alarm raised alone is as whole as the server's", () => {
  const snapshot = samples.running;
  const loaded = {
    id: "1", kind: "loaded", request: "R1", slot: 1, reader: null, at: snapshot.serverTime, stated: true,
  };
  const raised = alarmsAlone(snapshot, known(snapshot, [loaded]), [loaded], w).filter(a => a.request === "R1");
  assert.ok(raised.some(a => a.id === "window-closed/R1"));
  const whole = Object.keys(samples["window-closed"].alarms[0]).sort();
  for (const one of raised) assert.deepEqual(Object.keys(one).sort(), whole);
});

test("window-closed: the alarm ends with the discard that waits", () => {
  const snapshot = samples["window-closed"];
  assert.ok(snapshot.alarms.some(a => a.id === "window-closed/R1"));
  const discarded = { kind: "discarded", request: "R1", at: snapshot.serverTime };
  assert.ok(!alarmsLeft(snapshot.alarms, [discarded]).some(a => a.id === "window-closed/R1"));
});

test("given-up: the reason is the one that the server gave", () => {
  assert.equal(samples["given-up"].offers[0].reason, "withdrawn");
  assert.equal(reasonOf(samples["given-up"], "R1"), "withdrawn");
});
