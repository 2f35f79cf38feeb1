import assert from "node:assert/strict";
import { readFile } from "node:fs/promises";
import { beforeEach, test } from "node:test";
import { alarm, FakeStorage, load, NOON, snapshot } from "./modules.js";

const { FORM, isReadable, loadsAgain, reads } = await load("form.js");

/** @type {FakeStorage} */
let storage;
beforeEach(() => {
  storage = new FakeStorage();
});

const other = FORM + 1;
const quiet = { waiting: 0, alarms: [], now: NOON + 1000, busy: false };

test("The number of the form: the server's own", async () => {
  const server = new URL("../../src/", import.meta.url);
  const file = new URL("Incubation.Service/Snapshots/BenchSnapshot.cs", server);
  assert.equal(FORM, Number(/PresentForm = (\d+);/.exec(await readFile(file, "utf8"))[1]));
});

test("Snapshots: those of this form and from before there were forms are read, newer and older ones are not", () => {
  assert.deepEqual(
    [FORM, undefined, FORM + 1, FORM - 1].map(form => isReadable(snapshot({ form }))),
    [true, true, false, false],
  );
});

test("Another form: the page is loaded again once, never in a loop", () => {
  assert.equal(loadsAgain(other, quiet, storage), true);
  // The page that comes finds what was remembered, and cannot read that form either.
  assert.deepEqual([1, 2, 3].map(() => loadsAgain(other, quiet, storage)), [false, false, false]);
  assert.equal(loadsAgain(other + 1, quiet, storage), true);
});

test("A form read in between: the next other form is a reason again", () => {
  assert.equal(loadsAgain(other, quiet, storage), true);
  assert.equal(reads(snapshot({ form: other }), storage), false);
  assert.equal(loadsAgain(other, quiet, storage), false);
  assert.equal(reads(snapshot({ form: FORM }), storage), true);
  assert.equal(loadsAgain(other, quiet, storage), true);
});

for (const [what, page] of [
  ["a report waits to be sent", { waiting: 1 }],
  ["a high alarm stands", { alarms: [alarm("a", "high", 0)] }],
  ["somebody is answering a question", { busy: true }],
])
  test(`Another form while ${what}: later`, () => {
    assert.equal(loadsAgain(other, { ...quiet, ...page }, storage), false);
    assert.equal(loadsAgain(other, quiet, storage), true);
  });

for (const [what, one] of [
  ["a medium alarm stands", alarm("a", "medium", 0)],
  ["a high alarm will stand later", alarm("a", "high", 60)],
])
  test(`Another form while ${what}: now`, () => {
    assert.equal(loadsAgain(other, { ...quiet, alarms: [one] }, storage), true);
  });
