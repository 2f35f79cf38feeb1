import assert from "node:assert/strict";
import { test } from "node:test";
import { load, NOON, pretend, t } from "./modules.js";

pretend({ document: { documentElement: { lang: "en" } } });
const { clockTime, fill, length, ms } = await load("format.js");
const { readClock } = await load("times.js");

for (const [milliseconds, expected] of [
  [0, "0:00"], [1, "0:01"], [59_001, "1:00"], [3_599_000, "59:59"], [3_600_000, "1:00:00"], [-5, "0:00"],
])
  test(`A length of ${milliseconds} ms: reads as ${expected}`, () => assert.equal(length(milliseconds), expected));

test("A clock time: in the clinic's zone, with seconds where asked", () => {
  assert.equal(clockTime(NOON, "Europe/Berlin"), "13:00");
  assert.equal(clockTime(NOON, "UTC", true), "12:00:00");
});

test("A sentence with places: is filled; a place without a part stays", () => {
  assert.equal(fill("{0} of {1}, {2}", "one", 2), "one of 2, {2}");
});

test("An instant: milliseconds, or null where there is none", () => {
  assert.deepEqual([ms(t(1)), ms(null), ms(undefined)], [NOON + 1000, null, null]);
});

for (const [typed, secondsFromNoon] of [
  ["11:59:50", -10],
  ["115950", -10],
  ["11:59", -60],
  ["12:00:00", 0],
  ["12:00:05", null],
  ["25:00", null],
  ["soon", null],
])
  test(`Read off the reader, ${typed}: is the latest such instant`, () => {
    const read = readClock(typed, NOON, "UTC");
    assert.equal(read === null ? null : (read - NOON) / 1000, secondsFromNoon);
  });
