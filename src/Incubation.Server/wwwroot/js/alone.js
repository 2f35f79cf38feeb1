// What a screen without its server may still offer: steps of cartridges in work and the load of what is mixed, in the
// adopted plan's order, and no new mixtures. Pure.

/** @import { AlarmSnapshot, BenchSnapshot, OfferSnapshot, ScreenCommand, UpcomingSnapshot } from "./types.js" */
import { at, fill } from "./format.js";

const USUAL_PROMPT_MS = 20_000;
const REPORTS = {
  mix: "mixed",
  load: "loaded",
  move: "read-started",
  clear: "cleared",
  "card-change": "card-changed",
  discard: "discarded",
};

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
    // What was begun with the server is in hand, and a mixture that is made must be loaded; nothing is mixed anew.
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
  const mixed = waiting.filter(c => c.kind === "mixed").map(c => c.request ?? null);
  for (const request of mixed) inWork.add(request);
  const steps = snapshot.upcoming.filter(step =>
    !isReported(step, waiting) && !discarded.has(step.request)
    && (step.kind === "card-change" || (step.kind === "load" && mixed.includes(step.request))
      || (["move", "clear", "discard"].includes(step.kind) && inWork.has(step.request))));
  return steps.filter(
    (step, i) => step.kind !== "card-change" || isNeeded(step, steps.slice(i + 1), snapshot, waiting),
  );
}

/**
 * A card is changed only for a cartridge that is still read: not where another card follows at once, nothing does, or
 * it is in.
 * @param {UpcomingSnapshot} change
 * @param {UpcomingSnapshot[]} after
 * @param {BenchSnapshot} snapshot
 * @param {ScreenCommand[]} waiting
 */
function isNeeded(change, after, snapshot, waiting) {
  const next = after.find(step => step.reader === change.reader && step.kind !== "clear");
  const changed = waiting.filter(c => c.kind === "card-changed" && c.reader === change.reader).pop();
  const isIn = changed ? changed.lot : (snapshot.readers.find(r => r.reader === change.reader)?.card ?? null);
  return next?.kind === "move" && isIn !== change.lot;
}

/** What ends an alarm, by the beginning of its id. */
const ENDED_BY = [
  {
    of: ["window-in-danger/", "window-closed/", "cannot-be-saved/", "astray/"],
    by: ["read-started", "cleared", "discarded"],
  },
  { of: ["mixture-in-danger/", "mixture-too-old/"], by: ["loaded", "discarded"] },
];

/**
 * The alarms without those whose end has been reported and waits for the server.
 * @param {AlarmSnapshot[]} alarms
 * @param {ScreenCommand[]} waiting
 */
export function alarmsLeft(alarms, waiting) {
  const isEnded = (/** @type {AlarmSnapshot} */ alarm) => {
    const by = ENDED_BY.find(row => row.of.some(start => alarm.id.startsWith(start)))?.by ?? [];
    return waiting.some(c => c.request === alarm.request && by.includes(c.kind));
  };
  return waiting.length === 0 ? alarms : alarms.filter(alarm => !isEnded(alarm));
}

/**
 * @param {{kind: string, request: string|null, reader: number|null}} step
 * @param {ScreenCommand[]} waiting
 */
function isReported(step, waiting) {
  const kind = REPORTS[/** @type {keyof typeof REPORTS} */ (step.kind)];
  return waiting.some(
    c =>
      (c.kind === kind || c.kind === "discarded") &&
      c.request === step.request &&
      (step.request !== null || c.reader === step.reader),
  );
}

/**
 * Why a cartridge is given up, where the server has said so; null where it has not.
 * @param {BenchSnapshot} snapshot
 * @param {string|null} request
 */
export function reasonOf(snapshot, request) {
  return snapshot.losses.find(loss => loss.request === request)?.reason ?? null;
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
  const prompt = snapshot.offers[0]
    ? at(snapshot.offers[0].mayBegin) - at(snapshot.offers[0].promptAt)
    : USUAL_PROMPT_MS;
  const slot = step.kind === "move" ? snapshot.slots.find(s => s.request === step.request) : undefined;
  const specimen = slot?.specimen ?? snapshot.readers.find(r => r.request === step.request)?.specimen
    ?? snapshot.labels?.find(l => l.request === step.request)?.specimen ?? step.request;
  const iso = (/** @type {number} */ instant) => new Date(instant).toISOString();
  const button = {
    load: w("ButtonLoad"),
    move: w("ButtonMove"),
    clear: w("ButtonClear"),
    discard: w("ButtonDiscard"),
    "card-change": w("LotRecord"),
  };
  const kind = /** @type {keyof typeof button} */ (step.kind);
  return {
    key: `alone/${step.kind}/${step.request ?? step.reader}/${step.start}`,
    kind,
    hands,
    handsText: "",
    title: step.title,
    detail: fill(w("AloneDetail"), specimen ?? step.lot ?? ""),
    button: button[kind],
    countdownToBegin: w("UntilBegin"),
    countdownToLatest: slot ? w("LeftToRead") : w("AllowedLeft"),
    urgent: step.urgent,
    request: step.request,
    specimen: specimen ?? null,
    slot: slot?.slot ?? step.slot,
    reader: step.reader,
    lot: step.lot,
    promptAt: iso(start - prompt),
    mayBegin: iso(start),
    plannedEnd: iso(start + 60_000),
    countTo: slot?.closes ?? iso(start + 60_000),
    latestStart: step.spareSeconds === null ? null : iso(at(step.start) + step.spareSeconds * 1000),
    reportFrom: slot?.opens ?? iso(start - prompt),
    askWhenAfter: null,
    windowOpens: slot?.opens ?? null,
    windowCloses: slot?.closes ?? null,
    reason: step.kind === "discard" ? reasonOf(snapshot, step.request) : null,
    instruction: null,
  };
}
