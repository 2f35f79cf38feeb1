// A scanner that is set up as a keyboard: its characters come faster than any hand types and end with Enter, Tab or the
// separator, wherever the focus is.

/** Between two characters of a scan passes no more; a quick typist leaves 60 ms and more (common practice). */
const FASTEST_HAND_MS = 50;
/** Stands for the separator of GS1 codes (FNC1), which scanners send as Ctrl+], and some at the end of every scan. */
const SEPARATOR = "␝";
/** A scan has at least so many characters. */
const LEAST = 4;

/** Tells scans from typing. Counts by the times that it is given. */
export class Burst {
  constructor() {
    this.text = "";
    this.last = -Infinity;
  }

  /**
   * A key was pressed.
   * @param {string} key As keyboard events name it.
   * @param {number} at When, in milliseconds.
   * @returns {{scanned: string|null, isBurst: boolean}} The whole scan where this key ended one; whether the key
   * belongs to one.
   */
  key(key, at) {
    const isFast = at - this.last <= FASTEST_HAND_MS;
    if (!isFast) this.text = "";
    this.last = at;
    if (key === "Enter" || key === "Tab") {
      const text = this.text;
      this.text = "";
      return text.length >= LEAST && isFast ? { scanned: text, isBurst: true } : { scanned: null, isBurst: false };
    }
    if (key.length === 1) this.text += key;
    return { scanned: null, isBurst: this.text.length > 1 };
  }

  /**
   * Nothing was pressed for a while: a separator inside a code is followed at once, so that one which is not was the
   * end.
   * @param {number} at Now, in milliseconds.
   * @returns {string|null} The whole scan where one has ended so.
   */
  rest(at) {
    if (at - this.last <= FASTEST_HAND_MS || !this.text.endsWith(SEPARATOR)) return null;
    const text = this.text.slice(0, -SEPARATOR.length);
    this.text = "";
    return text.length >= LEAST ? text : null;
  }
}

/**
 * Listens for scans. Where something is being typed the scan belongs to that field, unless it is wanted everywhere:
 * then the field is left as it was before.
 * @param {(text: string) => void} scanned
 * @param {{isEverywhere?: () => boolean}} [where]
 * @returns {() => void} Stops listening.
 */
export function onScan(scanned, { isEverywhere = () => false } = {}) {
  const burst = new Burst();
  /** The field that the keys go into, and what stood in it. @type {{field: HTMLInputElement, value: string}|null} */
  let before = null;
  /** @type {ReturnType<typeof setTimeout>|undefined} */
  let resting;
  const end = (/** @type {string} */ text, /** @type {EventTarget|null} */ target) => {
    if (before) before.field.value = before.value;
    // The focus went there while the keys came.
    else if (target instanceof HTMLInputElement && target.value.endsWith(text))
      target.value = target.value.slice(0, -text.length);
    before = null;
    scanned(text);
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
    if (burst.text === "" || event.timeStamp - burst.last > FASTEST_HAND_MS)
      before = isTyped ? { field: /** @type {HTMLInputElement} */ (target), value: target.value } : null;
    const found = burst.key(isSeparator ? SEPARATOR : event.key, event.timeStamp);
    // Else the end of a scan would press whatever button has the focus. A field shows what is typed into it.
    if (found.isBurst && (!isTyped || found.scanned !== null || isSeparator)) event.preventDefault();
    if (found.scanned !== null) end(found.scanned, target);
    else if (isSeparator)
      resting = setTimeout(() => {
        const text = burst.rest(event.timeStamp + FASTEST_HAND_MS + 1);
        if (text !== null) end(text, target);
      }, FASTEST_HAND_MS + 10);
  };
  addEventListener("keydown", listener, { capture: true });
  return () => {
    clearTimeout(resting);
    removeEventListener("keydown", listener, { capture: true });
  };
}
