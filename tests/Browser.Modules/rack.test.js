import assert from "node:assert/strict";
import { beforeEach, mock, test } from "node:test";
import { FakeStorage, load, pretend, w } from "./modules.js";
import { listIn, pretendServer, ROUND_TRIP_MS, soon, unseen } from "./racks.js";

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
    addEventListener: (_, listener) => (press = listener), removeEventListener: () => {}, HTMLInputElement: class {},
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

test("Urgent falls back after a tube, what was chosen stays, and the newest stands last", () => {
  const list = listIn();
  list.choose(["DA", "DB"]);
  list.urgent = true;
  assert.equal(list.take(" T-1 ").taken, "taken");
  assert.equal(list.take("T-2").taken, "taken");
  assert.deepEqual(list.lines.map(({ specimen, urgent, assays }) => [specimen, urgent, assays.join()]),
    [["T-1", true, "DA,DB"], ["T-2", false, "DA,DB"]]);
});

test("The same tube again: nothing twice; for something more: for both, and urgent where that was pressed", () => {
  const list = listIn();
  list.choose(["DA"]);
  list.take("T-1");
  assert.equal(list.take("T-1").taken, "again");
  list.choose(["DA", "DC"]);
  assert.equal(list.take("T-1").taken, "more");
  list.urgent = true;
  assert.equal(list.take("T-1").taken, "more");
  assert.deepEqual(list.lines.map(({ assays, urgent }) => [assays, urgent]), [[["DA", "DC"], true]]);
});

test("Scanned before anything was chosen: gets what is chosen first, and nothing that is chosen later", () => {
  const list = listIn();
  list.take("T-1");
  list.choose(["DB"]);
  list.choose([]);
  list.take("T-2");
  list.choose(["DC"]);
  assert.deepEqual(list.lines.map(line => line.assays), [["DB"], ["DC"]]);
});

test("300 characters: refused whole, not cut", () => {
  const list = listIn();
  assert.deepEqual(list.take("x".repeat(300)), { taken: "long", line: null });
  assert.equal(list.take("x".repeat(64)).taken, "taken");
  assert.equal(list.lines.length, 1);
});

test("Undo: takes back the last change, whatever it was", () => {
  const list = listIn();
  list.choose(["DA"]);
  list.take("T-1");
  list.edit("id-1", { specimen: "T-7" });
  list.remove("id-1");
  list.undo();
  assert.equal(list.lines[0].specimen, "T-7");
  list.undo();
  assert.equal(list.lines[0].specimen, "T-1");
  list.undo();
  assert.deepEqual([list.lines.length, list.canUndo], [0, false]);
});

test("Undo: a tile, what is out of storage and what goes first are again as they were before that change", () => {
  pretendServer(() => null);
  const rack = new Rack("bench-1", w, unseen);
  rack.take("T-1");
  rack.tile("a:DA");
  rack.out();
  rack.list.urgent = true;
  rack.take("T-2");
  const now = () => [[...rack.tiles], rack.list.chosen, rack.list.takenOut !== null, rack.list.urgent,
    rack.list.lines.map(line => line.assays.join())];
  assert.deepEqual(now(), [["a:DA"], ["DA"], true, false, ["DA", "DA"]]);
  rack.undo();
  assert.deepEqual(now(), [["a:DA"], ["DA"], true, true, ["DA"]]);
  rack.undo();
  assert.deepEqual(now(), [["a:DA"], ["DA"], false, true, ["DA"]]);
  rack.undo();
  assert.deepEqual(now(), [[], [], false, true, [""]]);
  // What is chosen next is for that tube again, and for this alone.
  rack.tile("a:DC");
  assert.deepEqual(now(), [["a:DC"], ["DC"], false, true, ["DC"]]);
});

test("A list that is refused: what was done before and since can be undone, and its tile's lot is the tile's still", () => {
  const list = listIn();
  list.choose(["DA"]);
  list.useLot("DA", "DA-L1");
  list.take("T-1");
  list.take("T-2");
  list.send();
  list.take("T-3");
  list.refused();
  list.useLot("DA", "DA-L2");
  assert.deepEqual(list.asItIs().map(line => line.lots.DA), ["DA-L2", "DA-L2", "DA-L2"]);
  const specimens = () => list.lines.map(line => line.specimen);
  for (const expected of [["T-1", "T-2"], ["T-1"], []]) {
    list.undo();
    assert.deepEqual(specimens(), expected);
  }
  assert.equal(list.canUndo, false);
});

test("A lot that was chosen at a tile stays chosen as the tile does, until it cannot be used any more", async () => {
  const list = listIn();
  list.choose(["DA"]);
  list.useLot("DA", "DA-L2");
  list.take("T-1");
  list.send();
  list.sent();
  list.take("T-2");
  assert.deepEqual(list.asItIs().map(line => line.lots), [{ DA: "DA-L2" }]);
  mock.timers.enable({ apis: ["setTimeout"] });
  try {
    const lots = ["DA-L1", "DA-L2"].map(lot => ({ lot, text: `${lot}, until then` }));
    pretendServer((_, said) => said ? null
      : { serverTime: "2026-03-02T12:00:00Z", rate: 1, assays: [{ code: "DA", name: "A", lots, noLot: null, types: [] }] });
    const rack = new Rack("bench-1", key => `${key} {0} {1}`, unseen);
    const loaded = async () => {
      void rack.load();
      await soon();
      mock.timers.tick(ROUND_TRIP_MS);
      await soon();
    };
    rack.list.useLot("DA", "DA-L2");
    await loaded();
    assert.deepEqual([rack.list.lots, rack.said.text], [{ DA: "DA-L2" }, ""]);
    lots.pop();
    await loaded();
    assert.deepEqual([rack.list.lots, rack.said.text], [{}, "LotGone DA-L2 DA-L1"]);
  } finally {
    mock.timers.reset();
  }
});

test("That a lot does not last is asked of each tube that goes without, and answered for all of them at once", () => {
  pretendServer(() => null);
  const rack = new Rack("bench-1", w, unseen);
  rack.tile("a:DA");
  ["T-1", "T-2", "T-3"].forEach(tube => rack.take(tube));
  const [, second, third] = rack.list.lines.map(line => line.id);
  const doubt = (line, code) => ({ line, code, sentence: "Look.", settle: "Yes", instead: null });
  rack.doubts = [doubt(second, "alike:T-1"), doubt(second, "short:L"), doubt(third, "alike:T-1"), doubt(third, "short:L")];
  rack.settle(rack.doubts[1]);
  assert.deepEqual(rack.list.lines.map(line => line.settled.join()), ["", "short:L", "short:L"]);
  rack.settle(rack.doubts[0]);
  assert.deepEqual(rack.list.lines.map(line => line.settled.join()), ["", "short:L,alike:T-1", "short:L"]);
  rack.undo();
  rack.undo();
  assert.deepEqual(rack.list.lines.map(line => line.settled.join()), ["", "", ""]);
});

test("Another specimen in a line: what was settled is asked anew; else it stays settled", () => {
  const list = listIn();
  list.choose(["DA"]);
  list.take("T-1");
  list.settle(["id-1"], "there:DA");
  list.edit("id-1", { identifier: "born 1980" });
  assert.deepEqual(list.lines[0].settled, ["there:DA"]);
  list.edit("id-1", { specimen: "T-2" });
  assert.deepEqual(list.lines[0].settled, []);
});

test("A page that is loaded again: list and what is on its way are there, under the name made once", () => {
  const storage = new FakeStorage();
  const list = listIn(storage);
  list.choose(["DA"]);
  list.useLot("DA", "DA-L2");
  list.take("T-1");
  const { report } = list.send();
  list.take("T-2");
  const again = listIn(storage);
  assert.equal(again.send().report, report);
  assert.deepEqual(again.sending.lines.map(({ specimen, lots }) => [specimen, lots]), [["T-1", { DA: "DA-L2" }]]);
  assert.deepEqual(again.lines.map(line => line.specimen), ["T-2"]);
  again.refused();
  assert.deepEqual(again.lines.map(line => line.specimen), ["T-1", "T-2"]);
  again.remove("id-1");
  again.lines.forEach(line => again.remove(line.id));
  assert.equal(storage.getItem("incubation.rack.bench-1"), null);
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
  assert.deepEqual([scanned, field.value], [["T-4711"], "4 ml"]);
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

/** A line as a file gives it. */
const read = (specimen, assays, more = {}) => ({ specimen, assays, urgent: false, bench: null, ...more });

test("A list with several lines of one tube: one where they say the same of it and ask for different assays", () => {
  const list = listIn();
  list.choose(["DB"]);
  list.take("T-1");
  list.takeAll([
    read("T-1", ["DA"], { lots: { DA: "DA-L2" }, identifier: "born 1980" }), read("T-2", []), read("T-1", ["DC"]),
    // The same again, goes first, is another's, stands elsewhere: asked, or kept apart.
    read("T-2", ["DB"]), read("T-2", ["DC"], { urgent: true }), read("T-1", ["DD"], { identifier: "born 1990" }),
    read("T-2", ["DD"], { bench: "bench-2" }),
  ], "file-1");
  assert.deepEqual(list.lines.map(({ specimen, assays, identifier, lots }) => [specimen, assays, identifier, lots]), [
    ["T-1", ["DB", "DA", "DC"], "born 1980", { DA: "DA-L2" }], ["T-2", ["DB"], undefined, undefined],
    ["T-2", ["DB"], undefined, undefined], ["T-2", ["DC"], undefined, undefined],
    ["T-1", ["DD"], "born 1990", undefined], ["T-2", ["DD"], undefined, undefined],
  ]);
  list.undo();
  assert.deepEqual(list.lines.map(line => line.assays), [["DB"]]);
});

test("A tube in two lines is one tube, of which it is said that it is on the bench", async () => {
  mock.timers.enable({ apis: ["setTimeout"] });
  try {
    pretendServer((_, said) => said && { added: said.report !== undefined, sentence: null, doubts: [] });
    const rack = new Rack("bench-1", key => `${key} {0}`, unseen);
    rack.list.takeAll([read("T-1", ["DA"]), read("T-1", ["DC"], { urgent: true }), read("T-2", ["DA"])], "file-1");
    rack.addAll();
    await soon();
    mock.timers.tick(ROUND_TRIP_MS);
    await soon();
    assert.equal(rack.said.text, "AddedMany 2");
  } finally {
    mock.timers.reset();
  }
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
