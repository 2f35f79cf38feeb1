import assert from "node:assert/strict";
import { test } from "node:test";
import { load } from "./modules.js";

const { isBox, isSpecimen, judgeLabel } = await load("labels.js");
const { Burst } = await load("wedge.js");

// Slots 3 and 5 hold cartridges, the reader holds one, one waits, one is over; slot 3's is due.
const label = (request, over = false) => ({
  code: `CR.bench-1.${request}`,
  request,
  specimen: `SP-${request}`,
  assay: "X",
  over,
});
const slot = (number, request) => ({ slot: number, request });
const snapshot = {
  bench: "bench-1", slots: [slot(3, "A"), slot(5, "B"), slot(6, null)], readers: [{ reader: 1, request: "C" }],
  labels: [label("A"), label("B"), label("C"), label("D"), label("E", true)],
};
const offer = (kind, request, title = kind) => ({
  kind, request, specimen: request ? `SP-${request}` : null, title, key: kind + request, hands: 1,
});
const move = offer("move", "A", "Move slot 3 to the reader");
const card = offer("card-change", null, "Change the card");
const words = {
  LabelRight: "right {0} {1}",
  LabelWrong: "{0}; {1} is due",
  LabelCardDue: "{0} card {1}",
  LabelNothingDue: "{0} nothing",
  LabelOver: "over {0}",
  LabelEarlier: "earlier {0}",
  LabelOtherBench: "other {0}",
  LabelNone: "none {0}",
  LabelTube: "tube {0}: {1}",
  LabelOfSlot: "slot {0}'s cartridge",
  LabelOfReader: "in reader {0}",
  LabelOfSpecimen: "of {0} for {1}",
};

for (const [scanned, offers, due, sentence, isDue] of [
  ["CR.bench-1.A", [move], move, "right SP-A Move slot 3 to the reader", true],
  // Another keyboard layout, or a scanner set to small letters.
  ["cr.BENCH-1.a ", [move], move, "right SP-A Move slot 3 to the reader", true],
  // Due for another pair of hands.
  ["CR.bench-1.D", [move, offer("mix", "D")], move, "right SP-D mix", true],
  ["CR.bench-1.B", [move], move, "slot 5's cartridge; slot 3's cartridge is due", false],
  ["CR.bench-1.C", [move], move, "in reader 1; slot 3's cartridge is due", false],
  ["CR.bench-1.D", [move], move, "of SP-D for X; slot 3's cartridge is due", false],
  ["CR.bench-1.B", [card], card, "slot 5's cartridge card Change the card", false],
  ["CR.bench-1.B", [], null, "slot 5's cartridge nothing", false],
  ["CR.bench-1.E", [move], move, "over SP-E", false],
  ["CR.bench-1.Z", [move], move, "earlier CR.bench-1.Z", false],
  ["CR.bench-2.A", [move], move, "other CR.bench-2.A", false],
  ["CR.bench-11.A", [move], move, "other CR.bench-11.A", false],
  // The tube in hand instead of its cartridge.
  ["SP-A", [move], move, "tube SP-A: slot 3's cartridge", false],
  ["sp-d", [move], move, "tube sp-d: of SP-D for X", false],
  ["SP-E", [move], move, "none SP-E", false],
  ["0112312312312333", [move], move, "none 0112312312312333", false],
])
  test(`A label, ${scanned} while ${due?.title ?? "nothing"} is due: ${sentence}`, () => {
    const judged = judgeLabel(key => words[key], snapshot, offers, due, scanned);
    assert.deepEqual([judged.sentence, judged.offer !== null], [sentence, isDue]);
  });

// Keys and the milliseconds before each.
for (const [text, gap, beforeEnter, expected] of [
  ["CR.bench-1.A", 5, 5, "CR.bench-1.A"],
  ["CR.bench-1.A", 40, 40, "CR.bench-1.A"],
  ["CR.bench-1.A", 90, 5, null],
  ["CR.bench-1.A", 5, 400, null],
  ["ABC", 5, 5, null],
])
  test(`Keys of ${text} ${gap} ms apart, Enter after ${beforeEnter}: ${expected ? "a scan" : "typing"}`, () => {
    const burst = new Burst();
    let at = 1000;
    for (const key of text) burst.key(key, (at += gap));
    assert.equal(burst.key("Enter", at + beforeEnter).scanned, expected);
  });

// A radio link or a busy tablet holds the keys up once; -1 is never.
for (const [text, heldUpAt, halt, expected] of [
  ["T-900112", 2, 72, "cut"],
  ["T-900112", 2, 300, "cut"],
  ["T-900112", 4, 51, "cut"],
  ["T-900112", 2, 301, "scan"],
  ["T-900112", -1, 0, "scan"],
  // What comes late is too short for a scan, and still the end of one: its Enter must press nothing.
  ["T-900112", 6, 80, "cut"],
  ["X-1006", 4, 90, "cut"],
  ["T-9101", 4, 90, "cut"],
  ["X-1006", 6, 90, "cut"],
  ["X-1006", 6, 301, "typing"],
])
  test(`${text} held up for ${halt} ms before its key ${heldUpAt}: ${expected}`, () => {
    for (const end of ["Enter", "␝"]) {
      const burst = new Burst();
      let at = 1000;
      for (const [index, key] of [...text].entries()) burst.key(key, (at += index === heldUpAt ? halt : 10));
      const ended = burst.key(end, (at += heldUpAt === text.length ? halt : 10));
      const found = end === "Enter" ? ended : burst.rest(at + 60);
      assert.deepEqual([found.scanned !== null, found.isCut], [expected === "scan", expected === "cut"]);
    }
  });

test("A hand that is quick now and then is no scan that was held up", () => {
  const burst = new Burst();
  let at = 1000;
  for (const [key, gap] of [["h", 400], ["a", 45], ["e", 120], ["m", 70], ["o", 45], ["l", 110]])
    burst.key(key, (at += gap));
  assert.deepEqual(burst.key("Enter", at + 45), { scanned: null, isCut: false, isBurst: false });
});

test("Typed before, and shift within: belong to no scan", () => {
  const burst = new Burst();
  assert.equal(burst.key("x", 0).isBurst, false);
  for (const [key, at] of [
    ["Shift", 900],
    ["C", 905],
    ["Shift", 910],
    ["R", 915],
    [".", 920],
    ["1", 925],
  ])
    burst.key(key, at);
  assert.equal(burst.key("Enter", 930).scanned, "CR.1");
});

test("What may be a new specimen: no cartridge's label, and nothing with a separator of a kit's box", () => {
  assert.deepEqual(["SP-0077", " 4711 ", "CR.bench-1.R1", "01095\u001d10", "SP 1", ""].map(isSpecimen),
    [true, true, false, false, false, false]);
});

// 9506000134352 is the GTIN with which GS1 gives its examples (ref.gs1.org); from memory.
for (const [scanned, expected] of [
  ["010950600013435217261231", true],
  ["(01)09506000134352(17)261231(10)L1", true],
  ["]d2010950600013435210L1", true],
  ["0109506000134352␝10L1", true],
  ["010950600013435310L1", false],
  ["01095060001343521", false],
  ["T-4711", false],
  ["0123456789012345", false],
])
  test(`${scanned} is ${expected ? "" : "not "}the code of a box`, () => assert.equal(isBox(scanned), expected));
