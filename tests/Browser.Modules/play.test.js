import assert from "node:assert/strict";
import { test } from "node:test";
import { load, t } from "./modules.js";

const { PlayClock, momentAt } = await load("play.js");

test("Run and held: counts at its pace, and stops at the end", () => {
  let real = 0;
  const clock = new PlayClock(() => real);
  clock.set(1000);
  clock.end = 5000;
  clock.run(true, 10);
  real = 100;
  assert.equal(clock.now(), 2000);
  clock.run(false, 10);
  real = 200;
  assert.equal(clock.now(), 2000);
  clock.run(true, 100);
  real = 300;
  assert.equal(clock.now(), 5000);
});

test("The moment at an instant: the last of several; none before the first", () => {
  assert.equal(momentAt([{ at: t(0) }, { at: t(5) }, { at: t(5) }], Date.parse(t(5))), 2);
  assert.equal(momentAt([{ at: t(0) }], Date.parse(t(-1))), -1);
});
