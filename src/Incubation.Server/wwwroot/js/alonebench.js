// What a screen without its server believes of its bench: the last snapshot, and every report that has been made since,
// folded in as the server does it. Instants and lengths are milliseconds. Pure.

/** @import { AloneSnapshot, ScreenCommand } from "./types.js" */
/** @import { Closed, InWork, Row, Wanted } from "./dayfacts.js" */
/** @import { Unknown } from "./notknown.js" */
import { AloneFacts } from "./alonefacts.js";
import { isSame, rowOf } from "./dayfacts.js";
import { at } from "./format.js";
import { byTime } from "./orderreading.js";

/** A time that a person states is taken to be right within this, earlier or later. */
const STATED_WITHIN_MS = 5000;

/** Reports that end a row of the plan, and the row's kind. */
const ENDS = /** @type {const} */ ({
  mixed: "mix", loaded: "load", "read-started": "move", cleared: "clear", "card-changed": "card-change",
  discarded: "discard",
});

/**
 * Whether these hands are away.
 * @param {Closed} closed
 * @param {number} hands
 */
const isOf = (closed, hands) => closed.resource === "hands" && closed.number === hands;

export class AloneBench extends AloneFacts {
  /**
   * @param {AloneSnapshot} alone
   * @param {number} since Since when the screen is alone: mixes that had not begun by then are left out.
   * @param {number[]} served The hands that this screen serves: it follows their rows alone.
   */
  constructor(alone, since, served) {
    super(alone, since);
    /** Rows of cartridges of which a step is not known. @type {Map<string, Row[]>} */
    this.aside = new Map(alone.notKnown.map(step => [step.request, (step.planned ?? []).map(rowOf)]));
    this.#leaveNewMixes(since);
    this.#leaveOthers(served);
  }

  /**
   * Folds a report in; what is no report, or tells of a cartridge that this screen does not know, changes nothing.
   * @param {ScreenCommand} tap
   * @param {number} tapped When.
   * @returns {string|null} The cartridge whose rows go on by it, which were put aside.
   */
  tell(tap, tapped) {
    const before = new Set(this.aside.keys());
    this.#fold(this.#asReport(tap), tapped);
    if (tap.kind === "card-seen" || tap.kind === "answer") this.#somebodyIsThere(tapped);
    return [...before].find(request => !this.aside.has(request)) ?? null;
  }

  /**
   * @param {ScreenCommand} said
   * @param {number} tapped
   */
  #fold(said, tapped) {
    const instant = at(said.at);
    if (said.kind === "not-begun") this.#heard(said.hands ?? 1, instant, tapped);
    else if (said.kind === "answer") this.#answer(said, instant, tapped);
    else if (said.kind === "in-use" && said.resource === "hands") this.#comeBack(said.number ?? 0, tapped);
    else if (said.kind === "card-seen") this.#seeCard(said.reader ?? 0, said.lot);
    const kind = ENDS[/** @type {keyof typeof ENDS} */ (said.kind)];
    if (!kind || (kind !== "card-change" && !this.day.requests.has(said.request ?? ""))) return;
    const request = kind === "card-change" ? null : (said.request ?? null);
    const done = {
      kind, request, slot: kind === "load" ? (said.slot ?? null) : null, lot: said.lot ?? null,
      reader: kind === "discard" || kind === "mix" ? null : (said.reader ?? null), start: 0, end: 0, hands: 0,
      title: "",
    };
    if (kind !== "card-change") done.lot = null;
    this.#goOn(request, kind, this.#nextAfter(done, instant, tapped), tapped);
    const row = this.rows.find(one => isSame(one, done))
      ?? this.rows.find(one => one.kind === kind && request !== null && one.request === request);
    const { hands, begun } = this.#doing(row, done, instant);
    const latest = this.#happened(done, begun, instant, said.stated ? tapped : null);
    this.#endRow(row);
    this.#heard(hands, latest, tapped);
    // A discard that is not known falls away with a load that is told after all.
    this.notKnown = this.notKnown.filter(step => this.#isBefore(step)
      && !(kind === "load" && step.request === request));
  }

  /** What an answer says was done reports it. @param {ScreenCommand} said @returns {ScreenCommand} */
  #asReport(said) {
    const step = said.answer === "at-that-time" || said.answer === "spoilt" ? this.#asked(said) : undefined;
    if (!step) return said;
    const kind = said.answer === "spoilt" ? "discarded"
      : Object.entries(ENDS).find(([, ended]) => ended === step.kind)?.[0] ?? said.kind;
    return { ...said, kind, request: step.request, slot: step.slot, reader: step.reader,
      stated: said.answer !== "spoilt" };
  }

  /** The step of which a question asks. @param {ScreenCommand} said */
  #asked({ question }) {
    return this.notKnown.find(one => question === `step-not-known/${one.request}`);
  }

  /**
   * Patience with a row has ended: its hands are free, and what is planned for its cartridge waits until somebody says
   * how far it has come. Of a card nobody says which is in; the plan's one is put in.
   * @param {Row} row
   * @param {number} instant
   */
  leave(row, instant) {
    const { hands, kind, request, slot, reader } = row;
    if (kind === "card-change") this.day.cards.delete(reader ?? 0);
    else if (request !== null) {
      this.notKnown = [...this.notKnown, { hands, kind, request, slot, reader, begun: this.begunAt(row) }];
      this.aside.set(request, this.rows.filter(one => one.request === request));
      this.day.rows = this.rows.filter(one => one.request !== request);
    }
    this.silent.set(hands, instant);
  }

  /**
   * What was asked of a step that is not known has been answered; the server's own name of the question says of whom.
   * @param {ScreenCommand} said
   * @param {number} instant
   * @param {number} tapped
   */
  #answer(said, instant, tapped) {
    const { question, answer, lot } = said;
    if (answer === "card-is") this.#seeCard(Number(/^card-in-doubt\/(\d+)$/.exec(question ?? "")?.[1]), lot);
    const step = this.#asked(said);
    if (!step || answer !== "not-begun") return;
    this.#goOn(step.request, null, tapped, tapped);
    this.notKnown = this.notKnown.filter(one => one !== step);
    // Hands that count as away need not be those that answered.
    if (!this.silent.has(step.hands) || !this.day.closings.some(closed => isOf(closed, step.hands)))
      this.#heard(step.hands, instant, tapped);
  }

  /**
   * Somebody has looked which card is in a reader.
   * @param {number} reader
   * @param {string|null|undefined} lot
   */
  #seeCard(reader, lot) {
    if (reader && lot) this.day.cards.set(reader, lot);
  }

  /**
   * What was planned for a cartridge goes on, later by as much as what is next comes later; by others where its hands
   * are away.
   * @param {string|null} request
   * @param {Row["kind"]|null} told What was done; null where its step was not begun.
   * @param {number} next When what is next can begin.
   * @param {number} tapped
   */
  #goOn(request, told, next, tapped) {
    const rows = this.aside.get(request ?? "");
    if (!rows) return;
    this.aside.delete(request ?? "");
    const done = rows.findIndex(row => row.kind === told) + 1;
    const coming = rows.slice(done);
    const late = Math.max(0, next - (coming[0]?.start ?? next));
    const there = [...this.hands.keys()].find(hands => !this.#isAway(hands, tapped));
    this.day.rows = [...this.rows, ...rows.slice(0, done), ...coming.map(row => ({
      ...row, hands: this.#isAway(row.hands, tapped) ? (there ?? row.hands) : row.hands, start: row.start + late,
      end: row.end + late,
    }))].sort(byTime);
  }

  /**
   * @param {number} hands
   * @param {number} instant
   */
  #isAway(hands, instant) {
    return this.day.closings.some(closed => isOf(closed, hands) && closed.from <= instant && instant < closed.to);
  }

  /**
   * When what comes after a step of the same cartridge can begin.
   * @param {Row} done
   * @param {number} instant When it was done.
   * @param {number} tapped
   */
  #nextAfter({ kind, request, slot }, instant, tapped) {
    const assay = this.day.requests.get(request ?? "")?.assay;
    if (!assay || kind === "mix") return tapped;
    return instant + (kind === "load" ? assay.incubation + (slot === null ? assay.read : 0)
      : kind === "move" ? assay.read : 0);
  }

  /**
   * Hands have been heard of. Hands that count as away have not been by what they did before: somebody else can have
   * told that. Whatever they told was perhaps long ago: what they are offered next they have not begun before the tap.
   * @param {number} hands
   * @param {number} instant
   * @param {number} tapped
   */
  #heard(hands, instant, tapped) {
    this.hands.set(hands, instant);
    if (instant >= (this.returned.get(hands) ?? Infinity)) this.returned.delete(hands);
    const silent = this.silent.get(hands);
    if (silent === undefined) {
      // Until the tap the screen said that they were at what they told.
      if (tapped - instant > STATED_WITHIN_MS) this.returned.set(hands, tapped);
      return;
    }

    if (instant >= silent || !this.day.closings.some(closed => isOf(closed, hands))) this.#comeBack(hands, tapped);
  }

  /**
   * A card seen and an answer name no hands: where one pair is silent and nobody else is there, it is theirs.
   * @param {number} tapped
   */
  #somebodyIsThere(tapped) {
    const there = [...this.hands.keys()].filter(hands => !this.#isAway(hands, tapped));
    if (there.length === 1 && this.silent.has(there[0] ?? 0)) this.#comeBack(there[0] ?? 0, tapped);
  }

  /**
   * Hands are there again.
   * @param {number} hands
   * @param {number} tapped
   */
  #comeBack(hands, tapped) {
    this.day.closings = this.day.closings.filter(closed => !isOf(closed, hands));
    if (this.silent.delete(hands)) this.returned.set(hands, tapped);
  }

  /** Whether a cartridge still stands where a step of it would begin. @param {Unknown} step */
  #isBefore({ kind, request }) {
    const cartridge = this.day.cartridges.get(request);
    switch (kind) {
      case "mix": return !cartridge && this.day.requests.has(request);
      case "load": return cartridge?.phase === "mixed";
      case "move": return cartridge?.phase === "reacting" && cartridge.slot !== null;
      case "clear": return (cartridge?.reader ?? null) !== null;
      default: return cartridge !== undefined;
    }
  }

  /**
   * Whose hands did something, and since when.
   * @param {Row|undefined} row
   * @param {Row} done
   * @param {number} instant
   */
  #doing(row, done, instant) {
    const unknown = this.unknownOf(done.request);
    if (unknown?.kind === done.kind) return { hands: unknown.hands, begun: Math.min(unknown.begun, instant) };
    // Hands that were not heard of may have begun it at any time since; what was done before they were heard of again
    // was not begun at their return.
    if (row) {
      const back = instant < (this.returned.get(row.hands) ?? -Infinity) ? row.start : undefined;
      const begun = Math.min(this.begunAt(row, back), instant, this.silent.get(row.hands) ?? Infinity);
      return { hands: row.hands, begun };
    }

    const last = this.hands.get(1) ?? null;
    const begun = instant - this.allowed(done);
    return { hands: 1, begun: last !== null && last > begun ? Math.min(last, instant) : begun };
  }

  /**
   * What a step changes; when its hands have ended it at the latest.
   * @param {Row} done
   * @param {number} begun
   * @param {number} instant
   * @param {number|null} statedAt When its time was stated; null where it is that of the tap.
   */
  #happened(done, begun, instant, statedAt) {
    const { kind } = done;
    if (kind === "card-change") {
      this.day.cards.set(done.reader ?? 1, done.lot ?? "");
      return instant;
    }
    const request = /** @type {string} */ (done.request);
    const { assay } = /** @type {Wanted} */ (this.day.requests.get(request));
    const between = (/** @type {number} */ shortest) => statedAt !== null
      ? { from: instant - STATED_WITHIN_MS, to: Math.min(instant + STATED_WITHIN_MS, statedAt) }
      : { from: Math.min(begun + shortest, instant), to: instant };
    /** @type {Omit<InWork, "from"|"to">} */
    const cartridge = { phase: "mixed", slot: done.slot, reader: done.reader, mustGo: false };
    if (kind === "mix") {
      const end = between(assay.mixShortest);
      if (!this.day.cartridges.has(request)) this.day.cartridges.set(request, { ...cartridge, ...end });
      return end.to;
    }
    if (kind === "load") {
      const end = between(assay.loadShortest);
      this.#displace(done, instant);
      this.day.cartridges.set(request, { ...cartridge, phase: "reacting", ...end });
      this.#dropRows(request, ["mix", "discard"]);
      return end.to;
    }
    if (kind === "move") {
      this.#displace(done, instant);
      this.day.cartridges.set(request, { ...cartridge, phase: "reading", from: instant, to: instant });
      this.#dropRows(request, ["mix", "load", "move", "discard"]);
      return instant;
    }
    this.#forget(request);
    return instant;
  }

  /** Whatever was believed to be where a cartridge was really put is astray. @param {Row} done @param {number} now */
  #displace(done, now) {
    for (const [other, { phase, slot, reader }] of [...this.day.cartridges]) {
      if (other === done.request || phase === "mixed") continue;
      const isThere = done.slot !== null ? slot === done.slot && !this.isBeingMoved(this.rows, other, now)
        : reader === done.reader;
      if (isThere) this.#forget(other);
    }
  }

  /** Nothing is left to be done with a cartridge. @param {string} request */
  #forget(request) {
    this.day.requests.delete(request);
    this.day.cartridges.delete(request);
    this.day.rows = this.rows.filter(row => row.request !== request);
  }

  /**
   * @param {string} request
   * @param {Row["kind"][]} kinds
   */
  #dropRows(request, kinds) {
    this.day.rows = this.rows.filter(row => row.request !== request || !kinds.includes(row.kind));
  }

  /** @param {Row|undefined} row */
  #endRow(row) {
    if (row) this.day.rows = this.rows.filter(one => one !== row);
  }

  /**
   * Leaves the rows of hands that another screen serves, and what needs them: nobody says here when they are done.
   * @param {number[]} served
   */
  #leaveOthers(served) {
    this.day.partial = new Set();
    const slots = new Map(this.rows.filter(row => row.kind === "load").map(row => [row.request, row.slot]));
    const slotOf = (/** @type {Row} */ row) => row.kind === "clear" || row.request === null ? null
      : row.slot ?? this.day.cartridges.get(row.request)?.slot ?? slots.get(row.request) ?? null;
    const meets = (/** @type {Row} */ one, /** @type {Row} */ other) =>
      (one.request !== null && one.request === other.request) || (one.reader !== null && one.reader === other.reader)
      || (slotOf(one) !== null && slotOf(one) === slotOf(other));
    /** @type {Row[]} */
    const left = [];
    for (const row of this.rows)
      if (!served.includes(row.hands) || left.some(other => meets(row, other))) left.push(row);
    for (const row of left) if (row.request !== null) this.day.partial.add(row.request);
    this.day.rows = this.rows.filter(row => !left.includes(row));
  }

  /** No new mix is made without a server. @param {number} since */
  #leaveNewMixes(since) {
    this.day.rows.sort(byTime);
    const kept = new Set([...this.day.cartridges.keys(), ...this.notKnown.map(step => step.request)]);
    for (const hands of this.hands.keys()) {
      if (this.silent.has(hands)) continue;
      const row = this.nextOf(this.rows, hands);
      const wanted = row?.kind === "mix" ? this.day.requests.get(row.request ?? "") : undefined;
      if (row && wanted && this.begunAt(row) <= since && wanted.ready <= since
        && !wanted.after.some(before => this.day.requests.has(before)))
        kept.add(wanted.request);
    }
    for (const request of [...this.day.requests.keys()]) if (!kept.has(request)) this.#forget(request);
  }
}
