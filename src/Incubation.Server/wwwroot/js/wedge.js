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

/** Tells scans from typing. Counts by the times that it is given. */
export class Burst {
  constructor() {
    this.text = "";
    this.last = -Infinity;
    /** Whether other characters came shortly before these: they may be the first part of the same scan. */
    this.isCut = false;
  }

  /**
   * A key was pressed.
   * @param {string} key As keyboard events name it.
   * @param {number} at When, in milliseconds.
   * @returns {{scanned: string|null, isBurst: boolean, isCut: boolean}} The whole scan where this key ended one;
   * whether the key belongs to one; whether it ended one of which the beginning is not known.
   */
  key(key, at) {
    const isFast = at - this.last <= FASTEST_HAND_MS;
    if (!isFast) {
      this.isCut = this.text !== "" && at - this.last <= LONGEST_HALT_MS;
      this.text = "";
    }
    this.last = at;
    if (key === "Enter" || key === "Tab") {
      const ended = this.#end(this.text);
      return { ...ended, isBurst: ended.scanned !== null || ended.isCut };
    }
    if (key.length === 1) this.text += key;
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
    const isCut = this.isCut && text.length >= LEAST;
    this.text = "";
    this.isCut = false;
    return { scanned: !isCut && text.length >= LEAST ? text : null, isCut };
  }
}

/**
 * Listens for scans. Where something is being typed the scan belongs to that field, unless it is wanted everywhere:
 * then the field is left as it was before.
 * @param {(text: string) => void} scanned
 * @param {() => void} cut A scan came whose beginning is not known: it is to be scanned again.
 * @param {{isEverywhere?: () => boolean}} [where]
 * @returns {() => void} Stops listening.
 */
export function onScan(scanned, cut, { isEverywhere = () => false } = {}) {
  const burst = new Burst();
  /** The field that the keys go into, and what stood in it. @type {{field: HTMLInputElement, value: string}|null} */
  let before = null;
  /** @type {ReturnType<typeof setTimeout>|undefined} */
  let resting;
  const end = (/** @type {string|null} */ text, /** @type {EventTarget|null} */ target) => {
    if (before) before.field.value = before.value;
    // The focus went there while the keys came.
    else if (text !== null && target instanceof HTMLInputElement && target.value.endsWith(text))
      target.value = target.value.slice(0, -text.length);
    before = null;
    if (text === null) cut();
    else scanned(text);
  };
  const listener = (/** @type {KeyboardEvent} */ event) => {
    clearTimeout(resting);
    const target = /** @type {HTMLElement|null} */ (event.target);
    const isSeparator =
      event.key === "\u001d" ||
      (event.ctrlKey && !event.altKey && !event.metaKey && (event.key === "]" || event.code === "BracketRight"));
    const field = target?.closest("input, textarea, select, dialog") ?? null;
    if (!isSeparator && (event.ctrlKey || event.altKey || event.metaKey)) return;
    if (field && !isEverywhere()) return;
    const isTyped = target instanceof HTMLInputElement || target instanceof HTMLTextAreaElement;
    if (burst.text === "" || event.timeStamp - burst.last > LONGEST_HALT_MS)
      before = isTyped ? { field: /** @type {HTMLInputElement} */ (target), value: target.value } : null;
    const found = burst.key(isSeparator ? SEPARATOR : event.key, event.timeStamp);
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
