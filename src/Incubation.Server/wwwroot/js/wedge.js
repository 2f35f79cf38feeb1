// A scanner that is set up as a keyboard: its characters come faster than any hand types and end with Enter, Tab or the
// separator, wherever the focus is.

/** Between two characters of a scan passes no more; a quick typist leaves 60 ms and more (common practice). */
const FASTEST_HAND_MS = 50;
/**
 * Keys that stopped for no longer belong to what comes after them: a radio link or a busy tablet holds a scan up in its
 * middle, and half a number is another number.
 */
const LONGEST_HALT_MS = 300;
/** Stands for the separator of GS1 codes (FNC1), which scanners send as Ctrl+], and some at the end of every scan. */
const SEPARATOR = "␝";
/** A scan has at least so many characters. */
const LEAST = 4;
/** Keys with so many fast gaps for each halt come from a scanner: of a hand's gaps most are slow (judged). */
const FAST_FOR_EACH_HALT = 2;
/** Inputs that no text goes into: a scan's end would press them, or send their form. */
const PRESSED = ["radio", "checkbox", "button", "submit", "reset", "file", "range", "color", "image"];

/** Keys of which none is far from the one before. @typedef {{length: number, fast: number, halts: number}} Run */
/** @returns {Run} */
const noRun = () => ({ length: 0, fast: 0, halts: 0 });

/** Tells scans from typing. Counts by the times that it is given. */
export class Burst {
  constructor() {
    this.text = "";
    this.last = -Infinity;
    /** Whether other characters came shortly before these: they may be the first part of the same scan. */
    this.isCut = false;
    this.run = noRun();
  }

  /**
   * A key was pressed.
   * @param {string} key As keyboard events name it.
   * @param {number} at When, in milliseconds.
   * @returns {{scanned: string|null, isBurst: boolean, isCut: boolean}} The whole scan where this key ended one;
   * whether the key belongs to one; whether it ended one of which the beginning is not known.
   */
  key(key, at) {
    const gap = at - this.last;
    const isFast = gap <= FASTEST_HAND_MS;
    const isEnd = key === "Enter" || key === "Tab";
    if (gap > LONGEST_HALT_MS) this.run = noRun();
    if (!isFast) {
      if (this.run.length > 0) this.run.halts++;
      this.isCut = this.text !== "" && gap <= LONGEST_HALT_MS;
      this.text = "";
    } else if (isEnd || key.length === 1) this.run.fast++;
    this.last = at;
    if (isEnd) {
      const ended = this.#end(this.text);
      return { ...ended, isBurst: ended.scanned !== null || ended.isCut };
    }
    if (key.length === 1) {
      this.text += key;
      this.run.length++;
    }
    return { scanned: null, isBurst: this.text.length > 1, isCut: false };
  }

  /**
   * Nothing was pressed for a while: a separator inside a code is followed at once, so that one which is not was the
   * end.
   * @param {number} at Now, in milliseconds.
   * @returns {{scanned: string|null, isCut: boolean}} The whole scan where one has ended so; whether one has of which
   * the beginning is not known.
   */
  rest(at) {
    if (at - this.last <= FASTEST_HAND_MS || !this.text.endsWith(SEPARATOR)) return { scanned: null, isCut: false };
    return this.#end(this.text.slice(0, -SEPARATOR.length));
  }

  /** A scan has ended here, if it is one. @param {string} text */
  #end(text) {
    const isWhole = text.length >= LEAST;
    const isCut = isWhole ? this.isCut : this.#isHeldUp();
    this.text = "";
    this.isCut = false;
    this.run = noRun();
    return { scanned: !isCut && isWhole ? text : null, isCut };
  }

  /** Whether what came last, too short for a scan, is the end of one that stopped for a moment. */
  #isHeldUp() {
    const { length, fast, halts } = this.run;
    return halts > 0 && length >= LEAST && fast >= LEAST - 1 && fast >= FAST_FOR_EACH_HALT * halts;
  }
}

/** Whether a key goes into an element as text. @param {EventTarget|null} target */
function isText(target) {
  return target instanceof HTMLTextAreaElement
    || (target instanceof HTMLInputElement && !PRESSED.includes(target.type));
}

/**
 * Gives a field back what stood in it. Whoever read the field at each key reads it again.
 * @param {HTMLInputElement} field
 * @param {string} value
 */
function restore(field, value) {
  if (field.value === value) return;
  field.value = value;
  field.dispatchEvent(new Event("input", { bubbles: true }));
}

/**
 * Listens for scans. Where something is being typed the scan belongs to that field, unless it is wanted everywhere:
 * then the field is left as it was before. In a dialog it belongs to a field alone that says so (data-takes-scan): it
 * presses and sends nothing else there.
 * @param {(text: string) => void} scanned
 * @param {() => void} cut A scan came whose beginning is not known: it is to be scanned again.
 * @param {object} [where]
 * @param {() => boolean} [where.isEverywhere] Whether it is wanted whatever has the focus.
 * @param {() => boolean} [where.isOthers] Whether somebody else listens.
 * @param {(dialog: HTMLDialogElement) => void} [where.unwanted] It came in a dialog that asks for something else.
 * @returns {() => void} Stops listening.
 */
export function onScan(scanned, cut, { isEverywhere = () => false, isOthers = () => false, unwanted } = {}) {
  const burst = new Burst();
  /** The field that the keys go into, and what stood in it. @type {{field: HTMLInputElement, value: string}|null} */
  let before = null;
  /** All characters since then. */
  let since = "";
  /** @type {ReturnType<typeof setTimeout>|undefined} */
  let resting;
  const end = (/** @type {string|null} */ text, /** @type {HTMLElement|null} */ target) => {
    const typed = text ?? since;
    if (before) restore(before.field, before.value);
    // The focus went there while the keys came.
    else if (target instanceof HTMLInputElement && isText(target) && target.value.endsWith(typed))
      restore(target, target.value.slice(0, target.value.length - typed.length));
    before = null;
    const dialog = isEverywhere() ? null : target?.closest("dialog");
    if (dialog && unwanted) unwanted(dialog);
    else if (text === null) cut();
    else scanned(text);
  };
  const listener = (/** @type {KeyboardEvent} */ event) => {
    clearTimeout(resting);
    const target = /** @type {HTMLElement|null} */ (event.target);
    const isSeparator =
      event.key === "\u001d" ||
      (event.ctrlKey && !event.altKey && !event.metaKey && (event.key === "]" || event.code === "BracketRight"));
    if (!isSeparator && (event.ctrlKey || event.altKey || event.metaKey)) return;
    if (isOthers() || target?.dataset?.takesScan !== undefined) return;
    if (!isEverywhere() && target?.closest("input, textarea, select") && !target.closest("dialog")) return;
    const isTyped = isText(target);
    if (burst.text === "" || event.timeStamp - burst.last > LONGEST_HALT_MS) {
      const field = /** @type {HTMLInputElement} */ (target);
      before = isTyped ? { field, value: field.value } : null;
      since = "";
    }
    const key = isSeparator ? SEPARATOR : event.key;
    if (event.key.length === 1 && !isSeparator) since += key;
    const found = burst.key(key, event.timeStamp);
    // Else the end of a scan would press whatever button has the focus. A field shows what is typed into it.
    const isEnd = found.scanned !== null || found.isCut;
    if (found.isBurst && (!isTyped || isEnd || isSeparator)) event.preventDefault();
    if (isEnd) end(found.scanned, target);
    else if (isSeparator)
      resting = setTimeout(() => {
        const rested = burst.rest(event.timeStamp + FASTEST_HAND_MS + 1);
        if (rested.scanned !== null || rested.isCut) end(rested.scanned, target);
      }, FASTEST_HAND_MS + 10);
  };
  addEventListener("keydown", listener, { capture: true });
  return () => {
    clearTimeout(resting);
    removeEventListener("keydown", listener, { capture: true });
  };
}
