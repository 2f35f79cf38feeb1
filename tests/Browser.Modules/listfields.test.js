import assert from "node:assert/strict";
import { readFileSync } from "node:fs";
import { mock, test } from "node:test";
import { load, MODULES, pretend } from "./modules.js";
import { FakeElement, pretendPage, settled } from "./page.js";

pretendPage();
pretend({ document: { ...document, createElement: tag => new Field(tag) } });
const { askReading, LARGEST, listFields, LONGEST_LINE, refusalIn, refusedText, REST_MS, textOf, whyUnread } =
  await load("listfields.js");

/** Told of events with what belongs to them; says of each whether it was prevented. */
class Field extends FakeElement {
  told = {};
  addEventListener(name, act) {
    this.told[name] = act;
  }

  async tell(name, event = {}) {
    let isPrevented = false;
    await this.told[name]?.({ ...event, preventDefault: () => (isPrevented = true) });
    return isPrevented;
  }
}

/** The fields, and what they did. */
function fields() {
  const did = [];
  const { area, file } = listFields("x", {
    changed: () => did.push("changed"), read: async text => void did.push(`read ${text}`),
    refused: why => did.push(why),
  });
  const choose = (bytes, size = bytes.length) => {
    file.files = [{ size, arrayBuffer: async () => new Uint8Array(bytes).buffer }];
    return file.tell("change");
  };
  return { area, did, choose };
}

const letters = text => [...new TextEncoder().encode(text)];

test("What the server takes at most is known here", () => {
  const attribute = readFileSync(new URL("../../Doors/LargestBodyAttribute.cs", MODULES), "utf8");
  assert.match(attribute, /Large = 1024 \* 1024;/);
  assert.equal(LARGEST, 1024 * 1024);
});

test("A file that is too large is told so by its size: it is not read, and no field has it", async () => {
  const { area, did, choose } = fields();
  await choose([], 3_000_000);
  assert.deepEqual([did, area.value], [["changed", "TooLarge"], ""]);
});

for (const [text, why] of [
  ["T-1\nT-2", null],
  [`${"x".repeat(LONGEST_LINE)}\n`.repeat(3), null],
  [`T-1\n${"x".repeat(LONGEST_LINE + 1)}`, "LongLine"],
  ["T-100\n".repeat(200_000), "TooLarge"],
  // By its bytes as they are sent, not by its letters.
  ["Ä\n".repeat(300_000), "TooLarge"],
])
  test(`A text of ${text.length} letters, in lines of ${text.split("\n")[0].length}: ${why ?? "read"}`, async () => {
    assert.equal(refusedText(text), why);
    const pasted = fields();
    const clipboardData = { getData: () => text };
    assert.equal(await pasted.area.tell("paste", { clipboardData }), why !== null);
    assert.equal(await pasted.area.tell("drop", { dataTransfer: clipboardData }), why !== null);
    assert.deepEqual(pasted.did, why ? [why, why] : []);
    const { area, did, choose } = fields();
    await choose(letters(text));
    assert.deepEqual([did, area.value], why ? [["changed", why], ""] : [["changed", `read ${text}`], text]);
  });

test("What is typed or scanned is read once, when the keys rest; until then nothing of it can be put", async () => {
  mock.timers.enable({ apis: ["setTimeout"] });
  try {
    const { area, did } = fields();
    for (const key of "T-1001") {
      area.value += key;
      await area.tell("input");
      mock.timers.tick(REST_MS - 1);
    }
    assert.deepEqual(did, Array(6).fill("changed"));
    mock.timers.tick(1);
    await settled();
    assert.deepEqual(did.slice(6), ["read T-1001"]);
  } finally {
    mock.timers.reset();
  }
});

test("A file after what was typed: the typed text is not read any more", async () => {
  mock.timers.enable({ apis: ["setTimeout"] });
  try {
    const { area, did, choose } = fields();
    area.value = "T-1";
    await area.tell("input");
    await choose(letters("T-2"));
    mock.timers.tick(REST_MS);
    await settled();
    assert.deepEqual(did, ["changed", "changed", "read T-2"]);
  } finally {
    mock.timers.reset();
  }
});

test("An empty file is said to be empty", async () => {
  for (const empty of [[], letters(" \r\n")]) {
    const { did, choose } = fields();
    await choose(empty);
    assert.deepEqual(did, ["changed", "Empty"]);
  }
});

const wide = (text, isBig) => [...text].flatMap(one => {
  const code = one.charCodeAt(0);
  return isBig ? [code >> 8, code & 0xff] : [code & 0xff, code >> 8];
});

for (const [what, bytes, text] of [
  ["UTF-8", letters("spécimen\nT-1"), "spécimen\nT-1"],
  ["UTF-16 with its mark", [0xff, 0xfe, ...wide("T-1", false)], "T-1"],
  ["UTF-16 without its mark", wide("spécimen\nT-1", false), "spécimen\nT-1"],
  ["UTF-16 in the other order without its mark", wide("spécimen\nT-1", true), "spécimen\nT-1"],
  ["Latin-1", [0x54, 0xe9, 0x31], null],
])
  test(`A file in ${what}: ${text === null ? "is said to be unreadable" : "is read"}`, () =>
    assert.equal(textOf(new Uint8Array(bytes).buffer), text));

test("Asked too often: asked again by itself, while the list is still there", async () => {
  mock.timers.enable({ apis: ["setTimeout"] });
  try {
    const answers = [{ status: 429, body: null }, { status: 200, body: "good" }];
    let said = 0;
    const asking = askReading(async () => answers.shift(), () => true, () => said++);
    await settled();
    assert.deepEqual([answers.length, said], [1, 1]);
    mock.timers.tick(2000);
    assert.deepEqual(await asking, { status: 200, body: "good" });
    const gone = await askReading(async () => ({ status: 429, body: null }), () => false, () => said++);
    assert.deepEqual([gone.status, said], [429, 1]);
  } finally {
    mock.timers.reset();
  }
});

test("Why a list was not read: offline only where no answer came", () => {
  const w = key => `${key} {0}`;
  assert.equal(whyUnread(w, { status: 0, body: null }), refusalIn(w, "Offline"));
  assert.equal(whyUnread(w, { status: 413, body: { detail: "x" } }), "TooLarge 1");
  assert.equal(whyUnread(w, { status: 403, body: { detail: "Not allowed." } }), "Not allowed.");
  assert.equal(whyUnread(w, { status: 500, body: null }), refusalIn(w, "NotNow"));
  assert.equal(refusalIn(w, "LongLine"), "LongLine 4000");
});
