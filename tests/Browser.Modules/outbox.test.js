import assert from "node:assert/strict";
import { beforeEach, test } from "node:test";
import { FakeStorage, load, pretend } from "./modules.js";

const { Outbox } = await load("outbox.js");
const { refusedOf } = await load("refused.js");

/** Timers that were set, in milliseconds. @type {number[]} */
let waits = [];
beforeEach(() => {
  waits = [];
  pretend({
    localStorage: new FakeStorage(), navigator: {}, clearTimeout: () => {}, setTimeout: (_, ms) => waits.push(ms),
  });
});

const recorded = { recorded: true, sentence: null, revision: 1, signIn: false, kind: "recorded", retryAfter: null };
const refused = { ...recorded, recorded: false, sentence: "No such request.", kind: "refused" };
const notNow = { ...recorded, recorded: false, sentence: "The disk is full.", kind: "not-now", retryAfter: 5 };
const signIn = { ...notNow, sentence: "Sign in first.", signIn: true, retryAfter: null };
const ids = box => box.waiting().map(c => c.id);
const report = id => ({ id, kind: "mixed", request: id });

/** Sends anew, and waits until all that is sent meanwhile is over. @param {any} box */
async function sendAnew(box) {
  await box.flush(true);
  for (let turn = 0; turn < 20; turn++) await new Promise(setImmediate);
}

/** A box whose server answers what `answer` says, with what it sent and what was answered for good. */
function boxOf(answer) {
  const [sent, answered] = [[], []];
  const box = new Outbox("b", async c => {
    sent.push(c.id);
    return answer(c);
  }, (c, a) => answered.push([c.id, a.kind]));
  return { box, sent, answered };
}

test("The server is gone: order is kept, and each is sent once", async () => {
  const there = false;
  const tried = [];
  const answered = [];
  const deliver = answer => async command => {
    tried.push(command.id);
    return answer();
  };
  const box = new Outbox("b", deliver(() => (there ? recorded : null)), c => answered.push(c.id));
  box.add({ id: "1" });
  box.add({ id: "2" });
  await box.flush();
  const again = new Outbox("b", deliver(() => recorded), c => answered.push(c.id));
  assert.deepEqual(again.waiting().map(c => c.id), ["1", "2"]);
  await again.flush();
  await again.flush();
  assert.deepEqual(answered, ["1", "2"]);
  assert.equal(again.waiting().length, 0);
  assert.equal(tried.filter(x => x === "2").length, 1);
});

test("Storage that cannot be read: nothing waits", () => {
  localStorage.setItem("incubation.outbox.b", "{ not json");
  assert.deepEqual(new Outbox("b", async () => null, () => {}).waiting(), []);
});

test("Benches: each has an outbox of its own", async () => {
  const one = new Outbox("b", async () => null, () => {});
  one.add({ id: "1" });
  assert.deepEqual(new Outbox("c", async () => null, () => {}).waiting(), []);
  assert.equal(one.waiting().length, 1);
});

test("Added as the last answer comes in: is sent at once", async () => {
  const sent = [];
  const box = new Outbox("b", async command => {
    sent.push(command.id);
    return recorded;
  }, () => {});
  const first = box.flush();
  box.add({ id: "1" });
  await first;
  assert.deepEqual(sent, ["1"]);
});

test("Not now: stays, is sent again after waits that grow, and is recorded once the server can", async () => {
  let answer = notNow;
  const { box, answered } = boxOf(() => answer);
  box.add(report("1"));
  box.add(report("2"));
  await sendAnew(box);
  for (let i = 0; i < 5; i++) await sendAnew(box);
  assert.deepEqual([ids(box), answered, box.held?.sentence], [["1", "2"], [], "The disk is full."]);
  // Never sooner than the server asks, and longer each time.
  assert.deepEqual([...new Set(waits)], [5000, 8000, 16_000, 30_000]);

  answer = recorded;
  await sendAnew(box);
  assert.deepEqual([ids(box), answered], [[], [["1", "recorded"], ["2", "recorded"]]]);
  assert.equal(box.held, null);
});

test("Not now: what is tapped meanwhile does not send before its time", async () => {
  const { box, sent } = boxOf(() => notNow);
  box.add(report("1"));
  await sendAnew(box);
  const before = sent.length;
  box.add(report("2"));
  await box.flush();
  assert.equal(sent.length, before);
});

test("Answers that nobody knows, and no answer: not now", async () => {
  for (const answer of [null, { recorded: false }, { ...notNow, kind: "later" }, { title: "Bad gateway" }]) {
    localStorage.removeItem("incubation.outbox.b");
    const { box, answered } = boxOf(() => answer);
    box.add(report("1"));
    await sendAnew(box);
    assert.deepEqual([ids(box), answered, refusedOf("b")], [["1"], [], []]);
    assert.equal(waits.length > 0, true);
  }
});

test("Refused for good: leaves the box, and stays in sight until it was seen, also after a reload", async () => {
  const { box, answered } = boxOf(c => (c.id === "1" ? refused : recorded));
  box.add(report("1"));
  box.add(report("2"));
  await sendAnew(box);
  assert.deepEqual([ids(box), answered], [[], [["1", "refused"], ["2", "recorded"]]]);
  assert.deepEqual(refusedOf("b"), [{ command: report("1"), sentence: "No such request." }]);
  assert.deepEqual(refusedOf("c"), []);
});

test("An instruction that is refused: is told, and not kept", async () => {
  const { box, answered } = boxOf(() => refused);
  box.add({ id: "1", kind: "start-batch" });
  await sendAnew(box);
  assert.deepEqual([ids(box), answered, refusedOf("b")], [[], [["1", "refused"]], []]);
});

test("A full box: instructions are not taken, reports are, and none is dropped", async () => {
  const { box } = boxOf(() => null);
  for (let i = 0; i < 500; i++) assert.equal(box.add(report(`${i}`)), true);
  assert.equal(box.add({ id: "i", kind: "start-batch" }), false);
  for (let i = 500; i < 700; i++) assert.equal(box.add(report(`${i}`)), true);
  assert.deepEqual(ids(box), Array.from({ length: 700 }, (_, i) => `${i}`));
});

test("Storage without room: what the server has makes room, and reports are kept in memory at worst", async () => {
  const storage = new FakeStorage();
  storage.setItem("incubation.last.b", "a snapshot");
  const set = storage.setItem.bind(storage);
  storage.setItem = (key, value) => {
    if (storage.getItem("incubation.last.b") || storage.full) throw new Error("QuotaExceededError");
    set(key, value);
  };
  pretend({ localStorage: storage });
  const { box } = boxOf(() => null);
  box.add(report("1"));
  assert.equal(storage.getItem("incubation.last.b"), null);
  assert.equal(JSON.parse(storage.getItem("incubation.outbox.b")).length, 1);
  storage.full = true;
  box.add(report("2"));
  assert.deepEqual(ids(box), ["1", "2"]);
});

test("What waits for a sign-in: does not keep back what may be said without", async () => {
  const { box } = boxOf(c => (c.kind === "result" ? signIn : recorded));
  box.add({ id: "1", kind: "result" });
  box.add(report("2"));
  await sendAnew(box);
  assert.deepEqual([ids(box), box.held?.signIn], [["1"], true]);
});

test("One at which the server fails again and again: those behind it are recorded, and it stays", async () => {
  const { box, sent } = boxOf(c => (c.id === "1" ? notNow : recorded));
  box.add(report("1"));
  box.add(report("2"));
  await sendAnew(box);
  assert.deepEqual(ids(box), ["1", "2"]);
  for (let i = 0; i < 5; i++) await sendAnew(box);
  assert.deepEqual(ids(box), ["1"]);
  assert.equal(sent.filter(id => id === "2").length, 1);
});
