import assert from "node:assert/strict";
import { beforeEach, mock, test } from "node:test";
import { FakeStorage, load, pretend, w } from "./modules.js";
import { pretendServer, ROUND_TRIP_MS, soon, unseen } from "./racks.js";

const { Rack } = await load("rack.js");
const { changesOf } = await load("rackedit.js");
const { labelsAt, unfinishedOf } = await load("rackview.js");
const { Burst, onScan } = await load("wedge.js");

const APART_MS = 100;
const KEYS_APART_MS = 4;

let press = _ => {};
beforeEach(() => {
  pretend({
    localStorage: new FakeStorage(),
    addEventListener: (_, listener) => (press = listener), removeEventListener: () => {},
    HTMLInputElement: class {
      told = [];
      dispatchEvent({ type }) {
        this.told.push(type);
      }
    },
    HTMLTextAreaElement: class {},
  });
});

test("A hundred scans 100 ms apart with a round trip of 500 ms: a hundred specimens, added once", async () => {
  mock.timers.enable({ apis: ["setTimeout"] });
  try {
    let lost = 1;
    const posts = [];
    const sent = pretendServer((address, said) => {
      if (address.endsWith("/check")) return { added: false, sentence: null, doubts: [] };
      if (!said) return { serverTime: "2026-03-02T12:00:00Z", rate: 1, assays: [] };
      posts.push(said);
      return lost-- > 0 ? null : { added: true, sentence: null, doubts: [] };
    });
    const rack = new Rack("bench-1", w, unseen);
    rack.open();
    rack.tile("a:DA");
    const end = onScan(text => rack.take(text), () => rack.cut(), { isEverywhere: () => true });
    let at = 1000;
    for (let tube = 0; tube < 100; tube++, at += APART_MS) {
      [...`T-${10000 + tube}`, "Enter"].forEach((key, i) =>
        press({ key, timeStamp: at + i * KEYS_APART_MS, target: null, preventDefault() {} }));
      mock.timers.tick(APART_MS);
      await soon();
    }
    end();
    assert.deepEqual(rack.list.lines.map(line => line.specimen),
      Array.from({ length: 100 }, (_, tube) => `T-${10000 + tube}`));

    rack.addAll();
    for (let turn = 0; turn < 100 && rack.list.sending; turn++) {
      mock.timers.tick(ROUND_TRIP_MS);
      await soon();
    }
    assert.equal(rack.list.sending, null);
    assert.deepEqual(posts.map(post => post.lines.length), [100, 100]);
    assert.equal(posts[0].report, posts[1].report);
    assert.ok(sent.filter(one => one.address.endsWith("/check")).length < 100);
  } finally {
    mock.timers.reset();
  }
});

test("A tube that goes first is said so; what is asked of one is brought into sight", async () => {
  mock.timers.enable({ apis: ["setTimeout"] });
  try {
    const asked = said => said.lines.filter(line => line.specimen === "t-1")
      .map(line => ({ line: line.id, code: "like", sentence: "Check the label.", settle: "Another", instead: null }));
    pretendServer((address, said) => said ? { added: false, sentence: "First.", doubts: asked(said) } : null);
    const sought = [];
    const rack = new Rack("bench-1", key => (key === "Taken" ? "{0} · {1}" : key),
      () => ({ ...unseen(), seek: line => sought.push(line) }));
    rack.tile("a:DA");
    rack.list.urgent = true;
    rack.take("T-1");
    assert.equal(rack.said.text, "T-1 · DA · Urgent");
    rack.take("t-1");
    const { id } = rack.list.lines[1];
    for (let turn = 0; turn < 4; turn++) {
      await soon();
      mock.timers.tick(ROUND_TRIP_MS);
    }
    await soon();
    assert.deepEqual([rack.said.text, sought], ["Check the label.", [id]]);
    rack.take("T-2");
    rack.addAll();
    await soon();
    mock.timers.tick(ROUND_TRIP_MS);
    await soon();
    assert.deepEqual([rack.said.text, sought], ["First.", [id, id]]);
  } finally {
    mock.timers.reset();
  }
});

// Keys of "T-4711" or "A␝B…", 5 ms apart, and what ends them.
for (const [keys, ends, expected] of [
  ["T-4711", ["Tab"], "T-4711"],
  ["T-4711", ["Enter"], "T-4711"],
  ["T-4711␝", [], "T-4711"],
  ["0109␝10A", [], null],
  ["0109␝10A", ["Enter"], "0109␝10A"],
])
  test(`A scanner that sends ${keys} and ${ends[0] ?? "nothing more"}: ${expected ?? "no scan yet"}`, () => {
    const burst = new Burst();
    let at = 0;
    const found = [...keys, ...ends].map(key => burst.key(key, (at += 5)).scanned).find(Boolean);
    assert.equal(burst.rest(at + 10).scanned, null);
    assert.equal(found ?? burst.rest(at + 60).scanned, expected);
  });

test("A scan while a field has the focus: the field is left as it was, and the code is taken whole", () => {
  const scanned = [];
  const field = Object.assign(new HTMLInputElement(), { value: "4 ml", closest: () => ({}) });
  const end = onScan(text => scanned.push(text), () => scanned.push(null), { isEverywhere: () => true });
  let at = 5000;
  for (const key of [..."T-4711", "Enter"]) {
    let isPrevented = false;
    press({ key, timeStamp: (at += 5), target: field, preventDefault: () => (isPrevented = true) });
    if (!isPrevented && key.length === 1) field.value += key;
  }
  end();
  // Whoever read the field at each key reads it again.
  assert.deepEqual([scanned, field.value, field.told], [["T-4711"], "4 ml", ["input"]]);
});

test("A scan held up in its middle is not half a number: nothing is taken, its field is left as it was", () => {
  const scanned = [];
  const field = Object.assign(new HTMLInputElement(), { value: "4 ml", closest: () => ({}) });
  const end = onScan(text => scanned.push(text), () => scanned.push(null), { isEverywhere: () => true });
  let at = 5000;
  for (const [index, key] of [..."T-4711", "Enter"].entries()) {
    let isPrevented = false;
    press({ key, timeStamp: (at += index === 2 ? 90 : 5), target: field, preventDefault: () => (isPrevented = true) });
    if (!isPrevented && key.length === 1) field.value += key;
  }
  end();
  assert.deepEqual([scanned, field.value], [[null], "4 ml"]);
});

// A radio button sends its form at Enter, as a text field does; a button is pressed.
for (const [what, isEverywhere, props, expected, prevented] of [
  ["a button of a dialog", false, {}, ["unwanted"], true],
  ["a choice of a dialog", false, { type: "radio" }, ["unwanted"], true],
  ["a text field of a dialog", false, { type: "text" }, ["unwanted"], true],
  ["a field of a dialog that takes scans", false, { type: "text", dataset: { takesScan: "" } }, [], false],
  ["the same while an intake is open", true, { type: "text", dataset: { takesScan: "" } }, [], false],
  ["a button while an intake is open", true, {}, ["T-4711"], true],
  ["a field of no dialog", false, { type: "text", inDialog: false }, [], false],
])
  test(`A scan at ${what}: ${expected[0] ?? "is the field's"}`, () => {
    const heard = [];
    const { inDialog = true, ...rest } = props;
    const element = Object.assign(rest.type ? new HTMLInputElement() : {}, { value: "dropped", dataset: {}, ...rest,
      closest: selector => (selector === "dialog" ? inDialog : rest.type) ? {} : null });
    const end = onScan(text => heard.push(text), () => heard.push("cut"),
      { isEverywhere: () => isEverywhere, unwanted: () => heard.push("unwanted") });
    let [at, isPrevented] = [5000, false];
    for (const key of [..."T-4711", "Enter"]) {
      isPrevented = false;
      press({ key, timeStamp: (at += 5), target: element, preventDefault: () => (isPrevented = true) });
      if (!isPrevented && key.length === 1) element.value += key;
    }
    end();
    assert.deepEqual([heard, isPrevented, element.value],
      [expected, prevented, !prevented ? "droppedT-4711" : rest.type === "text" ? "dropped" : "droppedT"]);
  });

test("What others listen to is not heard here", () => {
  const heard = [];
  const end = onScan(text => heard.push(text), () => heard.push(null), { isOthers: () => true });
  let at = 5000;
  for (const key of [..."T-4711", "Enter"])
    press({ key, timeStamp: (at += 5), target: null, preventDefault: () => heard.push("prevented") });
  end();
  assert.deepEqual(heard, []);
});

test("A scan cut near its end: nothing is sent, also where the focus came to the field with the first key", () => {
  const heard = [];
  const form = { dataset: {}, closest: () => null };
  const field = Object.assign(new HTMLInputElement(), { value: "", dataset: {}, closest: () => ({}) });
  const end = onScan(text => heard.push(text), () => heard.push(null), { isEverywhere: () => true });
  let at = 5000;
  for (const [index, key] of [..."X-1006", "Enter"].entries()) {
    let isPrevented = false;
    press({ key, timeStamp: (at += index === 4 ? 90 : 5), target: index === 0 ? form : field,
      preventDefault: () => (isPrevented = true) });
    if (!isPrevented && key.length === 1) field.value += key;
    assert.equal(isPrevented, key === "Enter");
  }
  end();
  assert.deepEqual([heard, field.value], [[null], ""]);
});

test("Labels of what was just added, and of the whole batch where the address would be too long", () => {
  assert.equal(labelsAt("bench 1", ["R07", "a&b"]), "benches/bench%201/labels?only=R07%0Aa%26b");
  assert.equal(labelsAt("b", Array.from({ length: 500 }, (_, at) => `request-${at}`)), "benches/b/labels");
});

test("A form gives what it changes and nothing else", () => {
  const line = { id: "1", specimen: "T-1", assays: ["A"], urgent: false, takenOut: null, settled: [], due: "14:30" };
  assert.deepEqual(changesOf(line, { specimen: "T-1", assays: ["A"], urgent: false, due: "14:30" }), {});
  assert.deepEqual(changesOf(line, { assays: ["B"], urgent: true, due: undefined, lots: { B: "B-L2" } }),
    { assays: ["B"], urgent: true, due: undefined, lots: { B: "B-L2" } });
});

test("What is asked is gone from the sheet's foot when it is settled, or so no more", async () => {
  mock.timers.enable({ apis: ["setTimeout"] });
  try {
    // What is alike is asked at once; that its time is over is found by adding alone.
    pretendServer((address, said) => said && {
      added: false, sentence: null,
      doubts: said.lines.flatMap(({ id: line, settled }) => [
        ...(settled.includes("alike") ? [] : [{ line, code: "alike", sentence: "Look.", settle: "Other" }]),
        ...(address.endsWith("/check") ? [] : [{ line, code: "fault", sentence: "Over.", settle: null }]),
      ]),
    });
    const rack = new Rack("bench-1", key => key, unseen);
    const asked = async () => {
      for (let turn = 0; turn < 4; turn++) {
        await soon();
        mock.timers.tick(ROUND_TRIP_MS);
      }
      await soon();
    };
    rack.tile("a:DA");
    rack.take("T-1");
    await asked();
    assert.equal(rack.said.text, "Look.");
    rack.settle(rack.doubts[0]);
    assert.equal(rack.said.text, "");
    rack.addAll();
    await asked();
    assert.equal(rack.said.text, "AskedFirst");
    assert.deepEqual(rack.doubts.map(doubt => doubt.sentence), ["Over."]);
    rack.list.edit(rack.list.lines[0].id, { due: undefined, urgent: true });
    rack.changed();
    await asked();
    assert.deepEqual(rack.doubts, []);
    assert.equal(rack.said.text, "");
  } finally {
    mock.timers.reset();
  }
});

test("A panel that is made, or is for others, while the sheet is open is there", async () => {
  mock.timers.enable({ apis: ["setTimeout"] });
  try {
    let panels = [];
    pretendServer((_, said) => said ? { added: false, sentence: null, doubts: [] }
      : { serverTime: "2026-03-02T12:00:00Z", rate: 1, assays: [], panels });
    const rack = new Rack("bench-1", w, one => ({
      ...unseen(), assaysOfTile: key => one.sheet?.panels.find(panel => `p:${panel.name}` === key)?.assays ?? [],
    }));
    const later = async () => {
      for (let turn = 0; turn < 14; turn++) {
        mock.timers.tick(ROUND_TRIP_MS);
        await soon();
      }
    };
    rack.open();
    await later();
    assert.deepEqual(rack.sheet.panels, []);
    panels = [{ name: "Heart", assays: ["DA"] }];
    await later();
    assert.deepEqual(rack.sheet.panels, panels);
    rack.tile("p:Heart");
    panels = [{ name: "Heart", assays: ["DA", "DC"] }];
    await later();
    assert.deepEqual(rack.list.chosen, ["DA", "DC"]);
    panels = [];
    await later();
    assert.deepEqual([rack.list.chosen, rack.tiles.size], [[], 0]);
  } finally {
    mock.timers.reset();
  }
});

test("Add all sends nothing while a tube is edited or a number is typed; ended, the same press sends all", () => {
  const sent = pretendServer((_, said) => said && { added: said.report !== undefined, sentence: null, doubts: [] });
  const begun = { at: null, doing: "edit", lines: [], typed: "" };
  const rack = new Rack("bench-1", key => `${key} {0}`, one => ({
    ...unseen(), unfinished: () => unfinishedOf({ ...begun, lines: one.list.lines }, one.w),
  }));
  rack.tile("a:DA");
  rack.take("T-1");
  const [{ id }] = rack.list.lines;
  for (const [at, doing, typed, said] of [
    [id, "edit", "", "UnsavedEdit T-1"], [id, "reject", "T-2", "UnsavedReject T-1"],
    [null, "edit", " T-2 ", "UnsavedNumber T-2"],
  ]) {
    Object.assign(begun, { at, doing, typed });
    rack.addAll();
    assert.deepEqual([rack.said.text, rack.said.isGood, rack.list.lines.length, rack.list.sending],
      [said, false, 1, null]);
    Object.assign(begun, { at: null, typed: "" });
    rack.hush();
    assert.equal(rack.said.text, "");
  }
  // A line that is gone is not being edited.
  begun.at = "gone";
  rack.addAll();
  assert.deepEqual([rack.list.lines.length, rack.list.sending.lines.length], [0, 1]);
  assert.equal(sent.filter(one => one.said?.report).length, 1);
});
