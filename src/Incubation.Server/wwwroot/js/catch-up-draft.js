// What has been said in catching up, kept in this browser's storage until it is sent and answered: it outlives the page
// and the server.

/** @import { Said } from "./catch-up-places.js" */
import { newId } from "./reports.js";

const PREFIX = "incubation.catch-up.";

/**
 * @typedef {object} Draft
 * @property {string} id Names the command that it becomes, however often it is sent.
 * @property {boolean} open Whether the page of questions is shown.
 * @property {boolean} sent Whether it was sent, and no answer has come.
 * @property {string|null} refused Why the server did not take it.
 * @property {Record<string, Said>} answers By the key of the place.
 */

/**
 * The draft of a bench, or null where nobody is catching up.
 * @param {string} bench
 * @returns {Draft|null}
 */
export function draftOf(bench) {
  try {
    const kept = JSON.parse(localStorage.getItem(PREFIX + bench) ?? "null");
    return typeof kept?.id === "string" && typeof kept.answers === "object" ? kept : null;
  } catch {
    return null;
  }
}

/** @returns {Draft} */
export function newDraft() {
  return { id: newId(), open: true, sent: false, refused: null, answers: {} };
}

/**
 * @param {string} bench
 * @param {Draft|null} draft
 */
export function keepDraft(bench, draft) {
  if (draft) localStorage.setItem(PREFIX + bench, JSON.stringify(draft));
  else localStorage.removeItem(PREFIX + bench);
}
