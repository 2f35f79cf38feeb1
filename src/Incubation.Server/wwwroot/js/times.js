// When something was, as a person says it: clock times that count on while the question stands. "Just now" is the
// press itself, never the time at which the question was opened.

/** @import { ServerClock } from "./clock.js" */
/** @import { Words } from "./context.js" */
import { choose, open, typed } from "./dialogs.js";
import { clockTime, fill } from "./format.js";

/** How long ago something may have been done, in seconds. */
const AGO = [10, 20, 30, 60, 120, 300];
const DAY_S = 86_400;

/** A time that a person states is right within this. */
const SLACK_MS = 5000;

/** @typedef {{w: Words, clock: Pick<ServerClock, "now">, shown: {zone: string}}} TimeContext */

/**
 * When something was, in the server's time; null where it was cancelled.
 * @param {TimeContext} screen
 * @param {string} title
 * @param {string|null} text
 * @param {boolean} withNow Whether it may have been just now.
 * @param {number} [earliest] It cannot have been before.
 * @returns {Promise<{at: number, isNow: boolean}|null>}
 */
export async function askWhen(screen, title, text, withNow, earliest = -Infinity) {
  const { w, clock } = screen;
  const { zone } = screen.shown;
  /** @param {number} seconds @param {string} words */
  const ago = (seconds, words) => ({
    label: () => fill(words, clockTime(clock.now() - seconds * 1000, zone, true)),
    value: /** @type {{at: number, isNow: boolean}|null} */ (null),
    now: () => ({ at: clock.now() - seconds * 1000, isNow: seconds === 0 }),
  });
  const said = await choose(w, title, text, [
    ...(withNow ? [ago(0, w("JustNow"))] : []),
    ...AGO.filter(s => clock.now() - s * 1000 >= earliest - SLACK_MS)
      .map(s => ago(s, fill(w("EarlierAgo"), lengthOf(w, s), "{0}"))),
    { label: w("AtAnotherTime"), value: { at: NaN, isNow: false } },
  ]);
  if (said === null || !Number.isNaN(said.at)) return said;
  const wrong = Number.isFinite(earliest)
    ? fill(w("AnyTimeBetween"), clockTime(earliest, zone, true)) : w("AnyTimeUnreadable");
  const at = await askClock(screen, title, text, { label: w("AnyTime"), wrong, record: w("Record") }, earliest);
  return at === null ? null : { at, isNow: false };
}

/**
 * @param {Words} w
 * @param {number} seconds
 */
function lengthOf(w, seconds) {
  if (seconds < 60) return fill(w("Seconds"), seconds);
  return seconds === 60 ? w("Minute") : fill(w("Minutes"), seconds / 60);
}

/**
 * A time as a clock shows it, typed; in the server's time, null where it was cancelled. What is typed is read against
 * the time at which it is recorded.
 * @param {TimeContext} screen
 * @param {string} title
 * @param {string|null} text
 * @param {{label: string, wrong: string, record: string}} words
 * @param {number} [earliest] It cannot have been before.
 * @returns {Promise<number|null>}
 */
export function askClock(screen, title, text, { label, wrong, record }, earliest = -Infinity) {
  const { w, clock } = screen;
  const { zone } = screen.shown;
  const props = { inputMode: "numeric", placeholder: clockTime(clock.now(), zone, true) };
  return open(w, title, done => typed(w, text, label, props, said => {
    const at = readClock(said, clock.now(), zone);
    return at === null || at < earliest - SLACK_MS ? { wrong } : { value: at };
  }, done, record));
}

/**
 * The latest instant not after now at which the zone's clocks showed this time; null where it cannot be read or lies
 * more than half a day back.
 * @param {string} typed
 * @param {number} now
 * @param {string} zone
 */
export function readClock(typed, now, zone) {
  const match = /^\s*(\d{1,2})[:.]?(\d{2})(?:[:.]?(\d{2}))?\s*$/.exec(typed);
  if (!match) return null;
  const [hours, minutes, seconds] = match.slice(1).map(part => Number(part ?? 0));
  if (hours > 23 || minutes > 59 || seconds > 59) return null;
  const shown = clockTime(now, zone, true).split(":").map(Number);
  const back = (shown[0] - hours) * 3600 + (shown[1] - minutes) * 60 + (shown[2] - seconds);
  const ago = ((back % DAY_S) + DAY_S) % DAY_S;
  return ago > DAY_S / 2 ? null : Math.floor(now / 1000) * 1000 - ago * 1000;
}
