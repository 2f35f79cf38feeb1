import assert from "node:assert/strict";
import { beforeEach, mock, test } from "node:test";
import { FakeStorage, load, pretend } from "./modules.js";
import { listIn, pretendServer, ROUND_TRIP_MS, soon, unseen } from "./racks.js";

const { Rack } = await load("rack.js");
const { leftOut } = await load("rackorders.js");

beforeEach(() => pretend({ localStorage: new FakeStorage() }));

const order = (line, assay, more = {}) => ({
  line, assay, from: "Ward 7 · N-1", urgent: false, identifier: null, specimenType: null, collected: null, due: null,
  comment: null, ...more,
});

test("What waits for a tube is taken once: assays, priority, comment; an undo takes the tube alone", () => {
  const list = listIn();
  list.choose(["C"]);
  list.take("T-1");
  const orders = [order("id-1", "A", { urgent: true, due: "14:30" }), order("id-1", "C", { comment: "Fasting." }),
    order("id-9", "B")];
  assert.deepEqual(list.takeOrders(orders).map(line => line.id), ["id-1"]);
  const [line] = list.lines;
  assert.deepEqual([line.assays, line.urgent, line.due, line.orders.map(one => one.added)],
    [["C", "A"], true, "14:30", [true, false]]);
  list.edit("id-1", { due: undefined });
  assert.deepEqual(list.takeOrders(orders), []);
  assert.equal(list.lines[0].due, undefined);
  // Another number: what came by order alone goes, what was chosen stays.
  list.edit("id-1", { specimen: "T-2" });
  assert.deepEqual([list.lines[0].assays, list.lines[0].orders], [["C"], []]);
  list.undo();
  list.undo();
  list.undo();
  assert.deepEqual(list.lines, []);
  list.undo();
  assert.deepEqual([list.chosen, list.canUndo], [[], false]);
});

test("A tube that is ordered gets what is ordered; what the tile asks for besides by one press", () => {
  const list = listIn();
  list.choose(["C"]);
  list.take("T-1");
  list.takeOrders([order("id-1", "A")]);
  assert.deepEqual([list.lines[0].assays, leftOut(list.lines[0])], [["A"], ["C"]]);
  // Scanned twice, nothing more is wanted; for another tile, that is said of this tube.
  assert.equal(list.take("T-1").taken, "again");
  list.choose(["C", "D"]);
  assert.equal(list.take("T-1").taken, "more");
  assert.deepEqual([list.lines[0].assays, leftOut(list.lines[0])], [["A", "D"], ["C"]]);
  list.edit("id-1", { assays: ["A", "D", "C"] });
  assert.deepEqual([list.lines[0].assays, leftOut(list.lines[0])], [["A", "D", "C"], []]);
  // An order that comes later takes nothing away.
  list.takeOrders([order("id-1", "B")]);
  assert.deepEqual(list.lines[0].assays, ["A", "D", "C", "B"]);
});

test("Another number: what an order left out is wanted again; one that is taken off by hand goes on waiting", () => {
  const list = listIn();
  list.choose(["C"]);
  list.take("T-1");
  list.takeOrders([order("id-1", "A")]);
  list.edit("id-1", { specimen: "T-2" });
  assert.deepEqual(list.lines[0].assays, ["C"]);
  list.undo();
  list.edit("id-1", { assays: ["C"] });
  assert.deepEqual([list.lines[0].assays, list.lines[0].settled], [["C"], ["ordered:A"]]);
});

test("What stands on a list by name is kept with an order: the tiles alone give way", () => {
  const list = listIn();
  list.choose(["C"]);
  list.takeAll([{ specimen: "T-1", assays: ["B"] }, { specimen: "T-2", assays: [] }], "file-1");
  list.takeOrders([order("id-1", "A"), order("id-2", "A")]);
  assert.deepEqual(list.lines.map(line => line.assays), [["B", "A"], ["A"]]);
});

test("A tube that is ordered is said with what for and by whom, and is sent with its assays", async () => {
  mock.timers.enable({ apis: ["setTimeout"] });
  try {
    const sent = pretendServer((address, said) => address.endsWith("/check")
      ? { added: false, sentence: null, doubts: [], orders: said.lines.map(line => order(line.id, "A",
        { urgent: true, comment: "Fasting." })) }
      : address.endsWith("/rack") ? { added: true, sentence: null, doubts: [] } : null);
    const rack = new Rack("bench-1", key => (key === "TakenOrdered" ? "{0} {1} {2}" : key), unseen);
    rack.take("T-1");
    for (let turn = 0; turn < 20; turn++) {
      await soon();
      mock.timers.tick(ROUND_TRIP_MS);
    }
    await soon();
    assert.match(rack.said.text, /T-1.*A.*Ward 7 · N-1 · Fasting\./);
    assert.deepEqual(rack.list.lines.map(line => [line.assays, line.urgent]), [[["A"], true]]);
    rack.addAll();
    const { said } = sent.at(-1);
    assert.deepEqual(said.lines.map(line => [line.assays, line.urgent, "orders" in line]), [[["A"], true, false]]);
    await soon();
    mock.timers.tick(ROUND_TRIP_MS);
    await soon();
  } finally {
    mock.timers.reset();
  }
});

test("Of a tube that is for more, what stands elsewhere already can be left out; the rest is added", async () => {
  const { spareOf } = await load("rackline.js");
  const line = { assays: ["DA", "DB"] };
  assert.deepEqual(["there:DA", "twice:DB", "there:DC", "alike:DA", "short:DA"].map(code => spareOf(line, { code })),
    ["DA", "DB", null, null, null]);
  assert.equal(spareOf({ assays: ["DA"] }, { code: "there:DA" }), null);
});
