import assert from "node:assert/strict";
import { beforeEach, test } from "node:test";
import { FakeStorage, load, pretend } from "./modules.js";

const { Outbox } = await load("outbox.js");

beforeEach(() => pretend({ localStorage: new FakeStorage(), navigator: {} }));

const recorded = { recorded: true, sentence: null, revision: 1, signIn: false };

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
