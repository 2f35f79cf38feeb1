// What somebody tells of a cartridge, as commands: made from what the server says can be true of it. Pure.

/** @import { BenchSnapshot, ScreenCommand, TellingSnapshot, TellingsSnapshot } from "./types.js" */
import { ms } from "./format.js";
import { command } from "./reports.js";

/** A slot or a reader. @typedef {{slot?: number, reader?: number}} Place */
/** One thing that can be true, and of which cartridge. @typedef {TellingSnapshot & {request: string}} Fact */

/** Which report says the same: while it waits for the server, nobody is asked for it again. */
const SAME = {
  mixed: "mixed", loaded: "loaded", "read-started": "read-started", cleared: "cleared", fell: "discarded",
  "thrown-away": "discarded", gone: "discarded",
};

/** How the other is said that lies in a place. */
const LIES = ["loaded", "read-started", "elsewhere", "still-here", "not-thrown-away"];

/**
 * What can be true of a cartridge.
 * @param {BenchSnapshot} snapshot
 * @param {string} request
 * @param {ScreenCommand[]} waiting Reports that wait for the server.
 * @returns {Fact[]}
 */
export function factsOf(snapshot, request, waiting) {
  const can = tellingsOf(snapshot).find(t => t.request === request)?.can ?? [];
  return can.map(fact => ({ ...fact, request })).filter(fact => !isTold(fact, waiting));
}

/**
 * What can be true where somebody stands: of the cartridge that is believed to lie there, and which other may.
 * @param {BenchSnapshot} snapshot
 * @param {Place} place
 * @param {ScreenCommand[]} waiting
 * @returns {{own: Fact[], others: Fact[]}}
 */
export function factsAt(snapshot, place, waiting) {
  const lies = (/** @type {TellingsSnapshot} */ t) =>
    place.slot === undefined ? t.reader === place.reader : t.slot === place.slot;
  const named = (/** @type {Fact} */ fact) =>
    place.slot === undefined ? fact.readers?.includes(place.reader ?? 0) : fact.slots?.includes(place.slot);
  const all = tellingsOf(snapshot);
  const facts = (/** @type {TellingsSnapshot[]} */ some) => some.flatMap(t => factsOf(snapshot, t.request, waiting));
  return {
    own: facts(all.filter(lies)),
    others: facts(all.filter(t => !lies(t))).filter(fact => LIES.includes(fact.what) && named(fact)),
  };
}

/** A snapshot that was kept from before has none. @param {BenchSnapshot} snapshot @returns {TellingsSnapshot[]} */
export function tellingsOf(snapshot) {
  return snapshot.tellings ?? [];
}

/**
 * The places of which one is named, the likeliest first.
 * @param {Fact} fact
 * @returns {Place[]}
 */
export function placesOf(fact) {
  return [...(fact.slots ?? []).map(slot => ({ slot })), ...(fact.readers ?? []).map(reader => ({ reader }))];
}

/**
 * What is sent, in this order.
 * @param {Fact} fact
 * @param {Place} place The chosen one; empty where none is asked for.
 * @param {number} at When it was; now where no time is asked for.
 * @param {number} now
 * @param {string} words What was told, in words: they stand with what is corrected.
 * @returns {ScreenCommand[]}
 */
export function commandsOf(fact, place, at, now, words) {
  const { request } = fact;
  const then = { at, stated: true };
  const said = [];
  if (fact.notSo) said.push(command("correct", { at: now }, { of: fact.notSo, answer: "mistake", words }));
  const inTimeFrom = ms(fact.inTimeFrom ?? null);
  switch (fact.what) {
    case "mixed":
      said.push(command("mixed", then, { request }));
      break;
    case "loaded":
      if (fact.mixedBefore) said.push(command("mixed", { at: at - fact.mixedBefore * 1000 }, { request }));
      said.push(command("loaded", then, { request, ...place }));
      break;
    case "read-started": {
      const inTime = inTimeFrom !== null && now > inTimeFrom;
      said.push(command("read-started", then, { request, ...place, ...(inTime ? { inTime } : {}) }));
      break;
    }
    case "cleared":
      said.push(command("cleared", then, { request, ...place }));
      break;
    case "fell":
    case "thrown-away":
      said.push(command("discarded", then, { request, reason: fact.reason ?? "dropped" }));
      break;
    case "gone":
      said.push(command("discarded", { at: now }, { request, reason: "found-gone" }));
      break;
    case "other-time":
      said.push(command("correct", { at: now }, { of: fact.of, then: new Date(Math.round(at)).toISOString(), words }));
      break;
    case "elsewhere":
    case "not-thrown-away":
      if (fact.of && !(place.slot && place.slot === fact.liesIn))
        said.push(command("correct", { at: now }, { of: fact.of, ...place, words }));
      break;
    default:
      if (fact.question) said.push(command("answer", { at: now }, { question: fact.question, answer: "not-begun" }));
      else if (fact.hands) said.push(command("not-begun", { at: now }, { hands: fact.hands }));
  }
  return said;
}

/**
 * @param {Fact} fact
 * @param {ScreenCommand[]} waiting
 */
function isTold(fact, waiting) {
  const kind = SAME[/** @type {keyof typeof SAME} */ (fact.what)];
  return waiting.some(c => c.request === fact.request && (c.kind === kind || c.kind === "discarded"));
}
