import assert from "node:assert/strict";
import { test } from "node:test";
import { load } from "./modules.js";
import { FakeElement } from "./page.js";

const { judgeRowScan } = await load("resultrows.js");
const { placeOf } = await load("scansaid.js");

for (const [hasShown, isAtShown, isAsked, becomes] of [
  // The keyboard stands at the id on the reader: that is what was scanned, also another time.
  [false, true, false, "shown"],
  [true, true, false, "shown"],
  [true, true, true, "shown"],
  // It stands at the value, or at a button: the id is still wanted, or it was a scan and no value.
  [false, false, false, "shown"],
  [true, false, false, "scanValue"],
  // "Yes, save" has the focus.
  [true, false, true, "scanAsked"],
  [false, false, true, "scanAsked"],
])
  test(`A scan in a row${hasShown ? " with its id" : ""}${isAsked ? " that asks" : ""}: ${becomes}`, () =>
    assert.equal(judgeRowScan({ hasShown, isAtShown, isAsked }), becomes));

test("A scan where no row has the focus is taken for none", () => assert.equal(judgeRowScan(null), "scanNowhere"));

test("What a scan did not do is said in the part that has the focus, else on the page", () => {
  const [page, part, field] = [new FakeElement(), new FakeElement(), new FakeElement()];
  field.closest = within => within === ".part" ? part : null;
  const [ofPage, ofPart] = [page, part].map(one => one.querySelector("[data-scan-says]"));
  assert.equal(placeOf(page, field, ".part"), ofPart);
  assert.equal(placeOf(page, field, ".other"), ofPage);
  assert.equal(placeOf(page, null, ".part"), ofPage);
});
