import assert from "node:assert/strict";
import { test } from "node:test";
import { load } from "./modules.js";

const { CHECK, judgeScan, SEPARATOR } = await load("scannercheck.js");

// The keys of a text, one every so many milliseconds.
const keys = (text, end = ["Enter"], every = 5) => [...text, ...end].map((key, i) => ({ key, at: i * every }));
const wrong = of => judgeScan(of).filter(one => !one.isGood).map(one => [one.word, ...one.things].join(" "));
const swap = (text, pairs) => [...text].map(one => pairs[one] ?? one).join("");

for (const [what, of, expected] of [
  ["Enter", keys(CHECK), []],
  ["Tab", keys(CHECK, ["Tab"]), []],
  ["the separator", keys(CHECK, [SEPARATOR]), []],
  ["nothing at the end", keys(CHECK, []), ["SuffixNone"]],
  ["two ends", keys(CHECK, ["Enter", "Enter"]), ["SuffixTwice"]],
  ["a word ahead", keys("AB" + CHECK), ["Prefix AB"]],
  ["the code's kind ahead", keys("]Q1" + CHECK), ["PrefixKind ]Q1"]],
  ["too slow", keys(CHECK, ["Enter"], 80), ["SpeedSlow 80"]],
  ["no separator", keys(CHECK.replace(SEPARATOR, "")), ["SeparatorNone"]],
  ["another separator", keys(CHECK.replace(SEPARATOR, "|")), ["SeparatorOther |"]],
  ["y and z changed places", keys(swap(CHECK, { y: "z", z: "y", Y: "Z", Z: "Y" })),
    ["LettersMoved y → z, z → y, Y → Z, Z → Y"]],
  ["a layout that moves much", keys(swap(CHECK, { a: "q", q: "a", A: "Q", Q: "A", w: "z", z: "w", m: "," })),
    ["LettersMoved z → w, a → q, q → a, A → Q, Q → A, w → z"]],
  ["small and capital letters changed", keys([...CHECK].map(one =>
    one === one.toUpperCase() ? one.toLowerCase() : one.toUpperCase()).join("")), ["LettersCaps"]],
  ["cut", keys(CHECK.slice(0, 20)), ["SeparatorCut",
    "LettersMoved 3 → –, 4 → –, 5 → –, 6 → –, 7 → –, 8 → –"]],
  ["another code", keys("SP-000123"), ["NotTheCode SP-000123"]],
])
  test(`A scanner that sends ${what}`, () => assert.deepEqual(wrong(of), expected));

test("The code begins and ends with letters that no layout moves, and has the separator once", () =>
  assert.equal(CHECK.split(SEPARATOR).length, 2));
