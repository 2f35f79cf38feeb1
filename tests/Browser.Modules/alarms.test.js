import assert from "node:assert/strict";
import { test } from "node:test";
import { load } from "./modules.js";

const { wordOf } = await load("alarms.js");

const w = (/** @type {string} */ key) => key;

test("an alarm that was seen says so; a line, which asks for nothing, does not", () => {
  const first = { word: "Note", passed: false, line: false };
  assert.equal(wordOf({ first, seen: true }, w), "Note · Acknowledged");
  assert.equal(wordOf({ first: { ...first, passed: true }, seen: false }, w), "Note · Passed");
  assert.equal(wordOf({ first: { ...first, line: true }, seen: true }, w), "Note");
});
