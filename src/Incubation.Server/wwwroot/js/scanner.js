// The check of a scanner: the code on the page is scanned, and the page says whether the scanner is set up right.

/** @import { Key } from "./scannercheck.js" */
import { el, find, setText, show } from "./dom.js";
import { fill } from "./format.js";
import { judgeScan, REST_MS, SEPARATOR } from "./scannercheck.js";
import { readWords } from "./words.js";

/** Fewer keys are somebody's at the keyboard. */
const LEAST = 8;

/** @param {HTMLElement} root */
export function mount(root) {
  return new ScannerCheck(root);
}

class ScannerCheck {
  /** @type {Key[]} */
  #keys = [];
  /** @type {ReturnType<typeof setTimeout>|undefined} */
  #resting;

  /** @param {HTMLElement} root */
  constructor(root) {
    this.w = readWords(root);
    this.says = find(root, ".scanner-says");
    this.found = find(root, ".scanner-found");
    this.listener = (/** @type {KeyboardEvent} */ event) => this.#key(event);
    addEventListener("keydown", this.listener, { capture: true });
  }

  alarmStands() {
    return false;
  }

  end() {
    clearTimeout(this.#resting);
    removeEventListener("keydown", this.listener, { capture: true });
  }

  /** @param {KeyboardEvent} event */
  #key(event) {
    const isSeparator = event.key === "\u001d"
      || (event.ctrlKey && !event.altKey && (event.key === "]" || event.code === "BracketRight"));
    const key = isSeparator ? SEPARATOR : event.key;
    if (!isSeparator && (event.ctrlKey || event.altKey || event.metaKey)) return;
    if (key.length !== 1 && key !== "Enter" && key !== "Tab") return;
    // Whoever goes through the page by the keyboard presses one key at a time.
    if (this.#keys.length > 1) event.preventDefault();
    this.#keys.push({ key, at: event.timeStamp });
    clearTimeout(this.#resting);
    this.#resting = setTimeout(() => this.#rest(), REST_MS);
  }

  #rest() {
    const keys = this.#keys;
    this.#keys = [];
    if (keys.length < LEAST) return;
    const findings = judgeScan(keys);
    const wrong = findings.filter(one => !one.isGood).length;
    setText(this.says, this.w(wrong === 0 ? "AllGood" : "SomeWrong"));
    this.says.dataset.good = String(wrong === 0);
    this.found.replaceChildren(...findings.map(one => el("li", { className: one.isGood ? "is-good" : "is-wrong" },
      el("span", { "aria-hidden": "true" }, one.isGood ? "✓ " : "✗ "), fill(this.w(one.word), ...one.things))));
    show(this.found, true);
  }
}
