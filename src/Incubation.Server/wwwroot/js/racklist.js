// The list of specimens that a rack intake gathers, kept in this browser's storage until the server has it. Pure but
// for the storage that it is given.

/** @import { RackOrder, TakenOrder } from "./rackorders.js" */
import { leftOut, settledBy, withOrders, withoutOrders } from "./rackorders.js";
import { again, areSame, together } from "./racktubes.js";

/** The longest number of a specimen, as the server takes it. */
export const MAX_NAME = 64;
/** More than any rack holds, and no more than the server takes at once. */
export const MAX_LINES = 500;

const PREFIX = "incubation.rack.";
/** So many changes can be undone. */
const MAX_PAST = 50;

/**
 * @typedef {object} RackLine
 * @property {string} id Names the line.
 * @property {string} specimen
 * @property {string[]} assays Codes; none where nothing was chosen yet.
 * @property {boolean} urgent
 * @property {string|null} takenOut When it was taken out of storage, by the server's time.
 * @property {string[]} settled What was asked about it and settled by a press.
 * @property {string} [identifier] A second identifier.
 * @property {string} [specimenType]
 * @property {string} [collected] When, as the clinic's clock showed it.
 * @property {string} [due] The same of when its result should be there.
 * @property {string[]} [byTile] What the tiles asked for that were chosen; none where somebody said it of this tube.
 * @property {TakenOrder[]} [orders] What waited in the worklist for it.
 * @property {Record<string, string>} [lots] Another lot than the one that expires first, by assay.
 * @property {string|null} [bench] Another bench than the list's, as a file names it.
 */

/** @typedef {{report: string, lines: RackLine[]}} Sending What is on its way, under a name made once. */

/**
 * The list before a change, with what else that change altered.
 * @typedef {object} Step
 * @property {RackLine[]} lines
 * @property {Set<string>} [tiles]
 * @property {string[]} [chosen]
 * @property {boolean} [urgent]
 * @property {string|null} [takenOut]
 * @property {string} [stays] The specimen of a rejection, which stands in the record and stays.
 */

/**
 * @typedef {object} Kept
 * @property {RackLine[]} lines The newest last.
 * @property {Sending|null} sending
 * @property {Record<string, string>} lots
 */

/** What became of a scan. @typedef {"taken"|"more"|"again"|"long"|"empty"|"full"} Taken */

export class RackList {
  /**
   * @param {string} bench
   * @param {Pick<Storage, "getItem"|"setItem"|"removeItem">} storage
   * @param {() => string} newId
   */
  constructor(bench, storage, newId) {
    this.key = PREFIX + bench;
    this.storage = storage;
    this.newId = newId;
    /** Tiles that are chosen, by their key. @type {Set<string>} */
    this.tiles = new Set();
    /** Their assays. @type {string[]} */
    this.chosen = [];
    this.urgent = false;
    /** Since when all of them are out of storage, or null. @type {string|null} */
    this.takenOut = null;
    const kept = read(storage, this.key);
    this.lines = kept.lines;
    this.sending = kept.sending;
    this.lots = kept.lots;
    /** @type {Step[]} */
    this.past = [];
    /** What is on its way as it stood here, to be undone where it comes back. @type {Step[]} */
    this.before = [];
    /** The name by which the list goes where it is a file's, unchanged; or null. @type {string|null} */
    this.report = null;
  }

  /** Lines for which nothing was chosen yet. */
  get unchosen() {
    return this.lines.filter(line => line.assays.length === 0);
  }

  /**
   * What is wanted of the tubes that come now; those that came before anything was chosen get it too.
   * @param {string[]} assays
   * @param {Set<string>} [tiles] By which that was said.
   * @param {boolean} [isOwn] Whether somebody has said it; else it follows from a panel, and is nothing to undo.
   */
  choose(assays, tiles = this.tiles, isOwn = true) {
    const { tiles: before, chosen, report } = this;
    [this.tiles, this.chosen] = [tiles, assays];
    const isForThose = assays.length > 0 && this.unchosen.length > 0;
    if (!isForThose && !isOwn) return;
    this.#change(!isForThose ? this.lines
      : this.lines.map(line => (line.assays.length > 0 ? line : { ...line, assays, byTile: assays })),
      { tiles: before, chosen });
    if (!isForThose) this.report = report;
  }

  /** Whether the next tube goes first. */
  switchUrgent() {
    const { urgent, report } = this;
    this.urgent = !urgent;
    this.#change(this.lines, { urgent });
    this.report = report;
  }

  /**
   * A tube was scanned or typed. The urgent switch falls back.
   * @param {string} scanned
   * @returns {{taken: Taken, line: RackLine|null}}
   */
  take(scanned) {
    const specimen = scanned.trim();
    if (specimen === "") return { taken: "empty", line: null };
    if (specimen.length > MAX_NAME) return { taken: "long", line: null };
    const there = this.lines.find(line => line.specimen === specimen);
    const known = there ? [...there.assays, ...leftOut(there)] : [];
    const more = this.chosen.filter(assay => !known.includes(assay));
    const { urgent } = this;
    if (there && more.length === 0 && (!urgent || there.urgent)) return { taken: "again", line: there };
    if (!there && this.lines.length >= MAX_LINES) return { taken: "full", line: null };
    this.urgent = false;
    /** @type {RackLine} */
    const line = there
      ? { ...there, assays: [...there.assays, ...more], urgent: there.urgent || urgent }
      : {
        id: this.newId(), specimen, assays: [...this.chosen], byTile: [...this.chosen], urgent, takenOut: this.takenOut,
        settled: [],
      };
    this.#change([...this.lines.filter(one => one !== there), line], urgent ? { urgent } : {});
    return { taken: there ? "more" : "taken", line };
  }

  /**
   * Lines of a list that was pasted or read from a file; those that say nothing are for what is chosen, and several
   * of one tube become one. Where nothing else is on the list it goes by the name of its content, so that the same
   * file again is the same list.
   * @param {Omit<RackLine, "id"|"settled">[]} read
   * @param {string} report
   */
  takeAll(read, report) {
    const isAlone = this.lines.length === 0;
    this.#change(together(this.lines, read.map(line => ({
      ...line, id: this.newId(), settled: [], takenOut: this.takenOut,
      ...(line.assays.length > 0 ? {} : { assays: [...this.chosen], byTile: [...this.chosen] }),
    }))));
    this.report = isAlone ? report : null;
  }

  /**
   * Changes a line; what was settled about it is asked anew where its specimen is another.
   * @param {string} id
   * @param {Partial<RackLine>} changes
   */
  edit(id, changes) {
    const isOther = (/** @type {RackLine} */ line) => "specimen" in changes && changes.specimen !== line.specimen;
    const said = (/** @type {RackLine} */ line) => (changes.assays
      ? { ...changes, byTile: [], settled: settledBy(line, changes.assays) } : changes);
    this.#change(this.lines.map(line => (line.id !== id ? line
      : isOther(line) ? { ...withoutOrders(line), ...said(line), settled: [] } : { ...line, ...said(line) })));
  }

  /**
   * A line's number was read wrongly: where that tube is on the list both are one, as when it is scanned again.
   * @param {string} id
   * @param {string} specimen Its true number.
   */
  become(id, specimen) {
    const line = this.lines.find(one => one.id === id);
    const there = this.lines.find(one => one.specimen === specimen && one.id !== id);
    if (!line) return;
    if (!there) return this.edit(id, { specimen });
    this.#change([...this.lines.filter(one => one !== line && one !== there), again(there, withoutOrders(line))]);
  }

  /**
   * The worklist's orders for what is on the list: each is taken once, and is no change that could be undone.
   * @param {RackOrder[]} orders
   * @returns {RackLine[]} The lines that are others now.
   */
  takeOrders(orders) {
    const lines = this.lines.map(line => withOrders(line, orders));
    const others = lines.filter((line, at) => line !== this.lines[at]);
    if (others.length === 0) return others;
    this.report = null;
    this.lines = lines;
    this.#keep();
    return others;
  }

  /** @param {string} id */
  remove(id) {
    this.#change(this.lines.filter(line => line.id !== id));
  }

  /**
   * A line's specimen was rejected, which the record keeps: no undo brings the line back.
   * @param {RackLine} rejected
   */
  drop({ id, specimen }) {
    const without = (/** @type {RackLine[]} */ lines) => lines.filter(line => line.id !== id);
    const lines = without(this.lines);
    const steps = this.past.map(step => ({ ...step, lines: without(step.lines) }));
    // What altered that line alone is nothing to undo any more.
    this.past = steps.filter((step, at) => Object.keys(step).length > 1
      || !areSame(step.lines, steps[at + 1]?.lines ?? lines));
    this.#change(lines, { stays: specimen });
    this.past.splice(-1, 1, { lines, stays: specimen });
  }

  /**
   * A question about some lines is answered: it is meant so.
   * @param {string[]} ids
   * @param {string} code
   */
  settle(ids, code) {
    this.#change(this.lines.map(line =>
      ids.includes(line.id) && !line.settled.includes(code) ? { ...line, settled: [...line.settled, code] } : line));
  }

  /** All of them, and those that follow, were taken out of storage at this time; null takes that back. */
  out(/** @type {string|null} */ at) {
    const { takenOut } = this;
    this.takenOut = at;
    this.#change(this.lines.map(line => ({ ...line, takenOut: at })), { takenOut });
  }

  /** @param {string} assay @param {string} lot */
  useLot(assay, lot) {
    this.lots = { ...this.lots, [assay]: lot };
    this.#keep();
  }

  /**
   * A lot that was chosen and is used up or over is not chosen any more: the one that expires first is.
   * @param {{code: string, lots: {lot: string}[]}[]} assays As they are now.
   * @returns {string[][]} Each such lot, and the one that is used now.
   */
  keepLots(assays) {
    const gone = assays.filter(({ code, lots }) =>
      this.lots[code] && lots.length > 0 && !lots.some(one => one.lot === this.lots[code]));
    const said = gone.map(({ code, lots }) => [this.lots[code], lots[0].lot]);
    for (const { code } of gone) delete this.lots[code];
    if (gone.length > 0) this.#keep();
    return said;
  }

  get canUndo() {
    return this.past.length > 0;
  }

  /**
   * The list as it was before the last change, and what that change altered beside it.
   * @returns {string} The specimen whose rejection would have to be undone, and is not; else "".
   */
  undo() {
    const step = this.past.pop();
    if (!step || step.stays) return step?.stays ?? "";
    Object.assign(this, step);
    this.#keep();
    return "";
  }

  /** The lines, each with the lots that were chosen for its assays. */
  asItIs() {
    return this.lines.map(line => {
      const lots = Object.fromEntries(Object.entries({ ...this.lots, ...line.lots })
        .filter(([assay]) => line.assays.includes(assay)));
      return { ...line, lots };
    });
  }

  /**
   * What is on the list goes to the server under a name that is made once; what is scanned from now on stands on a new
   * list.
   * @returns {Sending|null} What is to be sent, also what was on its way before; null where there is nothing.
   */
  send() {
    if (this.sending) return this.sending;
    if (this.lines.length === 0) return null;
    this.sending = { report: this.report ?? this.newId(), lines: this.asItIs() };
    this.before = [...this.past, { lines: this.lines }];
    [this.lines, this.past] = [[], []];
    this.#keep();
    return this.sending;
  }

  /** The server has it. What was chosen stays: tiles and their lots. */
  sent() {
    [this.sending, this.before] = [null, []];
    if (this.lines.length === 0) this.takenOut = null;
    this.#keep();
  }

  /**
   * The server has taken none of it: it stands on the list again, before what came since, and can be undone as if it
   * had never been sent. After a page was loaded again it is as it was sent, with its lots.
   */
  refused() {
    const lines = this.before.at(-1)?.lines ?? this.sending?.lines ?? [];
    const since = this.past.map(step => ({ ...step, lines: [...lines, ...step.lines] }));
    this.past = [...this.before.slice(0, -1), ...since].slice(-MAX_PAST);
    [this.sending, this.before] = [null, []];
    this.lines = [...lines, ...this.lines];
    this.#keep();
  }

  /**
   * @param {RackLine[]} lines
   * @param {Omit<Step, "lines">} [before] What else is other now, as it was.
   */
  #change(lines, before = {}) {
    this.report = null;
    this.past = [...this.past, { ...before, lines: this.lines }].slice(-MAX_PAST);
    this.lines = lines;
    this.#keep();
  }

  #keep() {
    if (this.lines.length === 0 && !this.sending) return this.storage.removeItem(this.key);
    try {
      const { lines, sending, lots } = this;
      this.storage.setItem(this.key, JSON.stringify({ lines, sending, lots }));
    } catch {
      // Full or forbidden: the list stands on this page, and is gone with it.
    }
  }
}

/**
 * @param {Pick<Storage, "getItem">} storage
 * @param {string} key
 * @returns {Kept}
 */
function read(storage, key) {
  try {
    const kept = JSON.parse(storage.getItem(key) ?? "null");
    const isList = (/** @type {unknown} */ lines) => Array.isArray(lines) && lines.every(line =>
      typeof line?.id === "string" && typeof line.specimen === "string" && Array.isArray(line.assays)
        && Array.isArray(line.settled));
    if (isList(kept?.lines) && (kept.sending === null || (typeof kept.sending?.report === "string"
      && isList(kept.sending.lines))))
      return { lines: kept.lines, sending: kept.sending, lots: kept.lots ?? {} };
  } catch {
    // What cannot be read is no list.
  }
  return { lines: [], sending: null, lots: {} };
}

/** Whether a bench's list waits here to be sent. @param {string} bench @param {Pick<Storage, "getItem">} storage */
export function isOnItsWay(bench, storage) {
  return read(storage, PREFIX + bench).sending !== null;
}
