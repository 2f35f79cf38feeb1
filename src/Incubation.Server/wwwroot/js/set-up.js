// The first start: a new clinic's time zone is proposed as the browser has it, and can still be changed.

/**
 * The browser's zone, where the clinic can choose it; else null.
 * @param {string|undefined} own What the browser says.
 * @param {Iterable<string>} known The zones that can be chosen.
 */
export function proposedZone(own, known) {
  return own !== undefined && [...known].includes(own) ? own : null;
}

if (typeof document !== "undefined") {
  const input = /** @type {HTMLInputElement|null} */ (document.querySelector("[data-propose-zone=yes] input"));
  const options = /** @type {NodeListOf<HTMLOptionElement>} */ (document.querySelectorAll("#zones option"));
  const zone = proposedZone(Intl.DateTimeFormat().resolvedOptions().timeZone,
    [...options].map(option => option.value));
  // Only what nobody has touched.
  if (input !== null && zone !== null && input.value === input.defaultValue) input.value = zone;
}
