// Plans re-timed in their own order, held to the server's (RetimingSamplesTest of the service's tests writes the
// samples).

import assert from "node:assert/strict";
import { readFile } from "node:fs/promises";
import { test } from "node:test";
import { load, sample } from "./modules.js";

const { dayOf } = await load("dayfacts.js");
const { retime, sparesOf } = await load("retiming.js");
const file = sample("retimings.json");
const cases = JSON.parse(await readFile(file, "utf8"));

test(`Retime, ${cases.length} random days: what the server says`, () => {
  for (const [i, { now, alone, begun, rows }] of cases.entries()) {
    const present = Date.parse(now);
    const day = { ...dayOf(alone, present), begun: dayOf({ ...alone, steps: begun }, present).rows };
    const retimed = retime(day);
    if (!rows || !retimed) {
      assert.equal(retimed === null, rows === null, `case ${i + 1}: ${JSON.stringify(rows)}`);
      continue;
    }
    const spares = sparesOf({ ...day, rows: retimed }, retimed);
    const key = row => `${row.kind} ${row.of} ${row.hands} ${row.start}`;
    assert.deepEqual(
      retimed.map(row => ({
        kind: row.kind, of: row.request ?? row.lot, hands: row.hands, start: row.start - present,
        spare: Number.isFinite(spares.get(row)) ? spares.get(row) : null,
      })).sort((a, b) => key(a).localeCompare(key(b))),
      rows.sort((a, b) => key(a).localeCompare(key(b))), `case ${i + 1}`);
  }
});
