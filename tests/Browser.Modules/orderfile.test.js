import assert from "node:assert/strict";
import { test } from "node:test";
import { load, pretend, w } from "./modules.js";

pretend({ document: { querySelector: () => null } });
const { refusalOf, shownOf } = await load("orderfile.js");

test("Twelve lines of a list are shown and how many more; faults stand instead of orders", () => {
  const orders = Array.from({ length: 15 }, (_, at) =>
    ({ number: `N-${at}`, specimen: `T-${at}`, assays: ["A"], priority: null }));
  const shown = shownOf(w, { orders, faults: [] });
  assert.equal(shown.length, 13);
  assert.equal(shown[0], "T-0 · A · N-0");
  const faults = [{ line: 2, column: 5, heading: "due", sentence: "wrong" },
    { line: 3, column: 8, heading: null, sentence: "more" }];
  const said = key => ({ FaultAt: "Line {0}, column {1}: {2}", FaultUnder: "Line {0}, column {1} ({2}): {3}" })[key];
  assert.deepEqual(shownOf(said, { orders: [], faults }),
    ["Line 2, column 5 (due): wrong", "Line 3, column 8: more"]);
});

test("Why orders were not taken is what the server says of them, at most five of it", () => {
  const errors = Object.fromEntries(Array.from({ length: 9 }, (_, at) => [`orders[${at}].number`, [`no ${at}`]]));
  assert.equal(refusalOf(w, { errors }), "no 0 no 1 no 2 no 3 no 4");
  assert.equal(refusalOf(w, { detail: "later" }), "later");
  assert.equal(refusalOf(w, null), w("FileOffline"));
});
