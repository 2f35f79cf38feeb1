// Outages in random states of random days: what the page offers without its server, held to the server's own core
// (OutageSamplesTest of the service's tests writes the samples).

import assert from "node:assert/strict";
import { readFile } from "node:fs/promises";
import { test } from "node:test";
import { load, sample, w } from "./modules.js";

const { goOn, offersAlone } = await load("alone.js");
const file = sample("outages.json");
const outages = JSON.parse(await readFile(file, "utf8"));
const ms = iso => (iso === null ? null : Date.parse(iso));

const offered = offer => ({
  kind: offer.kind, of: offer.of ?? offer.request ?? offer.lot, hands: offer.hands, mayBegin: ms(offer.mayBegin),
  latestStart: ms(offer.latestStart), plannedEnd: ms(offer.plannedEnd), reportFrom: ms(offer.reportFrom),
  askWhenAfter: ms(offer.askWhenAfter), windowOpens: ms(offer.windowOpens), windowCloses: ms(offer.windowCloses),
});

/** The first look at which the page offers something else than it must, or null. */
function fault({ since, alone, looks }) {
  const snapshot = { alone, offers: [], losses: [] };
  const waiting = [];
  for (const [i, { now, offers, notKnown, report }] of looks.entries()) {
    const state = { waiting, since: Date.parse(since), now: Date.parse(now) };
    const known = goOn(snapshot, state);
    const found = offersAlone(snapshot, known, w).sort((a, b) => a.hands - b.hands).map(offered);
    try {
      assert.deepEqual(known.bench.notKnown.map(step => `${step.kind}/${step.request}`).sort(), notKnown);
      assert.deepEqual(found, offers.map(offered));
    } catch (error) {
      return `look ${i + 1}: ${error.message}`;
    }
    if (report) waiting.push(report);
  }
  return null;
}

test(`Outages, ${outages.length} random states: the page offers what the plan says next`, () => {
  const faults = outages.map((one, i) => ({ i: i + 1, fault: fault(one) })).filter(one => one.fault);
  assert.deepEqual(faults.map(one => one.i), [], faults[0]?.fault);
});
