// What a screen without its server may still offer: steps of cartridges in work, in the adopted plan's order, and no new
// mixtures or loads. Pure.

/** @import { BenchSnapshot, OfferSnapshot, ScreenCommand, UpcomingSnapshot } from "./types.js" */
import { at, fill } from "./format.js";

const USUAL_PROMPT_MS = 20_000;
const REPORTS = { mix: "mixed", load: "loaded", move: "read-started", clear: "cleared", "card-change": "card-changed", discard: "discarded" };

/**
 * The offers as they stand when these commands wait for the server.
 * @param {BenchSnapshot} snapshot
 * @param {ScreenCommand[]} waiting
 * @param {number} aloneSince
 * @param {(key: string) => string} w
 * @returns {OfferSnapshot[]}
 */
export function offersAlone(snapshot, waiting, aloneSince, w) {
  /** @type {OfferSnapshot[]} */
  const offers = [];
  let freed = null;
  for (const offer of snapshot.offers) {
    if (isReported(offer, waiting)) freed ??= offer.hands;
    else if (offer.kind !== "mix" || at(offer.mayBegin) <= aloneSince) offers.push(offer);
    else freed ??= offer.hands;
  }
  const next = freed === null ? undefined : upcomingAlone(snapshot, waiting)[0];
  if (next && freed !== null) offers.push(offerOf(snapshot, next, freed, lastReport(waiting), w));
  return offers;
}

/**
 * What still comes after without a server.
 * @param {BenchSnapshot} snapshot
 * @param {ScreenCommand[]} waiting
 */
export function upcomingAlone(snapshot, waiting) {
  const discarded = new Set(waiting.filter(c => c.kind === "discarded").map(c => c.request));
  const inWork = new Set([...snapshot.slots, ...snapshot.readers].map(place => place.request).filter(Boolean));
  for (const offer of snapshot.offers) if (offer.kind !== "mix") inWork.add(offer.request);
  return snapshot.upcoming.filter(step =>
    !isReported(step, waiting) && !discarded.has(step.request)
    && (step.kind === "card-change" || (["move", "clear", "discard"].includes(step.kind) && inWork.has(step.request))));
}

/**
 * @param {{kind: string, request: string|null, reader: number|null}} step
 * @param {ScreenCommand[]} waiting
 */
function isReported(step, waiting) {
  const kind = REPORTS[/** @type {keyof typeof REPORTS} */ (step.kind)];
  return waiting.some(c => (c.kind === kind || c.kind === "discarded") && c.request === step.request && (step.request !== null || c.reader === step.reader));
}

/** @param {ScreenCommand[]} waiting */
function lastReport(waiting) {
  return waiting.reduce((latest, c) => Math.max(latest, at(c.at)), 0);
}

/**
 * @param {BenchSnapshot} snapshot
 * @param {UpcomingSnapshot} step
 * @param {number} hands
 * @param {number} freeFrom
 * @param {(key: string) => string} w
 * @returns {OfferSnapshot}
 */
function offerOf(snapshot, step, hands, freeFrom, w) {
  const start = Math.max(at(step.start), freeFrom);
  const prompt = snapshot.offers[0] ? at(snapshot.offers[0].mayBegin) - at(snapshot.offers[0].promptAt) : USUAL_PROMPT_MS;
  const slot = step.kind === "move" ? snapshot.slots.find(s => s.request === step.request) : undefined;
  const specimen = slot?.specimen ?? snapshot.readers.find(r => r.request === step.request)?.specimen ?? step.request;
  const iso = (/** @type {number} */ instant) => new Date(instant).toISOString();
  const button = { move: w("ButtonMove"), clear: w("ButtonClear"), discard: w("ButtonDiscard"), "card-change": w("LotRecord") };
  const kind = /** @type {keyof typeof button} */ (step.kind);
  return {
    key: `alone/${step.kind}/${step.request ?? step.reader}/${step.start}`, kind, hands, handsText: "", title: step.title,
    detail: fill(w("AloneDetail"), specimen ?? step.lot ?? ""), button: button[kind], countdownToBegin: w("UntilBegin"),
    countdownToLatest: slot ? w("LeftToRead") : w("AllowedLeft"), urgent: step.urgent, request: step.request, specimen: specimen ?? null,
    slot: slot?.slot ?? step.slot, reader: step.reader, lot: step.lot, promptAt: iso(start - prompt), mayBegin: iso(start),
    plannedEnd: iso(start + 60_000), countTo: slot?.closes ?? iso(start + 60_000),
    latestStart: step.spareSeconds === null ? null : iso(at(step.start) + step.spareSeconds * 1000),
    reportFrom: slot?.opens ?? iso(start - prompt), askWhenAfter: null, windowOpens: slot?.opens ?? null, windowCloses: slot?.closes ?? null,
  };
}
