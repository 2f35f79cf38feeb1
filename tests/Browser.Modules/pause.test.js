import assert from "node:assert/strict";
import { test } from "node:test";
import { alarm, load, t } from "./modules.js";

const { pauseEnds, pauseFrom } = await load("pause.js");
const noon = Date.parse(t(0));

test("No new alarm: a pause ends after its time", () => {
  const pause = pauseFrom([alarm("a", "medium", -5)], 0, 4);
  assert.equal(pause.until, 480_000);
  const later = { ...pause, from: noon, until: Date.parse(t(480)) };
  assert.equal(pauseEnds(later, [alarm("a", "medium", -5), alarm("b", "medium", 20)]) - noon, 480_000);
});

for (const [what, other, seconds] of [
  ["a more urgent one", alarm("b", "high", 20), 20],
  ["one acknowledged", { ...alarm("b", "high", 20), acknowledged: true }, 120],
  ["an older one", alarm("b", "high", -20), 120],
  ["a less urgent one", alarm("b", "low", 20), 120],
])
  test(`Another alarm, ${what}: a pause ends after ${seconds} s`, () => {
    const medium = alarm("a", "medium", -5);
    assert.equal(pauseEnds(pauseFrom([medium], noon, 1), [medium, other]) - noon, seconds * 1000);
  });
