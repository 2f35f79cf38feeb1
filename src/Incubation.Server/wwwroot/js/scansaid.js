// What a scan did not do, said where the person looks: in the place for it (data-scan-says) that is nearest to what has
// the focus. It is gone with the next thing that somebody does.

import { blip } from "./racksound.js";

const SAYS = "[data-scan-says]";

/**
 * The place in which it is said.
 * @param {ParentNode} page
 * @param {Element|null} near What has the focus.
 * @param {string} within Parts of the page that have a place of their own.
 */
export function placeOf(page, near, within) {
  return near?.closest(within)?.querySelector(SAYS) ?? page.querySelector(SAYS);
}

/**
 * @param {Element|null} place
 * @param {string} sentence
 */
export function sayOfScan(place, sentence) {
  blip(false);
  if (!place) return;
  hush(place.ownerDocument);
  place.textContent = sentence;
  place.scrollIntoView?.({ block: "nearest" });
}

/** @param {ParentNode} page */
function hush(page) {
  for (const place of page.querySelectorAll(SAYS)) place.textContent = "";
}

/**
 * What was said is over with what is done next.
 * @param {HTMLElement} page
 */
export function hushAtNext(page) {
  for (const what of ["input", "change", "click"]) page.addEventListener(what, () => hush(page));
}
