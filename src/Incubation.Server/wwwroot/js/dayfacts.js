// What has begun or ended on a bench, as a plan's rules see it. Instants and lengths are milliseconds. The same as the
// server's own. Pure.

/** @import { AloneAssay, AloneClosing, AloneRequest, AloneSnapshot, AloneStep } from "./types.js" */
import { at, ms } from "./format.js";

/**
 * A row of hands.
 * @typedef {object} Row
 * @property {AloneStep["kind"]} kind
 * @property {string|null} request
 * @property {number} hands
 * @property {number|null} slot
 * @property {number|null} reader
 * @property {string|null} lot
 * @property {number} start
 * @property {number} end
 * @property {string} title
 */

/** @typedef {Omit<AloneRequest, "assay"|"ready"|"loadBy"> & {assay: AloneAssay, ready: number, loadBy: number|null}}
 * Wanted */

/**
 * A cartridge in work.
 * @typedef {object} InWork
 * @property {"mixed"|"reacting"|"reading"|"read"} phase
 * @property {number} from The earliest that its mix or load can have ended.
 * @property {number} to The latest; of one being read the start of its read.
 * @property {number|null} slot
 * @property {number|null} reader
 * @property {boolean} mustGo
 */

/** @typedef {{resource: AloneClosing["resource"], number: number|null, from: number, to: number}} Closed */

/**
 * A bench at an instant, with a plan's rows for it.
 * @typedef {object} Day
 * @property {number} now
 * @property {number} cardChange
 * @property {number} readGuard
 * @property {number} slots
 * @property {number} readers
 * @property {Map<string, Wanted>} requests
 * @property {Map<string, InWork>} cartridges
 * @property {Row[]} begun Steps in progress, each with its true start.
 * @property {Row[]} rows
 * @property {Map<number, string>} cards The card in each reader.
 * @property {Closed[]} closings
 * @property {Set<string>} lost Requests that the plan gives up.
 * @property {Set<string>} [partial] Requests of which other hands, not served here, have steps to do.
 */

/**
 * The day of a snapshot, with nothing begun.
 * @param {AloneSnapshot} alone
 * @param {number} now
 * @returns {Day}
 */
export function dayOf(alone, now) {
  return {
    now, cardChange: alone.cardChange, readGuard: alone.readGuard, slots: alone.slots, readers: alone.readers,
    begun: [],
    requests: new Map(alone.requests.map(r => [r.request,
      { ...r, assay: alone.assays[r.assay], ready: at(r.ready), loadBy: ms(r.loadBy) }])),
    cartridges: new Map(alone.cartridges.map(c => [c.request,
      { phase: c.phase, from: ms(c.from) ?? 0, to: ms(c.to) ?? 0, slot: c.slot, reader: c.reader, mustGo: c.mustGo }])),
    rows: alone.steps.map(rowOf),
    cards: new Map(alone.cards.flatMap(c => c.lot === null ? [] : [[c.reader, c.lot]])),
    closings: alone.closings.map(c => ({ ...c, from: at(c.from), to: at(c.to) })),
    lost: new Set(alone.lost),
  };
}

/** @param {AloneStep} step @returns {Row} */
export function rowOf(step) {
  return { ...step, start: at(step.start), end: at(step.end) };
}

/**
 * Whether two rows do the same.
 * @param {Row} one
 * @param {Row} other
 */
export function isSame(one, other) {
  return one.kind === other.kind && one.request === other.request && one.slot === other.slot
    && one.reader === other.reader && one.lot === other.lot;
}

export class DayFacts {
  /** @param {Day} day */
  constructor(day) {
    this.day = day;
  }

  /** @param {string} request */
  has(request) {
    return this.day.requests.has(request);
  }

  /** @param {string} request @returns {AloneAssay} */
  assayOf(request) {
    return /** @type {Wanted} */ (this.day.requests.get(request)).assay;
  }

  /** @param {string} request */
  phaseOf(request) {
    return this.day.cartridges.get(request)?.phase ?? null;
  }

  /** @param {string} request */
  mustDiscard(request) {
    const cartridge = this.day.cartridges.get(request);
    return cartridge?.mustGo === true
      && (cartridge.phase === "mixed" || (cartridge.phase === "reacting" && cartridge.slot !== null));
  }

  /**
   * @param {AloneStep["kind"]} kind
   * @param {string} request
   */
  doing(kind, request) {
    return this.day.begun.find(step => step.kind === kind && step.request === request) ?? null;
  }

  /** Whether a step is in progress. @param {Row} row */
  isBegun(row) {
    return this.day.begun.some(step => isSame(step, row));
  }

  /** @param {{kind: string, request: string|null}} row */
  lengthOf(row) {
    if (row.request === null) return this.day.cardChange;
    const assay = this.assayOf(row.request);
    return row.kind === "mix" ? assay.mix : row.kind === "load" ? assay.load : row.kind === "move" ? assay.move
      : assay.clear;
  }

  /**
   * When a step in progress ends, for planning.
   * @param {Row} step
   * @returns {number}
   */
  endOf(step) {
    const ends = Math.max(step.start + this.lengthOf(step), this.day.now);
    const load = step.kind === "move" ? this.loadEnd(/** @type {string} */ (step.request)) : null;
    // Hands that are quicker hold until the read may start.
    return load ? Math.max(ends, load.to + this.assayOf(/** @type {string} */ (step.request)).incubation) : ends;
  }

  /** The mix's end where it has been or is being mixed. @param {string} request */
  mixEnd(request) {
    return this.#endOf(request, "mixed", "mix", this.assayOf(request).mixShortest);
  }

  /** The load's end where it has been or is being loaded. @param {string} request */
  loadEnd(request) {
    return this.#endOf(request, "reacting", "load", this.assayOf(request).loadShortest);
  }

  /**
   * @param {string} request
   * @param {string} phase
   * @param {"mix"|"load"} kind
   * @param {number} shortest
   * @returns {{from: number, to: number}|null}
   */
  #endOf(request, phase, kind, shortest) {
    const cartridge = this.day.cartridges.get(request);
    if (cartridge?.phase === phase) return { from: cartridge.from, to: cartridge.to };
    const step = this.doing(kind, request);
    return step ? { from: Math.max(step.start + shortest, this.day.now), to: this.endOf(step) } : null;
  }

  /** Where a cartridge has been or is being loaded, or null. @param {string} request */
  placeOf(request) {
    const cartridge = this.day.cartridges.get(request);
    return cartridge?.phase === "reacting" ? cartridge : this.doing("load", request);
  }

  /**
   * The read of a cartridge that is in a reader, or on its way into one; null for any other, and once it is over.
   * @param {string} request
   */
  readOf(request) {
    const { incubation, read } = this.assayOf(request);
    const { now } = this.day;
    const cartridge = this.day.cartridges.get(request);
    if (cartridge?.phase === "reading")
      return { reader: cartridge.reader, end: Math.max(cartridge.to + read, now) };
    const moving = this.doing("move", request);
    if (moving) return { reader: moving.reader, end: this.endOf(moving) + read };
    const [place, load] = [this.placeOf(request), this.loadEnd(request)];
    return place && place.reader !== null && load
      ? { reader: place.reader, end: Math.max(load.to + incubation + read, now) } : null;
  }
}
