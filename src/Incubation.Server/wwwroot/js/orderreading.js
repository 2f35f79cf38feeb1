// Reads a plan's rows and a day into a network, one rule a method. Rows that have ended are dropped, rows that have
// begun are facts; the rest keeps the plan's order on every pair of hands, slot and reader. The same as the server's
// own. Pure.

/** @import { AloneAssay } from "./types.js" */
/** @import { Closed, DayFacts, Row, Wanted } from "./dayfacts.js" */
import { isSame } from "./dayfacts.js";
import { OrderNetwork } from "./ordernetwork.js";

/** @param {Row} row */
const ends = row => row.kind === "clear" || row.kind === "card-change" || row.kind === "discard";

/** Orders rows by start, then by end. @param {Row} one @param {Row} other */
export const byTime = (one, other) => one.start - other.start || one.end - other.end;

export class OrderReading {
  /**
   * @param {DayFacts} facts
   * @param {boolean} guardIsKept Whether the read guard of cartridges already reacting is left untouched where it still
   * is.
   */
  constructor(facts, guardIsKept) {
    this.facts = facts;
    this.guardIsKept = guardIsKept;
    this.network = new OrderNetwork();
    /** Rows of steps that have not begun, by number. @type {Row[]} */
    this.left = [];
    /** @type {Map<Row, number>} */
    this.nodes = new Map();
    /** @type {Map<string, Row>} */
    this.rowOf = new Map();
    this.#addSteps();
    for (const [id, request] of facts.day.requests) this.#addRulesOf(id, request);
    this.#addHands();
    this.#addSlots();
    this.#addReaders();
    for (const closed of facts.day.closings)
      if (closed.to > facts.day.now) for (const row of this.left) this.#addClosing(closed, row);
  }

  /**
   * Number of a request's step of a kind, or null where that is not ahead.
   * @param {Row["kind"]} kind
   * @param {string} request
   */
  nodeOf(kind, request) {
    const row = this.rowOf.get(`${kind}/${request}`);
    return row ? this.#node(row) : null;
  }

  /** @param {Row} row */
  #node(row) {
    return /** @type {number} */ (this.nodes.get(row));
  }

  #addSteps() {
    const { facts, network } = this;
    const begun = [...facts.day.begun];
    const made = this.#cardChangesMade();
    for (const row of [...facts.day.rows].sort((a, b) => a.start - b.start)) {
      if (this.#hasEnded(row) || made.has(row)) continue;
      const found = begun.findIndex(step => isSame(step, row));
      if (found >= 0) {
        begun.splice(found, 1);
        continue;
      }
      const node = network.add(row.start, facts.lengthOf(row));
      network.noEarlier(node, facts.day.now);
      this.nodes.set(row, node);
      this.left.push(row);
      if (row.request !== null) this.rowOf.set(`${row.kind}/${row.request}`, row);
    }
  }

  /** @param {Row} row */
  #hasEnded(row) {
    if (row.request === null) return false;
    if (!this.facts.has(row.request)) return true;
    const over = { mixed: ["mix"], reacting: ["mix", "load"], reading: ["mix", "load", "move"],
      read: ["mix", "load", "move"] };
    const phase = this.facts.phaseOf(row.request);
    return phase !== null && over[phase].includes(row.kind);
  }

  /**
   * Card changes that have been made: those before something that has taken their reader since, and one to the card
   * that the reader holds already.
   */
  #cardChangesMade() {
    const { facts } = this;
    /** @type {Set<Row>} */
    const made = new Set();
    for (let reader = 1; reader <= facts.day.readers; reader++) {
      const order = facts.day.rows.filter(row => row.reader === reader).sort(byTime);
      const last = order.findLastIndex(row => row.kind !== "card-change"
        && (this.#hasEnded(row) || facts.isBegun(row)));
      for (const row of order.slice(0, last + 1)) if (row.kind === "card-change") made.add(row);
      const after = order.slice(last + 1);
      const other = after.findIndex(row => row.kind !== "card-change");
      const coming = other < 0 ? after : after.slice(0, other);
      const running = coming.findLastIndex(row => facts.isBegun(row));
      const held = coming.findLastIndex(row => !facts.isBegun(row) && row.lot === facts.day.cards.get(reader));
      for (const row of running >= 0 ? coming.slice(0, running) : coming.slice(0, held + 1)) made.add(row);
    }
    return made;
  }

  /**
   * @param {string} id
   * @param {Wanted} request
   */
  #addRulesOf(id, request) {
    const { facts, network } = this;
    this.#addMixAndLoad(id, request);
    this.#addMove(id, request.assay);
    this.#addClear(id, request.assay);
    const discard = this.nodeOf("discard", id);
    if (discard !== null)
      for (const step of facts.day.begun) if (step.request === id) network.noEarlier(discard, facts.endOf(step));
    const mix = this.nodeOf("mix", id);
    if (mix === null) return;
    for (const before of request.after.filter(one => facts.has(one))) {
      const end = this.nodeOf("clear", before) ?? this.nodeOf("discard", before);
      const ending = facts.doing("clear", before) ?? facts.doing("discard", before);
      if (end !== null) network.atLeast(end, mix, facts.assayOf(before).clear);
      else if (ending) network.noEarlier(mix, facts.endOf(ending));
    }
  }

  /**
   * @param {string} id
   * @param {Wanted} request
   */
  #addMixAndLoad(id, { assay, ready, loadBy }) {
    const { facts, network } = this;
    const [mix, load] = [this.nodeOf("mix", id), this.nodeOf("load", id)];
    if (mix !== null) network.noEarlier(mix, ready);
    if (load === null) return;
    if (loadBy !== null) network.noLater(load, loadBy - assay.load);
    const end = facts.mixEnd(id);
    if (mix !== null) {
      network.atLeast(mix, load, assay.mix);
      network.atLeast(load, mix, -assay.mixShortest - assay.mixToLoad);
    } else if (end) {
      network.noEarlier(load, end.to);
      network.noLater(load, end.from + assay.mixToLoad);
    }
  }

  /**
   * @param {string} id
   * @param {AloneAssay} assay
   */
  #addMove(id, assay) {
    const { facts, network } = this;
    const [move, load, end] = [this.nodeOf("move", id), this.nodeOf("load", id), facts.loadEnd(id)];
    if (move === null) return;
    const closes = assay.incubation + assay.readWindow - assay.move;
    const kept = closes - facts.day.readGuard;
    if (load !== null) {
      network.atLeast(load, move, assay.load + Math.max(0, assay.incubation - assay.move));
      network.atLeast(move, load, -assay.loadShortest - kept);
    } else if (end) {
      network.noEarlier(move, Math.max(end.to, end.to + assay.incubation - assay.move));
      // Where the guard is used already there is none left to spare.
      network.noLater(move,
        this.guardIsKept ? Math.max(end.from + kept, network.planned[move]) : end.from + closes);
    }
  }

  /**
   * @param {string} id
   * @param {AloneAssay} assay
   */
  #addClear(id, assay) {
    const { facts, network } = this;
    const [clear, move, load] = [this.nodeOf("clear", id), this.nodeOf("move", id), this.nodeOf("load", id)];
    if (clear === null) return;
    const read = facts.readOf(id);
    if (move !== null) network.atLeast(move, clear, assay.move + assay.read);
    else if (load !== null) network.atLeast(load, clear, assay.load + assay.incubation + assay.read);
    else if (read) network.noEarlier(clear, read.end);
  }

  /**
   * One pair of hands keeps its order, also where what came back to it begins while another step is planned; a step
   * without length occupies nothing.
   */
  #addHands() {
    const { facts, network, left } = this;
    const lasting = left.filter(row => facts.lengthOf(row) > 0);
    for (const hands of new Set(lasting.map(row => row.hands))) {
      const order = lasting.filter(row => row.hands === hands).sort((a, b) => a.start - b.start);
      const busy = facts.day.begun.find(step => step.hands === hands);
      if (busy) network.noEarlier(this.#node(order[0]), facts.endOf(busy));
      for (let i = 1; i < order.length; i++)
        network.atLeast(this.#node(order[i - 1]), this.#node(order[i]), facts.lengthOf(order[i - 1]));
    }
  }

  /**
   * @param {Row} before
   * @param {number} length
   * @param {Row} after
   */
  #follow(before, length, after) {
    if (before.start + length <= after.start) this.network.atLeast(this.#node(before), this.#node(after), length);
  }

  #addSlots() {
    const { facts, network } = this;
    for (const load of this.left) {
      if (load.kind !== "load" || load.slot === null) continue;
      for (const other of facts.day.requests.keys()) {
        // What is being moved has left its slot, also where it comes too late.
        if (other === load.request || this.#slotOf(other) !== load.slot || facts.doing("move", other)) continue;
        const [move, discard] = [this.rowOf.get(`move/${other}`), this.rowOf.get(`discard/${other}`)];
        const leaving = facts.doing("discard", other);
        if (move) this.#addSlot(other, move, 0, load);
        else if (discard) this.#addSlot(other, discard, facts.assayOf(other).clear, load);
        else if (leaving) network.noEarlier(this.#node(load), facts.endOf(leaving));
      }
    }
  }

  /**
   * A load into a slot that is taken now waits for what is inside, whatever the plan's order: it may have been loaded
   * into another slot than planned.
   * @param {string} inside
   * @param {Row} leaving
   * @param {number} length
   * @param {Row} load
   */
  #addSlot(inside, leaving, length, load) {
    if (this.facts.placeOf(inside)) this.network.atLeast(this.#node(leaving), this.#node(load), length);
    else this.#follow(leaving, length, load);
  }

  /** @param {string} request */
  #slotOf(request) {
    return (this.facts.placeOf(request) ?? this.rowOf.get(`load/${request}`))?.slot ?? null;
  }

  /** Whatever takes a reader waits for what ends before it there: a card change, a clear or a discard. */
  #addReaders() {
    const { facts, network } = this;
    for (let reader = 1; reader <= facts.day.readers; reader++) {
      const order = this.left.filter(row => this.#readerOf(row) === reader).sort(byTime);
      for (const step of facts.day.begun)
        if (this.#readerOf(step) === reader && ends(step))
          for (const row of order)
            if (!ends(row) || row.kind === "card-change") network.noEarlier(this.#node(row), facts.endOf(step));
      for (let i = 1; i < order.length; i++)
        if (ends(order[i - 1]) && (!ends(order[i]) || order[i].kind === "card-change"))
          network.atLeast(this.#node(order[i - 1]), this.#node(order[i]), facts.lengthOf(order[i - 1]));
      this.#addStays(reader, order);
    }
  }

  /**
   * Whatever takes a reader waits until what was put into it before has left, also where the rows that empty it stand
   * later: an order in which that cannot be is not kept.
   * @param {number} reader
   * @param {Row[]} order
   */
  #addStays(reader, order) {
    let inside = [...this.facts.day.requests.keys()].find(id => this.#readerHolding(id) === reader) ?? null;
    for (const row of order)
      if (inside !== null && row.request === inside && ends(row)) inside = null;
      else if (!ends(row) || row.kind === "card-change") {
        const leaves = inside === null || row.request === inside ? null
          : this.nodeOf("clear", inside) ?? this.nodeOf("discard", inside);
        if (leaves !== null && inside !== null)
          this.network.atLeast(leaves, this.#node(row), this.facts.assayOf(inside).clear);
        inside = row.request ?? inside;
      }
  }

  /** The reader that a cartridge is in, or on its way into. @param {string} request */
  #readerHolding(request) {
    const cartridge = this.facts.day.cartridges.get(request);
    return this.facts.readOf(request)?.reader ?? (cartridge?.phase === "read" ? cartridge.reader : null);
  }

  /**
   * The reader that a step takes, holds or leaves: a discard leaves one where the cartridge is there.
   * @param {Row} row
   */
  #readerOf(row) {
    return row.kind === "discard" ? (this.facts.readOf(/** @type {string} */ (row.request))?.reader ?? null)
      : row.reader;
  }

  /**
   * @param {Closed} closed
   * @param {Row} row
   */
  #addClosing(closed, row) {
    const { facts, network } = this;
    const [node, from, to] = [this.#node(row), Math.max(closed.from, facts.day.now), closed.to];
    const isReader = closed.resource === "reader" && closed.number === row.reader;
    const request = row.request ?? "";
    if (closed.resource === "hands" ? closed.number === row.hands : isReader && row.kind === "card-change")
      network.mayNotOverlap(node, from, to);
    else if (isReader && (row.kind === "move" || row.kind === "load"))
      network.mayNotOverlap(node, from, to, this.nodeOf("clear", request), facts.assayOf(request).clear);
    else if (row.kind === "load" && row.slot !== null && (closed.resource === "incubator"
      || (closed.resource === "slot" && closed.number === row.slot)))
      network.mayNotOverlap(node, from, to, this.nodeOf("move", request) ?? this.nodeOf("discard", request));
  }
}
