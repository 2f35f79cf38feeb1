import assert from "node:assert/strict";
import { beforeEach, mock, test } from "node:test";
import { FakeStorage, load, pretend, w } from "./modules.js";
import { listIn, pretendServer, ROUND_TRIP_MS, soon, unseen } from "./racks.js";

const { Rack } = await load("rack.js");
beforeEach(() => pretend({ localStorage: new FakeStorage() }));

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
  assert.deepEqual([list.lines.length, list.chosen, list.canUndo], [0, ["DA"], true]);
  list.undo();
  assert.deepEqual([list.chosen, list.canUndo], [[], false]);
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

test("A list that is refused: what was done before and since can be undone, and its lot is its tile's still", () => {
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
  list.undo();
  assert.deepEqual([list.chosen, list.canUndo], [[], false]);
});

test("Undo takes back what was done last, also a tile alone, and says what that was", () => {
  pretendServer(() => null);
  const rack = new Rack("bench-1", key => `${key} {0}`, unseen);
  rack.tile("a:DA");
  rack.take("t-7003");
  rack.list.switchUrgent();
  rack.take("T-7003");
  rack.out();
  rack.list.switchUrgent();
  rack.list.remove(rack.list.lines[0].id);
  rack.tile("a:DB");
  const said = [];
  for (; rack.list.canUndo; said.push(rack.said.text)) rack.undo();
  assert.deepEqual(said, ["UndoneFor DA", "UndoneOnOne t-7003", "UndoneUrgentOff DA", "UndoneOut DA",
    "UndoneOffOne T-7003", "UndoneUrgentOff DA", "UndoneOffOne t-7003", "UndoneForNothing "]);
  // What was said of one thing does not stand beside the next.
  rack.tile("a:DA");
  assert.equal(rack.said.text, "");
});

test("A rejection stays: undo says so, brings no row back, and undoes next what was done before", () => {
  pretendServer(() => null);
  const rack = new Rack("bench-1", key => `${key} {0}`, unseen);
  rack.tile("a:DA");
  rack.take("T-1");
  rack.take("T-2");
  rack.list.edit(rack.list.lines[0].id, { due: "14:30" });
  rack.list.drop(rack.list.lines[0]);
  const specimens = () => rack.list.lines.map(line => line.specimen);
  rack.undo();
  assert.deepEqual([specimens(), rack.said.text, rack.said.isGood], [["T-2"], "UndoneRejected T-1", false]);
  rack.undo();
  assert.deepEqual([specimens(), rack.said.text], [[], "UndoneOffOne T-2"]);
  rack.undo();
  assert.deepEqual([specimens(), rack.said.text, rack.list.canUndo], [[], "UndoneForNothing ", false]);
});

test("It is another's number: one row for both, as after a second scan; else the number alone changes", () => {
  const list = listIn();
  list.choose(["DA"]);
  list.take("T-7003");
  list.choose(["DA", "DB"]);
  list.urgent = true;
  list.take("t-7003");
  list.become("id-2", "T-7003");
  const rows = () => list.lines.map(({ id, specimen, assays, urgent }) => [id, specimen, assays.join(), urgent]);
  assert.deepEqual(rows(), [["id-1", "T-7003", "DA,DB", true]]);
  list.undo();
  assert.equal(list.lines.length, 2);
  list.become("id-2", "T-9");
  assert.deepEqual(rows(), [["id-1", "T-7003", "DA", false], ["id-2", "T-9", "DA,DB", true]]);
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
      : { serverTime: "2026-03-02T12:00:00Z", rate: 1, assays: [{ code: "DA", name: "A", lots, noLot: null }] });
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
  rack.doubts = [second, third].flatMap(line => [doubt(line, "alike:T-1"), doubt(line, "short:L")]);
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
