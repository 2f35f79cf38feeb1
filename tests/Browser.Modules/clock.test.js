import assert from "node:assert/strict";
import { test } from "node:test";
import { load } from "./modules.js";

const { ServerClock } = await load("clock.js");

test("Several round trips: the quickest is believed", () => {
  let local = 1000;
  const clock = new ServerClock(() => local);
  clock.sample(500_000, 2, 900, 1000); // 100 ms: true time at the middle, 950
  clock.sample(700_000, 2, 0, 1000); // a slow one says nonsense
  local = 1950;
  // 1000 ms of real time after the middle, at twice the rate.
  assert.equal(clock.now(), 502_000);
  assert.equal(clock.realUntil(504_000), 1000);
});

test("Uncertainty: half a trip, and it grows", () => {
  let local = 0;
  const clock = new ServerClock(() => local);
  assert.equal(clock.uncertainty, Infinity);
  clock.sample(500_000, 1, 0, 100);
  assert.equal(Math.round(clock.uncertainty), 50);
  local = 2 * 3_600_000;
  assert.ok(clock.uncertainty > 400 && clock.uncertainty < 420);
});

test("After a load: goes on by the device's own clock, and doubts it", () => {
  const local = 1000;
  const clock = new ServerClock(() => local);
  clock.resume(500_000, Date.now() - 3000, 2);
  const later = clock.now();
  assert.ok(later >= 506_000 && later < 510_000);
  assert.equal(clock.uncertainty, Infinity);
  clock.sample(900_000, 2, 1000, 1000);
  assert.equal(clock.now(), 900_000);
});
