// A scanner that is set up as a keyboard: its characters come faster than any hand types and end with Enter, wherever
// the focus is.

/** Between two characters of a scan passes no more; a quick typist leaves 60 ms and more (common practice). */
const FASTEST_HAND_MS = 50;
/** Stands for the separator of GS1 codes (FNC1), which scanners send as Ctrl+]. */
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
    if (key === "Enter") {
      const text = this.text;
      this.text = "";
      return text.length >= LEAST && isFast ? { scanned: text, isBurst: true } : { scanned: null, isBurst: false };
    }
    if (key.length === 1) this.text += key;
    return { scanned: null, isBurst: this.text.length > 1 };
  }
}

/**
 * Listens for scans. Where something is being typed the scan belongs to that field.
 * @param {(text: string) => void} scanned
 * @returns {() => void} Stops listening.
 */
export function onScan(scanned) {
  const burst = new Burst();
  const listener = (/** @type {KeyboardEvent} */ event) => {
    const target = /** @type {HTMLElement|null} */ (event.target);
    const isSeparator =
      event.key === "\u001d" ||
      (event.ctrlKey && !event.altKey && !event.metaKey && (event.key === "]" || event.code === "BracketRight"));
    if (
      (!isSeparator && (event.ctrlKey || event.altKey || event.metaKey)) ||
      target?.closest("input, textarea, select, dialog")
    )
      return;
    const found = burst.key(isSeparator ? SEPARATOR : event.key, event.timeStamp);
    // Else the end of a scan would press whatever button has the focus.
    if (found.isBurst) event.preventDefault();
    if (found.scanned !== null) scanned(found.scanned);
  };
  addEventListener("keydown", listener, { capture: true });
  return () => removeEventListener("keydown", listener, { capture: true });
}
