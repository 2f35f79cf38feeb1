import assert from "node:assert/strict";
import { beforeEach, test } from "node:test";
import { FakeStorage, load, pretend, snapshot } from "./modules.js";

const { forgetAll, forgetOld, holdsNothingToLose, keepLast, lastOf } = await load("keep.js");
const { readWords } = await load("words.js");

beforeEach(() => pretend({ localStorage: new FakeStorage() }));

const clock = { isSet: true, now: () => 5000 };
const live = {
  who: null, lastPerson: "lena", sent: () => [{ command: { id: "1" }, revision: 2 }], line: { since: 4000 },
};

test("The last snapshot: is found again for its own bench", () => {
  keepLast(snapshot({}), live, clock);
  assert.equal(lastOf("bench-1").snapshot.revision, 1);
  assert.equal(lastOf("bench-1").server, 5000);
  assert.equal(lastOf("bench-2"), null);
  // A page loaded again goes on as the one before: with what it had told, and alone since then.
  assert.deepEqual([lastOf("bench-1").sent[0].command.id, lastOf("bench-1").since], ["1", 4000]);
});

test("A clock that was never set: nothing is kept", () => {
  keepLast(snapshot({}), live, { isSet: false, now: () => 0 });
  assert.equal(lastOf("bench-1"), null);
});

test("Somebody has left: nothing of a bench stays, reports that wait do", () => {
  keepLast(snapshot({}), live, clock);
  localStorage.setItem("incubation.outbox.bench-1", "[]");
  forgetAll();
  assert.equal(lastOf("bench-1"), null);
  assert.equal(localStorage.getItem("incubation.outbox.bench-1"), "[]");
});

test("Two days without the server: what was kept is thrown away, reports that wait are not", () => {
  const hour = 3_600_000;
  keepLast(snapshot({}), live, clock);
  localStorage.setItem("incubation.outbox.bench-1", "[]");
  assert.deepEqual(forgetOld(Date.now() + 35 * hour), []);
  assert.equal(lastOf("bench-1").snapshot.revision, 1);
  assert.deepEqual(forgetOld(Date.now() + 37 * hour), ["bench-1"]);
  assert.equal(lastOf("bench-1"), null);
  assert.equal(localStorage.getItem("incubation.outbox.bench-1"), "[]");
});

test("A clock that was set back by days, or what cannot be read: nobody knows how old it is, and it goes", () => {
  keepLast(snapshot({}), live, clock);
  localStorage.setItem("incubation.last.bench-2", "{ not json");
  assert.deepEqual(forgetOld(Date.now() - 40 * 3_600_000).sort(), ["bench-1", "bench-2"]);
});

test("Words of a page: read from its block; a missing one is a fault", () => {
  const w = readWords({ querySelector: () => ({ textContent: '{"Yes":"yes"}' }) });
  assert.equal(w("Yes"), "yes");
  assert.throws(() => w("No"), /no word "No"/);
});

test("What would be missed: reports that wait, and whatever nobody knows; nothing else", () => {
  keepLast(snapshot({}), live, clock);
  localStorage.setItem("incubation.device", "tablet-1");
  localStorage.setItem("incubation.outbox.bench-1", "[]");
  assert.equal(holdsNothingToLose(), true);
  localStorage.setItem("incubation.outbox.bench-2", '[{"id":"1"}]');
  assert.equal(holdsNothingToLose(), false);
  localStorage.removeItem("incubation.outbox.bench-2");
  localStorage.setItem("incubation.later", "x");
  assert.equal(holdsNothingToLose(), false);
});
