// The rows of results. A scan is never a value and presses nothing: it is the specimen's id on the reader where that is
// wanted, else it is said that it was a scan.

import { hushAtNext, placeOf, sayOfScan } from "./scansaid.js";
import { onScan } from "./wedge.js";

const ROW = ".result-row";

/** @typedef {{hasShown: boolean, isAtShown: boolean, isAsked: boolean}} RowNow */

/**
 * What becomes of a scan.
 * @param {RowNow|null} row The row that has the focus, as it stands; null where none has.
 * @returns {"shown"|"scanValue"|"scanAsked"|"scanNowhere"} It is the id on the reader; else what is said.
 */
export function judgeRowScan(row) {
  if (row === null) return "scanNowhere";
  if (row.isAtShown) return "shown";
  if (row.isAsked) return "scanAsked";
  return row.hasShown ? "scanValue" : "shown";
}

/** @param {Element} row */
function fieldsOf(row) {
  const field = (/** @type {string} */ part) =>
    /** @type {HTMLInputElement|null} */ (row.querySelector(`input[id^='${part}-']`));
  return { shown: field("shown"), value: field("value") };
}

/**
 * @param {HTMLElement} page
 * @returns {() => void} Listens no more.
 */
export function attach(page) {
  // Whoever types the identity ends it with Enter, and what is typed next belongs to the value at once, not after an
  // answer of the server.
  page.addEventListener("keydown", event => {
    const row = event.target instanceof Element ? event.target.closest(ROW) : null;
    if (event.key !== "Enter" || event.defaultPrevented || !row) return;
    const { shown, value } = fieldsOf(row);
    if (event.target !== shown || !value || shown?.value.trim() === "" || value.value.trim() !== "") return;
    event.preventDefault();
    value.focus();
  });
  hushAtNext(page);
  const say = (/** @type {string} */ word) =>
    sayOfScan(placeOf(page, document.activeElement, ROW), page.dataset[word] ?? "");
  const stop = onScan(text => {
    const row = document.activeElement?.closest(ROW) ?? null;
    const { shown, value } = row ? fieldsOf(row) : { shown: null, value: null };
    const becomes = judgeRowScan(row && {
      hasShown: (shown?.value.trim() ?? "") !== "",
      isAtShown: document.activeElement === shown, isAsked: row.querySelector(".result-back") !== null,
    });
    if (becomes !== "shown") return say(becomes);
    if (!shown) return;
    shown.value = text;
    shown.dispatchEvent(new Event("change", { bubbles: true }));
    value?.focus();
  }, () => say("scanCut"), {
    isEverywhere: () => true,
    isOthers: () => {
      // Pages are exchanged without being loaded.
      if (!page.isConnected) stop();
      return !page.isConnected;
    },
  });
  return stop;
}
