// What is asked after an absence, place by place: which cartridge is believed where, what can be true of it by now, and
// what the plan would have done, which comes first. Pure. Instants and lengths are milliseconds.

/** @import { BenchSnapshot, ScreenCommand } from "./types.js" */
/** @import { Believed } from "./catch-up-bench.js" */
/** @import { Words } from "./context.js" */
import { believed } from "./catch-up-bench.js";
import { clockTime, fill, ms } from "./format.js";

/** A read is told to have begun this much before its window opens by nobody but a slow clock. */
const SLACK_MS = 5000;
/** Whoever reads with another card changed it at least so long before. */
const BEFORE_MS = 1000;
const KINDS = /** @type {Record<StepKind, string>} */ ({
  mix: "mixed", load: "loaded", move: "read-started", clear: "cleared",
});

/** @typedef {"mix"|"load"|"move"|"clear"} StepKind */

/**
 * What a person has said of a place.
 * @typedef {object} Said
 * @property {string} key Which of its options.
 * @property {string} basis What was believed when it was said.
 * @property {number|null} slot
 * @property {number|null} reader
 * @property {number[]} times Of each report.
 */

/**
 * One thing that can be true.
 * @typedef {object} Option
 * @property {string} key
 * @property {string} text
 * @property {Partial<ScreenCommand>[]} reports What is said for it.
 * @property {number[]} times When each of them would have been.
 * @property {number[]} slots From which one is chosen; empty where none is.
 * @property {number[]} readers
 * @property {boolean} leaves Whether the place is empty then.
 */

/**
 * A place that is asked about.
 * @typedef {object} Place
 * @property {string} key
 * @property {string} title
 * @property {string} basis
 * @property {Option[]} options The plan's guess first.
 */

/**
 * Everything that is asked, in the order in which one walks along the bench.
 * @param {BenchSnapshot} snapshot
 * @param {ScreenCommand[]} untold What waits for the server.
 * @param {number} now
 * @param {Record<string, Said>} answers
 * @param {Words} w
 * @returns {Place[]}
 */
export function placesOf(snapshot, untold, now, answers, w) {
  const all = believed(snapshot, untold, now);
  const ask = new Asking(snapshot, all, now, answers, w);
  const inSlots = all.filter(c => c.slot !== null).sort((a, b) => Number(a.slot) - Number(b.slot));
  const inReaders = all.filter(c => c.slot === null && c.reader !== null);
  return [
    ...inSlots.map(c => ask.place(c)),
    ...inReaders.map(c => ask.place(c)),
    ...all.filter(c => c.slot === null && c.reader === null).map(c => ask.place(c)),
    ...snapshot.readers.filter(r => !r.outOfUse).map(r => ask.card(r)),
  ];
}

/** @param {Believed} c */
const keyOf = c => (c.slot !== null ? `slot-${c.slot}` : c.reader !== null ? `reader-${c.reader}` : `mix-${c.request}`);

/** Whether the step of which nobody knows is a discard: it cannot have fallen. @param {Believed} c */
const isDiscard = ({ phase, unknown }) => unknown !== null && phase !== "reading"
  && !unknown.answers.some(a => a.answer === "spoilt");

class Asking {
  /**
   * @param {BenchSnapshot} snapshot
   * @param {Believed[]} all
   * @param {number} now
   * @param {Record<string, Said>} answers
   * @param {Words} w
   */
  constructor(snapshot, all, now, answers, w) {
    this.snapshot = snapshot;
    this.all = all;
    this.now = now;
    this.answers = answers;
    this.w = w;
  }

  /** @param {Believed} c @returns {Place} */
  place(c) {
    const steps = this.#stepsOf(c);
    const times = this.#timesOf(c, steps);
    const planned = steps.filter((step, i) => this.#wasDue(c, step, i)).length;
    /** @type {Option[]} */
    const options = [this.#still(c)];
    for (let count = 1; count <= steps.length && this.#canBe(c, steps.slice(0, count)); count++)
      options.push(this.#done(c, steps.slice(0, count), times.slice(0, count)));
    const ends = this.#ends(c);
    const guess = isDiscard(c) ? ends[ends.length - 1] : options[Math.min(planned, options.length - 1)];
    return {
      key: keyOf(c), title: this.#titleOf(c), basis: [c.request, c.phase, c.unknown?.id].join("/"),
      options: [guess, ...[...options, ...ends].filter(o => o !== guess), this.#unsure()],
    };
  }

  /**
   * The card of a reader.
   * @param {BenchSnapshot["readers"][number]} reader
   * @returns {Place}
   */
  card(reader) {
    const { snapshot, now, w } = this;
    const known = reader.card ?? reader.cardBelieved;
    const changes = (snapshot.alone?.steps ?? [])
      .filter(s => s.kind === "card-change" && s.reader === reader.reader && (ms(s.end) ?? now) <= now);
    const read = this.#firstReadWithAnother(reader.reader, known);
    const change = changes[changes.length - 1];
    const guess = read?.lot ?? change?.lot ?? known;
    const at = Math.min(now, read ? read.at : (ms(change?.end) ?? now));
    /** @param {string} lot @returns {Option} */
    const put = lot => option(`card-${lot}`, fill(w("CatchUpCardPut"), lot, clockTime(at, snapshot.zone)),
      [{ kind: "card-changed", reader: reader.reader, lot }], [at]);
    const seen = reader.cardDoubt !== null && known !== null
      ? [{ kind: "card-seen", reader: reader.reader, lot: known }] : [];
    const stays = option("card-stays", known === null ? w("CatchUpNoCard") : fill(w("CatchUpCardIn"), known),
      seen, seen.map(() => now));
    const others = snapshot.lots.filter(lot => lot !== known).map(put);
    const first = others.find(o => o.key === `card-${guess}`) ?? stays;
    return {
      key: `card-${reader.reader}`, title: fill(w("CatchUpCardOf"), reader.reader),
      basis: [known, reader.cardDoubt].join("/"),
      options: [first, ...[stays, ...others].filter(o => o !== first), this.#unsure()],
    };
  }

  /**
   * The first read, as said so far, that needs another card than is believed to be in.
   * @param {number} reader
   * @param {string|null} card
   */
  #firstReadWithAnother(reader, card) {
    const other = this.#reads().find(one => one.reader === reader && one.lot !== null && one.lot !== card);
    return other ? { lot: other.lot, at: other.from - BEFORE_MS } : null;
  }

  /** When readers were taken, as said so far, by time. */
  #reads() {
    const reads = this.all.flatMap(c => {
      const said = this.answers[keyOf(c)];
      const at = said ? this.#stepsOf(c).indexOf("move") : -1;
      return at >= 0 && said.times.length > at && (said.key === "move" || said.key === "clear") ? [{
        request: c.request, lot: c.lot, reader: said.reader ?? 1, from: said.times[at] - (c.assay?.move ?? 0),
        to: said.times[at + 1] ?? this.now,
      }] : [];
    });
    return reads.sort((a, b) => a.from - b.from);
  }

  /**
   * The soonest that a cartridge can have been moved while the reader was free, if that is inside its window.
   * @param {Believed} c
   * @param {number} soonest
   */
  #whileFree({ request, assay }, soonest) {
    if (!assay) return soonest;
    let at = soonest;
    for (const one of this.#reads())
      if (one.request !== request && at > one.from && at - assay.move < one.to) at = one.to + assay.move;
    return at <= soonest + assay.readWindow ? at : soonest;
  }

  /** The steps that can have come by now. @param {Believed} c @returns {StepKind[]} */
  #stepsOf(c) {
    const inReader = c.reader !== null || this.#row(c, "load")?.slot === null;
    /** @type {StepKind[]} */
    const steps = inReader ? ["mix", "load", "clear"] : ["mix", "load", "move", "clear"];
    const done = { waiting: 0, mixed: 1, reacting: 2, reading: steps.length - 1 }[c.phase];
    return steps.slice(done);
  }

  /** @param {Believed} c @param {StepKind} kind */
  #row(c, kind) {
    return this.snapshot.alone?.steps.find(s => s.kind === kind && s.request === c.request);
  }

  /**
   * Whether the plan would have had a step done by now: one of which nobody knows is believed to have been.
   * @param {Believed} c
   * @param {StepKind} kind
   * @param {number} i
   */
  #wasDue(c, kind, i) {
    const row = this.#row(c, kind);
    return (i === 0 && c.unknown !== null && !isDiscard(c)) || (row !== undefined && Date.parse(row.end) <= this.now);
  }

  /**
   * When each step would have ended: by the plan, else as soon as it can have.
   * @param {Believed} c
   * @param {StepKind[]} steps
   */
  #timesOf(c, steps) {
    /** @type {number[]} */
    const times = [];
    for (const [i, kind] of steps.entries()) {
      const before = times[i - 1] ?? c.since;
      const unknown = i === 0 && c.unknown ? ms(c.unknown.since) : null;
      const planned = unknown ?? ms(this.#row(c, kind)?.end);
      const earliest = before + this.#takes(c, kind);
      const soonest = kind === "move" ? this.#whileFree(c, earliest) : earliest;
      times.push(Math.min(this.now, Math.max(before, planned !== null && planned <= this.now ? planned : soonest)));
    }
    return times;
  }

  /** From the end of the step before to its own. @param {Believed} c @param {StepKind} kind */
  #takes({ assay }, kind) {
    if (!assay) return 0;
    const { mix, load, incubation, move, read, clear } = assay;
    return { mix, load, move: Math.max(incubation, move), clear: read + clear }[kind];
  }

  /**
   * Whether there was time enough for steps since the last that is known.
   * @param {Believed} c
   * @param {StepKind[]} steps
   */
  #canBe({ assay, since, unknown }, steps) {
    if (!assay) return steps.length === 1 && (unknown !== null || steps[0] === "mix");
    const least = { mix: assay.mixShortest, load: assay.loadShortest, move: assay.incubation, clear: assay.read };
    return since + steps.reduce((sum, kind) => sum + least[kind], 0) <= this.now + SLACK_MS;
  }

  /** Nothing was done to it. @param {Believed} c */
  #still(c) {
    const { now, w } = this;
    const text = c.slot !== null ? fill(w("CatchUpStillInSlot"), c.specimen, c.slot)
      : c.reader !== null ? fill(w("CatchUpStillInReader"), c.specimen, c.reader)
        : fill(w(c.phase === "mixed" ? "CatchUpNotLoaded" : "CatchUpNotMixed"), c.specimen);
    const offer = this.snapshot.offers.find(o => o.request === c.request && o.kind === this.#stepsOf(c)[0]
      && Date.parse(o.mayBegin) <= now);
    /** @type {Partial<ScreenCommand>[]} */
    const reports = c.unknown ? [{ kind: "answer", question: c.unknown.id, answer: "not-begun" }]
      : offer ? [{ kind: "not-begun", hands: offer.hands }] : [];
    return option("still", text, reports, reports.map(() => now));
  }

  /**
   * @param {Believed} c
   * @param {StepKind[]} steps
   * @param {number[]} times
   */
  #done(c, steps, times) {
    const { snapshot, w } = this;
    const last = steps[steps.length - 1];
    const load = this.#row(c, "load");
    const moves = this.#row(c, "move")?.reader ?? c.unknown?.reader ?? snapshot.readers[0]?.reader ?? 1;
    const inReader = load !== undefined && load.slot === null;
    const slots = steps.includes("load") && !inReader ? this.#slotsFor(c, load?.slot ?? c.unknown?.slot ?? null) : [];
    const readers = steps.includes("move")
      ? [moves, ...snapshot.readers.map(r => r.reader).filter(r => r !== moves)] : [];
    const reports = steps.map(kind => ({
      kind: KINDS[kind], request: c.request, stated: true,
      ...(kind === "load" && inReader ? { reader: load.reader } : {}),
      ...(kind === "clear" ? { reader: c.reader ?? (inReader ? load.reader : moves) } : {}),
    }));
    const words = /** @type {Record<StepKind, string>} */ ({
      mix: w("CatchUpMixed"), load: w("CatchUpLoaded"), move: w("CatchUpReading"), clear: w("CatchUpTakenOut"),
    })[last];
    const text = fill(words, c.specimen, clockTime(times[times.length - 1], snapshot.zone));
    return { ...option(last, text, reports, times), slots, readers, leaves: last === "move" || last === "clear" };
  }

  /**
   * The slots into which something can have been loaded, the planned one first, then those that were free.
   * @param {Believed} c
   * @param {number|null} planned
   */
  #slotsFor(c, planned) {
    const taken = new Set(this.all.filter(other => other !== c).flatMap(other => {
      const said = this.answers[keyOf(other)];
      if (said?.slot) return [said.slot];
      const left = said ? ["move", "clear", "dropped", "late"].includes(said.key)
        : this.#stepsOf(other).some((kind, i) => this.#wasDue(other, kind, i));
      return other.slot !== null && !left ? [other.slot] : [];
    }));
    const left = this.snapshot.slots.filter(s => !s.outOfUse && !taken.has(s.slot)).map(s => s.slot);
    // One that was free all the time before one that was left at some time.
    const held = new Set(this.all.map(other => other.slot));
    const free = [...left.filter(s => !held.has(s)), ...left.filter(s => held.has(s))];
    return planned !== null && free.includes(planned) ? [planned, ...free.filter(s => s !== planned)] : free;
  }

  /** How it can have ended. @param {Believed} c */
  #ends(c) {
    const { now, w } = this;
    /** @param {string} key @param {string} reason @param {string} words */
    const end = (key, reason, words) => ({
      ...option(key, fill(words, c.specimen), [{ kind: "discarded", request: c.request, reason }], [now]), leaves: true,
    });
    const closes = ms(this.snapshot.slots.find(s => s.request === c.request)?.closes);
    const late = c.phase === "mixed" && c.assay !== null && now > c.since + c.assay.mixToLoad ? "mixture-too-old"
      : closes !== null && now > closes ? "window-closed" : null;
    return [end("dropped", "dropped", w("CatchUpFell")), ...(late ? [end("late", late, w("CatchUpTooLate"))] : [])];
  }

  #unsure() {
    return option("unsure", this.w("CatchUpUnsure"), [], []);
  }

  /** @param {Believed} c */
  #titleOf(c) {
    return c.slot !== null ? fill(this.w("SlotNumber"), c.slot)
      : c.reader !== null ? fill(this.w("ReaderNumber"), c.reader) : fill(this.w("CatchUpTable"), c.specimen);
  }
}

/**
 * @param {string} key
 * @param {string} text
 * @param {Partial<ScreenCommand>[]} reports
 * @param {number[]} times
 * @returns {Option}
 */
function option(key, text, reports, times) {
  return { key, text, reports, times, slots: [], readers: [], leaves: false };
}

/**
 * What is said for an answer, each with its time.
 * @param {Place} place
 * @param {Said} said
 * @returns {{at: number, says: Partial<ScreenCommand>}[]}
 */
export function reportsOf(place, said) {
  const chosen = place.options.find(o => o.key === said.key);
  return (chosen?.reports ?? []).map((says, i) => ({
    at: said.times[i],
    says: {
      ...says,
      ...(says.kind === "loaded" && said.slot ? { slot: said.slot } : {}),
      ...(said.reader && (says.kind === "read-started" || (says.kind === "cleared" && chosen?.readers.length))
        ? { reader: said.reader } : {}),
    },
  }));
}
