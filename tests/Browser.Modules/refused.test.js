import assert from "node:assert/strict";
import { beforeEach, test } from "node:test";
import { FakeStorage, load, NOON, pretend, snapshot, t, w } from "./modules.js";
import { FakeElement, pretendPage } from "./page.js";

pretendPage();
const { Refused, keepRefused, refusedOf, textOf } = await load("refused.js");
const { command } = await load("reports.js");

beforeEach(() => pretend({ localStorage: new FakeStorage() }));

const shown = snapshot({ labels: [{ request: "R1", specimen: "SP-1" }] });
const report = (id, kind, says) => ({ ...command(kind, { at: NOON }, says), id });

function screenOf() {
  const screen = { root: new FakeElement(), bench: "bench-1", w, render() { this.list.render(shown); } };
  screen.list = new Refused(screen);
  screen.list.render(shown);
  return screen;
}

const lines = screen => screen.root.querySelector(".refused").querySelector(".refused-list").all("li");

test("Refused reports: each says what, when, by whom and why, until it was seen; a reload keeps the rest", () => {
  keepRefused("bench-1", { ...report("1", "loaded", { request: "R1", slot: 3 }), person: "lena" }, "No such request.");
  keepRefused("bench-1", report("2", "temperature", { celsius: 25 }), null);
  keepRefused("bench-1", report("2", "temperature", { celsius: 25 }), null);
  const screen = screenOf();
  assert.equal(screen.root.querySelector(".refused").hidden, false);
  assert.equal(lines(screen).length, 2);
  assert.match(lines(screen)[0].textContent, /RefusedLoaded.*12:00:00 · lenaNo such request\./);

  lines(screen)[0].all("button")[0].onclick();
  assert.deepEqual([lines(screen).length, lines(screenOf()).length], [1, 1]);
  lines(screen)[0].all("button")[0].onclick();
  assert.deepEqual([refusedOf("bench-1"), screen.root.querySelector(".refused").hidden], [[], true]);
});

test("What was reported: is kept in words while the batch is known", () => {
  keepRefused("bench-1", report("1", "mixed", { request: "R1" }), "why");
  screenOf();
  assert.equal(refusedOf("bench-1")[0].text, "RefusedMixed");
});

test("Every kind of report has words", () => {
  const kinds = ["mixed", "loaded", "read-started", "cleared", "card-changed", "card-seen", "discarded", "temperature",
    "not-begun", "result"];
  const named = kinds.map(kind => textOf(w, shown, report("1", kind, { request: "R1", at: t(0) })));
  assert.equal(named.filter(text => text.startsWith("Refused")).length, kinds.length);
});
