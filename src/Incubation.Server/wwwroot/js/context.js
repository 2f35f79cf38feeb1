// Shapes that only the modules share among themselves; what the server sends and takes stands in types.js.

/** @import { AlarmSnapshot, BenchSnapshot, OfferSnapshot } from "./types.js" */
/** @import { AloneScreen } from "./alonescreen.js" */
/** @import { BenchTaps } from "./bench-taps.js" */
/** @import { CatchUp } from "./catch-up.js" */
/** @import { ServerClock } from "./clock.js" */
/** @import { Live } from "./live.js" */
/** @import { Sounding } from "./sounding.js" */

export {};

/** Looks up a word of the page. @typedef {(key: string) => string} Words */

/**
 * The line to the server: connected, or alone since an instant (the server's time in milliseconds).
 * @typedef {object} LineState
 * @property {"connecting"|"connected"|"alone"} state
 * @property {number|null} since
 */

/**
 * A screen that a page holds.
 * @typedef {object} MountedScreen
 * @property {() => boolean} alarmStands Whether it shows an alarm.
 * @property {() => void} end
 */

/**
 * What the parts of the bench screen know of it.
 * @typedef {object} BenchContext
 * @property {HTMLElement} root
 * @property {string} bench
 * @property {Words} w
 * @property {ServerClock} clock
 * @property {Live} live
 * @property {BenchTaps} taps
 * @property {Sounding} sounding
 * @property {CatchUp} catchUp
 * @property {boolean} isAlone
 * @property {BenchSnapshot|null} snapshot
 * @property {BenchSnapshot} shown The snapshot, where it is known that there is one.
 * @property {AloneScreen} alone What is known and offered without the server.
 * @property {number|null} aloneSince Since when it has no server, or null.
 * @property {() => OfferSnapshot[]} offers The offers as they stand, those that wait for the server worked in.
 * @property {() => OfferSnapshot|null} offer The one that the card shows.
 * @property {(offer: OfferSnapshot|null) => void} choose Shows the next thing of the hands that an offer is for, or
 *   what comes first.
 * @property {() => AlarmSnapshot[]} alarmsNow The alarms, without those that a report which waits has ended.
 * @property {() => void} render
 * @property {() => void} numerals
 */
