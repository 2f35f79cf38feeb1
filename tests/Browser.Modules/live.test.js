import assert from "node:assert/strict";
import { beforeEach, test } from "node:test";
import { FakeStorage, load, pretend, snapshot, t } from "./modules.js";

/** The hub's client: a server that answers what the test says. */
class FakeHub {
  state = "Disconnected";
  /** @type {Record<string, (...parts: any[]) => void>} */
  heard = {};

  constructor(answers) {
    this.answers = answers;
  }

  on(name, act) {
    this.heard[name] = act;
  }

  onreconnecting() {}
  onreconnected() {}
  onclose() {}

  async start() {
    this.state = "Connected";
  }

  async stop() {
    this.state = "Disconnected";
  }

  async invoke(name, ...parts) {
    return this.answers[name]?.(...parts) ?? null;
  }
}

class FakeBuilder {
  withUrl() { return this; }
  withAutomaticReconnect() { return this; }
  configureLogging() { return this; }
  build() { return new FakeHub(answers); }
}

/** What the server answers to each call. */
let answers = {};
pretend({
  self: globalThis,
  addEventListener: () => {},
  document: { hidden: false },
  navigator: {},
  setInterval: () => 0,
  signalR: {
    HubConnectionBuilder: FakeBuilder,
    LogLevel: { None: 0 },
    HubConnectionState: { Connected: "Connected", Disconnected: "Disconnected" },
  },
  fetch: async address => ({
    ok: address === "api/v1/time",
    status: 404,
    json: async () => ({ serverTime: t(0), rate: 1 }),
  }),
});
const { Live } = await load("live.js");
const { byHttp, byHub } = await load("deliver.js");
const { ServerClock } = await load("clock.js");
const { FORM } = await load("form.js");

const recorded = { recorded: true, sentence: null, revision: 2, signIn: false };
const said = id => ({ id, kind: "mixed", request: "A", at: t(0) });

beforeEach(() => {
  pretend({ localStorage: new FakeStorage(), sessionStorage: new FakeStorage() });
  answers = { Send: () => recorded, WhoIsHere: () => ({ kind: "person", person: "lena" }) };
});

/** A line to one bench, as soon as it is connected or alone. */
async function watching() {
  const live = new Live(new ServerClock(), "wide");
  const shown = [];
  live.onSnapshot = s => shown.push(s.revision);
  const answered = new Promise(done => (live.onAnswer = (_, command) => done(command.id)));
  const settled = new Promise(done => (live.onLine = line => done(line.state)));
  await live.watch(["bench-1"]);
  return { live, shown, answered, state: await settled };
}

test("A snapshot that can be read: is shown, and the line is connected", async () => {
  answers.Watch = () => snapshot({ form: FORM });
  const { live, shown, state } = await watching();
  assert.deepEqual([state, shown, live.otherForm], ["connected", [1], null]);
});

test("A snapshot of another form: is not shown, and the screen is alone", async () => {
  answers.Watch = () => snapshot({ form: FORM + 1 });
  const { live, shown, state } = await watching();
  assert.deepEqual([state, shown, live.otherForm], ["alone", [], FORM + 1]);
});

test("A report while the form is another: is sent, and still counts for what this screen offers", async () => {
  answers.Watch = () => snapshot({ form: FORM + 1 });
  const { live, answered } = await watching();
  live.send("bench-1", said("1"));
  assert.equal(await answered, "1");
  assert.deepEqual([live.waiting("bench-1").length, live.untold("bench-1").map(c => c.id)], [0, ["1"]]);

  // A server that speaks as before knows of it by itself.
  live.hub.heard.Snapshot(snapshot({ form: FORM, revision: 3 }));
  assert.deepEqual(live.untold("bench-1"), []);
});

test("A report while the form is this one: counts until a snapshot knows of it", async () => {
  answers.Watch = () => snapshot({ form: FORM });
  const { live, answered } = await watching();
  live.send("bench-1", said("1"));
  // With who was there at the touch: others may have signed in when it arrives.
  const [{ tapped, ...kept }] = live.untold("bench-1");
  assert.deepEqual(kept, { ...said("1"), person: "lena", locked: false });
  assert.equal(Number.isNaN(Date.parse(tapped)), false);
  assert.equal(await answered, "1");
  // Recorded: but where the server is lost now, no snapshot says so.
  live.hub.heard.Snapshot(snapshot({ form: FORM, revision: 1, serverTime: t(1) }));
  assert.deepEqual(live.untold("bench-1").map(c => c.id), ["1"]);
  live.hub.heard.Snapshot(snapshot({ form: FORM, revision: 2, serverTime: t(2) }));
  assert.deepEqual(live.untold("bench-1"), []);
});

test("The server is back: what waits is told before what it planned meanwhile is shown", async () => {
  const order = [];
  answers.Watch = () => {
    order.push("watch");
    return snapshot({ form: FORM });
  };
  answers.Send = () => {
    order.push("send");
    return recorded;
  };
  localStorage.setItem("incubation.outbox.bench-1", JSON.stringify([said("1")]));
  await watching();
  assert.deepEqual(order, ["send", "watch"]);
});

test("Two snapshots, the older one last: the newer one stays", async () => {
  answers.Watch = () => snapshot({ revision: 5, serverTime: t(50) });
  const { live, shown } = await watching();
  live.hub.heard.Snapshot(snapshot({ revision: 4, serverTime: t(40) }));
  live.hub.heard.Snapshot(snapshot({ revision: 6, serverTime: t(60) }));
  assert.deepEqual(shown, [5, 6]);
});

/** @param {number} status @param {any} body @param {string|null} [after] */
const http = (status, body, after = null) =>
  pretend({ fetch: async () => ({
    ok: status < 300, status, headers: { get: () => after },
    json: async () => (body === undefined ? JSON.parse("<html>") : body),
  }) });

test("By HTTP: the server's own answer is taken as it is, everything else is not now", async () => {
  http(200, { recorded: false, kind: "refused", sentence: "Gone." });
  assert.equal((await byHttp("b", said("1"))).kind, "refused");
  http(503, { recorded: false, kind: "not-now", retryAfter: 7 });
  assert.equal((await byHttp("b", said("1"))).retryAfter, 7);
  http(404, { detail: "There is no bench." });
  assert.deepEqual(
    [(await byHttp("b", said("1"))).kind, (await byHttp("b", said("1"))).sentence], ["not-now", "There is no bench."]);
  http(429, { detail: "Too many." }, "9");
  assert.equal((await byHttp("b", said("1"))).retryAfter, 9);
  for (const status of [401, 403]) {
    http(status, undefined);
    assert.deepEqual([(await byHttp("b", said("1"))).kind, (await byHttp("b", said("1"))).signIn], ["not-now", true]);
  }
  http(502, undefined);
  assert.equal((await byHttp("b", said("1"))).kind, "not-now");
  pretend({ fetch: async () => { throw new Error("no network"); } });
  assert.equal(await byHttp("b", said("1")), null);
});

test("By the hub: whatever it fails with is not now", async () => {
  const failing = sentence => ({ invoke: async () => { throw new Error(sentence); } });
  const answer = await byHub(failing("Error: HubException: Too many requests from here."), "b", said("1"));
  assert.deepEqual([answer.kind, answer.sentence], ["not-now", "Too many requests from here."]);
  assert.equal(await byHub(failing("The connection was closed."), "b", said("1")), null);
});

test("Somebody else signs in: what waited for that is sent", async () => {
  answers.Watch = () => snapshot({ form: FORM });
  answers.Send = () => ({ recorded: false, kind: "not-now", signIn: true, sentence: "Sign in." });
  const { live } = await watching();
  live.send("bench-1", said("1"));
  await new Promise(setImmediate);
  assert.equal(live.held("bench-1")?.signIn, true);
  answers.Send = () => recorded;
  const sent = new Promise(done => (live.onAnswer = (_, command) => done(command.person)));
  live.take({ kind: "person", person: "tomas" });
  // Who reported it stays who reported it.
  assert.equal(await sent, "lena");
  assert.equal(live.waiting("bench-1").length, 0);
  await live.end();
});
