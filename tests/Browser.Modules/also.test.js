import assert from "node:assert/strict";
import { test } from "node:test";
import { load, pretend, snapshot, t } from "./modules.js";

/** As much of an element as lists of lines need. */
class FakeElement {
  children = [];
  hidden = true;
  #text = "";

  get textContent() {
    return this.#text + this.children.map(child => child.textContent).join("");
  }

  append(...parts) {
    for (const part of parts) if (typeof part === "string") this.#text += part; else this.children.push(part);
  }

  replaceChildren(...parts) {
    this.children = [];
    this.append(...parts);
  }

  setAttribute() {}
}

// Not in every node that runs these tests.
Map.groupBy ??= (all, keyOf) => {
  const groups = new Map();
  for (const one of all) groups.set(keyOf(one), [...(groups.get(keyOf(one)) ?? []), one]);
  return groups;
};
pretend({ HTMLElement: FakeElement, document: { createElement: () => new FakeElement() } });
const { Also } = await load("also.js");

test("Several wait for the same: one line, under what is out of use", () => {
  const [section, list] = [new FakeElement(), new FakeElement()];
  const words = { AlsoAside: "{0} waits: {1}", AlsoAsideMany: "{0} wait: {1}", AlsoOut: "{0} out of use" };
  const screen = {
    root: { querySelector: selector => (selector === ".also-list" ? list : section) }, w: key => words[key] ?? key,
    taps: { life: { nameOf: (kind, number) => `${kind} ${number}` } },
  };
  const waits = (specimen, text) => ({ request: specimen, specimen, text });
  new Also(screen, () => {}).render(snapshot({
    repeats: [], notPlanned: [waits("SP-1", "no reader"), waits("SP-2", "no reader"), waits("SP-3", "not ready")],
    means: {
      hands: 1, outOfUse: [{ resource: "reader", number: 1, from: t(0), to: null, why: null }], intakePaused: false, incubator: null,
    },
  }));
  assert.deepEqual(
    list.children.map(line => line.children[0].textContent),
    ["reader 1 out of use", "SP-1, SP-2 wait: no reader", "SP-3 waits: not ready"]);
  assert.equal(section.hidden, false);
});
