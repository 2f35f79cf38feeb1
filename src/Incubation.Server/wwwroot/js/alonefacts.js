// What can be told of a bench without its server: what has begun, what can, and until when. The same as the server's
// own. Instants and lengths are milliseconds. Pure.

/** @import { AloneSnapshot } from "./types.js" */
/** @import { Day, Row, Wanted } from "./dayfacts.js" */
/** @import { Unknown } from "./notknown.js" */
import { dayOf } from "./dayfacts.js";
import { at, ms } from "./format.js";
import { placesOf } from "./notknown.js";

/** What a step that has just ended needs to be told and heard. */
const TIME_TO_TELL_MS = 1000;

export class AloneFacts {
  /**
   * @param {AloneSnapshot} alone
   * @param {number} since
   */
  constructor(alone, since) {
    /** @type {Day} */
    this.day = dayOf(alone, since);
    this.promptAhead = alone.promptAhead;
    this.startedAt = ms(alone.startedAt);
    /** When hands last reported. @type {Map<number, number|null>} */
    this.hands = new Map(alone.hands.map(h => [h.hands, ms(h.lastReport)]));
    this.patience = alone.patience;
    /** Steps of which nobody knows whether they were done. @type {Unknown[]} */
    this.notKnown = alone.notKnown.map(step => ({ ...step, begun: at(step.begun) }));
    /** Since when hands that left such a step have not been heard of. @type {Map<number, number>} */
    this.silent = new Map(alone.hands.flatMap(h => h.silent === null ? [] : [[h.hands, at(h.silent)]]));
    /** When hands that were silent were heard of, until they tell what they did since. @type {Map<number, number>} */
    this.returned = new Map();
    /** Readers of which nobody knows whether they are empty. */
    this.doubted = new Set(alone.cards.filter(card => card.inDoubt).map(card => card.reader));
  }

  /** The plan's rows, by time. @returns {Row[]} */
  get rows() {
    return this.day.rows;
  }

  /**
   * When a row counts as begun.
   * @param {Row} row
   * @param {number} [back] When its hands came back after silence.
   */
  begunAt(row, back = this.returned.get(row.hands) ?? row.start) {
    const leaving = this.#leavingBefore(row);
    // A slot is free when other hands begin to move out what is in it.
    const begun = Math.max(row.start, this.startedAt ?? row.start, this.hands.get(row.hands) ?? row.start, back,
      leaving ? this.begunAt(leaving) : row.start);
    // Hands that are away begin nothing before they are back.
    const away = this.day.closings.find(closed => closed.resource === "hands" && closed.number === row.hands
      && closed.from <= begun && begun < closed.to);
    return away ? away.to : begun;
  }

  /**
   * The row by which other hands move out of a slot what a load's row finds in it.
   * @param {Row} row
   * @returns {Row|undefined}
   */
  #leavingBefore({ kind, slot, request, hands, start }) {
    const inside = kind === "load" && slot !== null ? this.inSlot(slot) : null;
    if (inside === null || inside === request) return undefined;
    const leaving = this.rows.find(row => row.kind === "move" && row.request === inside);
    return leaving && leaving.hands !== hands && leaving.start <= start ? leaving : undefined;
  }

  /**
   * The first row of a pair of hands among some, or null.
   * @param {Row[]} rows By time.
   * @param {number} hands
   */
  nextOf(rows, hands) {
    return rows.find(row => row.hands === hands) ?? null;
  }

  /**
   * Steps in progress at an instant, each with the instant at which it began.
   * @param {Row[]} rows The rows that are followed.
   * @param {number} now
   * @returns {Row[]}
   */
  begun(rows, now) {
    return [...this.hands.keys()].flatMap(hands => {
      const row = this.nextOf(rows, hands);
      return row && this.hasBegun(rows, row, now) ? [{ ...row, start: this.#believedBegun(row) }] : [];
    });
  }

  /** The step of a request that is not known. @param {string|null} request */
  unknownOf(request) {
    return this.notKnown.find(step => step.request === request);
  }

  /**
   * Whether a step that is not known would fill or empty a place.
   * @param {"slot"|"reader"} resource
   * @param {number|null} number
   */
  isUnknown(resource, number) {
    return this.notKnown.some(step => placesOf(this.day, step).some(place =>
      place.resource === resource && place.number === number));
  }

  /**
   * When patience with a row ends that has begun. Hands that hold a move until its window opens are not late.
   * @param {Row} row
   */
  patienceEnds(row) {
    const allowed = this.begunAt(row) + this.allowed(row);
    const opens = row.kind === "move" ? (this.windowOf(row.request)?.opens ?? allowed) : allowed;
    return Math.max(allowed, opens) + this.patience[row.kind === "card-change" ? "cardChange" : row.kind];
  }

  /**
   * Until when nobody is reminded of a cartridge whose load or move its hands have come to in time: its allowed end has
   * passed and can have been told. Null where they have not.
   * @param {string} request
   */
  atItUntil(request) {
    const row = this.rows.find(one => one.request === request && (one.kind === "load" || one.kind === "move"));
    const tooLate = this.tooLate(request);
    if (!row || tooLate === null || this.nextOf(this.rows, row.hands) !== row) return null;
    const begun = this.begunAt(row);
    const opens = row.kind === "move" ? (this.windowOf(request)?.opens ?? begun) : begun;
    const end = Math.max(begun + this.allowed(row), opens);
    const last = tooLate - Math.max(this.day.readGuard, TIME_TO_TELL_MS);
    return end <= last && this.hasBegun(this.rows, row, begun) ? Math.min(end + TIME_TO_TELL_MS, last) : null;
  }

  /** A move is believed to end by the window's close, however late it began. @param {Row} row */
  #believedBegun(row) {
    const closes = row.kind === "move" ? this.windowOf(row.request)?.closes : undefined;
    return Math.min(this.begunAt(row), closes === undefined ? Infinity : closes - this.allowed(row));
  }

  /**
   * Whether a row puts something into a place that is taken, and none of the rows empties that place first.
   * @param {Row[]} rows
   * @param {Row} row
   */
  isIntoATakenPlace(rows, row) {
    if (row.reader !== null && this.doubted.has(row.reader)) return true;
    if (this.#isIntoAnUnknownPlace(rows, row)) return true;
    const inside = row.kind === "load" && row.slot !== null ? this.inSlot(row.slot)
      : ["load", "move", "card-change"].includes(row.kind) ? this.inReader(row.reader) : null;
    return inside !== null && inside !== row.request && !rows.some(leaving => leaving.request === inside
      && leaving.start <= row.start && ["move", "clear", "discard"].includes(leaving.kind));
  }

  /**
   * Whether a row puts something where a step that is not known may have put something, or mixes what would go there.
   * @param {Row[]} rows
   * @param {Row} row
   */
  #isIntoAnUnknownPlace(rows, row) {
    const into = row.kind === "mix" ? rows.find(one => one.kind === "load" && one.request === row.request) : row;
    if (!into || !["load", "move", "card-change"].includes(into.kind)) return false;
    return into.slot === null ? this.isUnknown("reader", into.reader) : this.isUnknown("slot", into.slot);
  }

  /** The allowed length of a step. @param {{kind: string, request: string|null}} row */
  allowed({ kind, request }) {
    if (request === null) return this.day.cardChange;
    const { assay } = /** @type {Wanted} */ (this.day.requests.get(request));
    return kind === "mix" ? assay.mix : kind === "load" ? assay.load : kind === "move" ? assay.move : assay.clear;
  }

  /**
   * Whether a row has begun: its time has come, its hands have been heard of, it could be begun in time, and nothing
   * that it needs is still missing.
   * @param {Row[]} rows
   * @param {Row} row
   * @param {number} now
   * @returns {boolean}
   */
  hasBegun(rows, row, now) {
    const begun = this.begunAt(row);
    return !this.silent.has(row.hands) && begun <= now && this.#isPossible(rows, row, begun, now)
      && !this.#isOutOfUse(row, begun);
  }

  /**
   * @param {Row} row
   * @param {number} instant
   */
  #isOutOfUse(row, instant) {
    return this.day.closings.some(({ resource, number, from, to }) => from <= instant && instant < to
      && (row.kind === "load" && row.slot !== null
        ? resource === "incubator" || (resource === "slot" && number === row.slot)
        : ["load", "move", "card-change"].includes(row.kind) && resource === "reader" && number === row.reader));
  }

  /**
   * @param {Row[]} rows
   * @param {Row} row
   * @param {number} begun
   * @param {number} now
   * @returns {boolean}
   */
  #isPossible(rows, row, begun, now) {
    if (this.unknownOf(row.request)) return false;
    if (row.kind === "card-change")
      return this.inReader(row.reader) === null && !this.doubted.has(row.reader ?? 0)
        && this.day.cards.get(row.reader ?? 0) !== row.lot && !this.#isBeingFilled(rows, row, now)
        && !this.isUnknown("reader", row.reader);
    const cartridge = this.day.cartridges.get(row.request ?? "");
    if (row.kind === "mix") return cartridge === undefined && !this.#isIntoAnUnknownPlace(rows, row);
    if (!cartridge) return false;
    const { phase, to } = cartridge;
    const { assay } = /** @type {Wanted} */ (this.day.requests.get(row.request ?? ""));
    switch (row.kind) {
      case "load":
        return this.#isInTime(row, begun) && !cartridge.mustGo && this.#isFree(rows, row, now)
          && !this.#isBeingFilled(rows, row, now);
      case "move":
        return this.#isInTime(row, begun) && !cartridge.mustGo && this.#isReaderFreeFor(row)
          && !this.#isBeingFilled(rows, row, now);
      case "clear":
        return cartridge.reader === row.reader && (phase === "read" || (phase === "reading" && to + assay.read <= now)
          || (phase === "reacting" && cartridge.reader !== null && to + assay.incubation + assay.read <= now));
      default:
        return !this.mayBeSaved(row.request ?? "", now);
    }
  }

  /**
   * Whether a cartridge's time has not run out yet.
   * @param {string} request
   * @param {number} now
   */
  mayBeSaved(request, now) {
    const until = this.tooLate(request);
    return this.day.cartridges.get(request)?.mustGo !== true && until !== null && now <= until;
  }

  /**
   * When a mixture is too old to be loaded, or a read window closes; null for any other cartridge.
   * @param {string} request
   */
  tooLate(request) {
    const cartridge = this.day.cartridges.get(request);
    const assay = this.day.requests.get(request)?.assay;
    if (!cartridge || !assay) return null;
    if (cartridge.phase === "mixed") return cartridge.from + assay.mixToLoad;
    return cartridge.phase === "reacting" && cartridge.slot !== null
      ? cartridge.from + assay.incubation + assay.readWindow : null;
  }

  /**
   * A cartridge's read window, or null.
   * @param {string|null} request
   */
  windowOf(request) {
    const cartridge = this.day.cartridges.get(request ?? "");
    const assay = this.day.requests.get(request ?? "")?.assay;
    return cartridge?.phase === "reacting" && cartridge.slot !== null && assay
      ? { opens: cartridge.to + assay.incubation, closes: cartridge.from + assay.incubation + assay.readWindow } : null;
  }

  /**
   * Whether a load or a move that began at an instant can be in progress.
   * @param {Row} row
   * @param {number} begun
   */
  #isInTime(row, begun) {
    const request = row.request ?? "";
    if (row.kind === "move") {
      const window = this.windowOf(request);
      return window !== null && begun <= window.closes;
    }
    return this.day.cartridges.get(request)?.phase === "mixed" && begun <= (this.tooLate(request) ?? 0);
  }

  /** The cartridge believed to be in a reader, or null. @param {number|null} reader */
  inReader(reader) {
    for (const [request, cartridge] of this.day.cartridges) if (cartridge.reader === reader) return request;
    return null;
  }

  /** The cartridge believed to be in a slot, or null. @param {number|null} slot */
  inSlot(slot) {
    for (const [request, { phase, slot: its }] of this.day.cartridges)
      if (phase === "reacting" && its === slot) return request;
    return null;
  }

  /**
   * @param {Row[]} rows
   * @param {Row} row
   * @param {number} now
   * @returns {boolean}
   */
  #isFree(rows, row, now) {
    if (row.slot === null) return this.#isReaderFreeFor(row);
    return !this.isUnknown("slot", row.slot) && !this.#isLateOut(row.slot, now)
      && ![...this.day.cartridges].some(([request, { phase, slot }]) => phase === "reacting"
        && slot === row.slot && !this.isBeingMoved(rows, request, now));
  }

  /**
   * Whether a slot's cartridge should have been moved by now, as its window has closed: nobody loads on the belief that
   * it is gone.
   * @param {number} slot
   * @param {number} now
   */
  #isLateOut(slot, now) {
    const window = this.windowOf(this.inSlot(slot));
    return window !== null && window.closes < now;
  }

  /** @param {Row} row */
  #isReaderFreeFor(row) {
    return this.inReader(row.reader) === null && !this.doubted.has(row.reader ?? 0)
      && !this.isUnknown("reader", row.reader)
      && this.day.cards.get(row.reader ?? 0) === this.day.requests.get(row.request ?? "")?.lot;
  }

  /**
   * Whether a cartridge's move to a reader has begun.
   * @param {Row[]} rows
   * @param {string} request
   * @param {number} now
   * @returns {boolean}
   */
  isBeingMoved(rows, request, now) {
    const move = rows.find(row => row.kind === "move" && row.request === request);
    return move !== undefined && this.nextOf(rows, move.hands) === move && this.hasBegun(rows, move, now);
  }

  /**
   * Whether other hands have begun earlier to put a cartridge into the same place, or to change the same reader's card.
   * @param {Row[]} rows
   * @param {Row} row
   * @param {number} now
   */
  #isBeingFilled(rows, row, now) {
    const begun = this.begunAt(row);
    return [...this.hands.keys()].some(hands => {
      const other = hands === row.hands ? null : this.nextOf(rows, hands);
      if (!other || this.silent.has(hands) || other.slot !== row.slot || other.reader !== row.reader) return false;
      const earlier = this.begunAt(other);
      if (earlier > now) return false;
      if (other.kind === "load" || other.kind === "move") return earlier < begun && this.#isInTime(other, earlier);
      return other.kind === "card-change" && row.kind === "card-change"
        && (earlier < begun || (earlier === begun && other.hands < row.hands));
    });
  }
}
