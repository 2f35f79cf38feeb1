// Audio paused: this screen is silent about the alarms that it has, for a set time. Pure.

/** @import { AlarmSnapshot } from "./types.js" */
import { at } from "./format.js";
import { RANK } from "./soundplan.js";

/** Real milliseconds of a pause. */
export const PAUSE_MS = 120_000;

/**
 * @typedef {object} Pause
 * @property {number} from The server's time.
 * @property {number} until The server's time.
 * @property {number} rank Of the most urgent alarm that it silences.
 */

/**
 * A pause that begins now.
 * @param {AlarmSnapshot[]} alarms Those that stand.
 * @param {number} now
 * @param {number} rate
 * @returns {Pause}
 */
export function pauseFrom(alarms, now, rate) {
  return { from: now, until: now + PAUSE_MS * rate, rank: Math.max(0, ...alarms.map(a => RANK[a.priority])) };
}

/**
 * When a pause ends: with its time, or with a new alarm more urgent than those that it silenced.
 * @param {Pause} pause
 * @param {AlarmSnapshot[]} alarms
 */
export function pauseEnds(pause, alarms) {
  const worse = alarms.filter(
    a => !a.acknowledged && !a.passed && RANK[a.priority] > pause.rank && at(a.from) > pause.from,
  );
  return Math.min(pause.until, ...worse.map(a => at(a.from)));
}
