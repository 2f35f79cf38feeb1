// Pages on which nothing is scanned: a scan presses nothing there and is written into no field, and that is said.

import { closeFirst } from "./dialogs.js";
import { hushAtNext, placeOf, sayOfScan } from "./scansaid.js";
import { onScan } from "./wedge.js";

const PAGE = "[data-no-scan]";

/**
 * What the part of the page that has the focus says of a scan, else the page.
 * @param {HTMLElement} page
 */
function say(page) {
  const focus = document.activeElement;
  const part = focus?.closest(PAGE);
  const sentence = (part instanceof HTMLElement ? part : page).dataset.noScan ?? "";
  const dialog = document.querySelector("dialog[open]");
  if (dialog instanceof HTMLDialogElement) closeFirst(dialog, sentence);
  else sayOfScan(placeOf(page, focus, PAGE), sentence);
}

/** @type {WeakSet<HTMLElement>} */
const heard = new WeakSet();
let isListening = false;

/** Makes the page so; once, however often it is asked. */
export function mountNoScan() {
  const here = () => document.querySelector(PAGE);
  const page = here();
  if (page instanceof HTMLElement && !heard.has(page)) {
    heard.add(page);
    hushAtNext(page);
  }
  if (isListening) return;
  isListening = true;
  const taken = () => {
    const now = here();
    if (now instanceof HTMLElement) say(now);
  };
  onScan(taken, taken, { isEverywhere: () => true, isOthers: () => here() === null });
}
