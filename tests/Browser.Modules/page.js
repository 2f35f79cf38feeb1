// A page in memory: as much of elements and dialogs as the modules use when somebody taps.

import { pretend } from "./modules.js";

export class FakeElement {
  children = [];
  dataset = {};
  style = {};
  attributes = {};
  hidden = false;
  value = "";
  #listeners = {};
  #text = "";
  #found = new Map();

  constructor(tag = "div") {
    this.tag = tag;
    this.classList = { toggle: () => {}, add: () => {}, remove: () => {} };
  }

  get textContent() {
    return this.#text + this.children.map(child => child.textContent).join("");
  }

  set textContent(text) {
    this.#text = text;
    this.children = [];
  }

  append(...parts) {
    for (const part of parts)
      if (typeof part === "string") this.#text += part;
      else {
        part.parent = this;
        this.children.push(part);
      }
  }

  replaceChildren(...parts) {
    this.children = [];
    this.#text = "";
    this.append(...parts);
  }

  remove() {}
  focus() {}
  select() {}

  setAttribute(name, value) {
    this.attributes[name] = value;
  }

  getAttribute(name) {
    return this.attributes[name] ?? null;
  }

  /** Whatever a module looks for is there. */
  querySelector(selector) {
    if (!this.#found.has(selector)) this.#found.set(selector, new FakeElement());
    return this.#found.get(selector);
  }

  addEventListener(name, act) {
    (this.#listeners[name] ??= []).push(act);
  }

  dispatch(name) {
    for (const act of this.#listeners[name] ?? []) act({ preventDefault() {} });
  }

  show() {
    const answer = answers.shift();
    if (!answer) throw new Error(`Nobody answers: ${this.textContent}`);
    queueMicrotask(() => answer(this));
  }

  close() {
    this.dispatch("close");
  }

  /** All elements of a tag in this one. */
  all(tag) {
    return this.children.flatMap(child => [...(child.tag === tag ? [child] : []), ...child.all(tag)]);
  }
}

/** Answers to the dialogs that come. @type {((dialog: FakeElement) => void)[]} */
export const answers = [];

/** Taps the first button with this label. @param {string} label */
export const tap = label => dialog => {
  const button = dialog.all("button").find(one => one.textContent === label);
  if (!button)
    throw new Error(
      `No button "${label}" among ${dialog
        .all("button")
        .map(one => one.textContent)
        .join(", ")}.`,
    );
  button.onclick();
};

/** Types into the first field for text, and records. @param {string} [text] */
export const type = (text = "") => dialog => {
  const field = dialog.all("input").find(input => input.type !== "radio");
  field.value = text;
  dialog.all("form")[0].dispatch("submit");
};

/** Makes a page around the modules. */
export function pretendPage() {
  // Browsers have it; not every node that runs these tests does.
  Map.groupBy ??= (all, keyOf) => {
    const groups = new Map();
    for (const one of all) groups.set(keyOf(one), [...(groups.get(keyOf(one)) ?? []), one]);
    return groups;
  };
  pretend({
    HTMLElement: FakeElement, addEventListener: () => {}, removeEventListener: () => {},
    document: {
      createElement: tag => new FakeElement(tag), body: new FakeElement("body"), documentElement: { lang: "en" },
      activeElement: null, querySelector: () => null,
    },
    FormData: class {
      constructor(form) {
        this.form = form;
      }

      get(name) {
        return this.form.all("input").find(input => input.name === name && input.checked)?.value ?? null;
      }
    },
  });
}

/** Until everything that a tap has begun is over. */
export async function settled() {
  for (let turn = 0; turn < 20; turn++) await new Promise(setImmediate);
}
