// The last snapshot, kept in this browser's storage so that a page that is loaded again without its server goes on with
// it.

import { isReadable } from "./form.js";

/** @import { BenchSnapshot, ScreenCommand, WhoSnapshot } from "./types.js" */
/** @import { ServerClock } from "./clock.js" */
/** @import { Live } from "./live.js" */

const PREFIX = "incubation.last.";
const OUTBOX = "incubation.outbox.";
const DEVICE = "incubation.device";
/** An outbox with nothing in it. */
const EMPTY = ["", "[]", "{}", "null"];

/** What is kept is thrown away so long after the last word from the server: two days' work later it misleads. */
const MOST_AGE_MS = 36 * 3_600_000;

/**
 * @typedef {object} Kept
 * @property {BenchSnapshot} snapshot
 * @property {WhoSnapshot|null} who Who was in front of the screen.
 * @property {string|null} lastPerson Who was last signed in here.
 * @property {{command: ScreenCommand, revision: number}[]} [sent] Recorded, and younger than the snapshot.
 * @property {number|null} [since] Since when it is alone, where it was then.
 * @property {number} server The server's time when this was kept: the last that was heard of it.
 * @property {number} wall This device's own clock then.
 */

/**
 * @param {BenchSnapshot} snapshot
 * @param {Live} live
 * @param {ServerClock} clock
 */
export function keepLast(snapshot, live, clock) {
  if (!clock.isSet) return;
  const { who, lastPerson } = live;
  try {
    localStorage.setItem(
      PREFIX + snapshot.bench,
      JSON.stringify({
        snapshot, who, lastPerson, sent: live.sent(snapshot.bench), since: live.line.since, server: clock.now(),
        wall: Date.now(),
      }),
    );
  } catch {
    // Full or forbidden: reports, which are small, come first.
    localStorage.removeItem(PREFIX + snapshot.bench);
  }
}

/**
 * @param {string} bench
 * @returns {Kept|null}
 */
export function lastOf(bench) {
  try {
    const kept = JSON.parse(localStorage.getItem(PREFIX + bench) ?? "null");
    return kept?.snapshot?.bench === bench &&
      isReadable(kept.snapshot) &&
      Number.isFinite(kept.server) &&
      Number.isFinite(kept.wall)
      ? kept
      : null;
  } catch {
    return null;
  }
}

/** Whether what was heard so many milliseconds ago is too old to go on with. @param {number} age */
export function isOld(age) {
  return Math.abs(age) > MOST_AGE_MS;
}

/** @param {string} bench */
export function forgetLast(bench) {
  localStorage.removeItem(PREFIX + bench);
}

/**
 * Throws away what is older than it may be, or of a time that this device's clock has not reached by as much.
 * @param {number} wall This device's own clock.
 * @returns {string[]} The benches of which something was thrown away.
 */
export function forgetOld(wall) {
  const old = Object.keys(localStorage).filter(key => key.startsWith(PREFIX) && isOld(wall - wallOf(key)));
  for (const key of old) localStorage.removeItem(key);
  return old.map(key => key.slice(PREFIX.length));
}

/** When something was kept, by this device's own clock; what cannot be read is older than all. @param {string} key */
function wallOf(key) {
  try {
    const { wall } = JSON.parse(localStorage.getItem(key) ?? "");
    return Number.isFinite(wall) ? wall : -Infinity;
  } catch {
    return -Infinity;
  }
}

/** Whoever was here has left: nothing of a bench stays behind. Reports that wait to be sent are kept. */
export function forgetAll() {
  for (const key of Object.keys(localStorage)) if (key.startsWith(PREFIX)) localStorage.removeItem(key);
}

/**
 * Whether this browser's storage holds nothing that would be missed: no report that waits to be sent, and nothing that
 * this module does not know. A key that is added later keeps the storage until it is named here.
 */
export function holdsNothingToLose() {
  try {
    return Object.entries(localStorage).every(
      ([key, value]) =>
        key.startsWith(PREFIX) || key === DEVICE || (key.startsWith(OUTBOX) && EMPTY.includes(value.trim())),
    );
  } catch {
    return false;
  }
}
