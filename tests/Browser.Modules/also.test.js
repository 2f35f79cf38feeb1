import assert from "node:assert/strict";
import { test } from "node:test";
import { load, snapshot, t } from "./modules.js";
import { FakeElement, pretendPage } from "./page.js";

pretendPage();
const { Also } = await load("also.js");

test("Several wait for the same: one line, under what is out of use", () => {
  const [section, list] = [new FakeElement(), new FakeElement()];
  const words = { AlsoAside: "{0} waits: {1}", AlsoAsideMany: "{0} wait: {1}", AlsoOut: "{0} out of use" };
  const screen = {
    root: { querySelector: selector => (selector === ".also-list" ? list : section) }, w: key => words[key] ?? key,
    taps: { life: { nameOf: (kind, number) => `${kind} ${number}` } },
  };
  const waits = (specimen, text) => ({ request: specimen, specimen, text });
  new Also(screen, () => {}).render(
    snapshot({
      repeats: [],
      notPlanned: [waits("SP-1", "no reader"), waits("SP-2", "no reader"), waits("SP-3", "not ready")],
      means: {
        hands: 1,
        outOfUse: [{ resource: "reader", number: 1, from: t(0), to: null, why: null }],
        intakePaused: false,
        incubator: null,
      },
    }),
  );
  assert.deepEqual(
    list.children.map(line => line.children[0].textContent),
    ["reader 1 out of use", "SP-1, SP-2 wait: no reader", "SP-3 waits: not ready"]);
  assert.equal(section.hidden, false);
});
