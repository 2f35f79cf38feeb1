import assert from "node:assert/strict";
import { test } from "node:test";
import { load } from "./modules.js";

const { leastOf, namesLot } = await load("reports.js");
const LOTS = ["DA-L1", "DC-L1", "DB-L2", "L2X"];

for (const [lot, typed, expected] of [
  ["DB-L2", "-L2", true],
  ["DB-L2", "b-l2", true],
  ["DA-L1", "-L1", false],
  ["DA-L1", "A-L1", true],
  ["DB-L2", "L2", false],
  ["DB-L2", "-L1", false],
  ["L2", "l2", true],
  ["L2", "2", false],
  // The element string as a scanner types it: GTIN, then the lot after its prefix 10.
  ["ABC123", "(01)12312312312333(10)ABC123", true],
  ["ABC123", "]d2011231231231233310ABC123", true],
  ["ABC12", "(01)12312312312333(10)ABC123", false],
])
  test(`Typed or scanned, ${typed}: ${expected ? "is" : "is not"} ${lot}`, () =>
    assert.equal(namesLot(typed, lot, LOTS), expected));

test("Characters that tell a lot from the others: at least three, and as many as are needed", () => {
  assert.deepEqual(LOTS.map(lot => leastOf(lot, LOTS)), [4, 4, 3, 3]);
});
