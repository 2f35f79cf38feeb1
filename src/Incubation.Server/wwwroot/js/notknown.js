// A day with steps of which nobody knows whether they were done, as a plan may use it: their requests are left out, and
// the places that they would fill or empty are closed. The same as the server's own. Instants and lengths are
// milliseconds. Pure.

/** @import { Closed, Day, Row } from "./dayfacts.js" */

/** How far ahead a place that is never free again is closed. */
const FOR_GOOD_MS = 30 * 24 * 3_600_000;

/**
 * A step that is not known.
 * @typedef {object} Unknown
 * @property {number} hands The hands that were at it.
 * @property {Exclude<Row["kind"], "card-change">} kind
 * @property {string} request
 * @property {number|null} slot Of a load.
 * @property {number|null} reader
 * @property {number} begun When they can have begun it at the earliest.
 */

/** @typedef {{resource: "slot"|"reader", number: number, stay: number}} Place */

/**
 * The day without them. A place is closed for good where the bench can use another of its kind now; else for as long as
 * the step, and what follows it there, can take.
 * @param {Day} day
 * @param {Unknown[]} notKnown
 * @returns {Day}
 */
export function knownDay(day, notKnown) {
  if (notKnown.length === 0) return day;
  const hidden = new Set(notKnown.map(step => step.request));
  const places = notKnown.filter(step => !isOvertaken(day, step.request)).flatMap(step => placesOf(day, step));
  return {
    ...day,
    requests: new Map([...day.requests].filter(([id]) => !hidden.has(id))),
    cartridges: new Map([...day.cartridges].filter(([id]) => !hidden.has(id))),
    closings: [...day.closings, ...places.map(place => closing(day, place, places))],
  };
}

/**
 * Whether rows re-timed keep off the places that are closed for good.
 * @param {Day} day
 * @param {Row[]} rows
 */
export function endsInTime(day, rows) {
  return rows.every(row => row.end < day.now + FOR_GOOD_MS);
}

/**
 * Whether another cartridge was loaded into its slot while it was being moved out: it is in no slot any more.
 * @param {Day} day
 * @param {string} request
 */
function isOvertaken(day, request) {
  const mine = day.cartridges.get(request);
  return mine?.phase === "reacting" && mine.slot !== null && [...day.cartridges].some(([other, its]) =>
    other !== request && its.phase === "reacting" && its.slot === mine.slot && its.to >= mine.to);
}

/**
 * The places that a step would fill or empty, with the longest that it can take until they are empty.
 * @param {Day} day
 * @param {Unknown} step
 * @returns {Place[]}
 */
export function placesOf(day, step) {
  const assay = day.requests.get(step.request)?.assay;
  const lies = day.cartridges.get(step.request);
  if (!assay) return [];
  const inSlot = (/** @type {number|null|undefined} */ number, /** @type {number} */ stay) =>
    number ? [/** @type {Place} */ ({ resource: "slot", number, stay })] : [];
  const inReader = (/** @type {number|null|undefined} */ number, /** @type {number} */ stay) =>
    number ? [/** @type {Place} */ ({ resource: "reader", number, stay })] : [];
  const from = lies?.phase === "reacting" ? lies.slot : null;
  switch (step.kind) {
    case "load": return [
      ...inSlot(step.slot, assay.load + assay.incubation + assay.readWindow),
      ...inReader(step.reader, assay.load + assay.incubation + assay.read + assay.clear),
    ];
    case "move": return [...inReader(step.reader, assay.move + assay.read + assay.clear), ...inSlot(from, assay.move)];
    case "clear": return inReader(step.reader, assay.clear);
    case "discard": return [...inSlot(from, assay.clear), ...inReader(lies?.reader, assay.clear)];
    default: return [];
  }
}

/**
 * @param {Day} day
 * @param {Place} place
 * @param {Place[]} places
 * @returns {Closed}
 */
function closing(day, { resource, number, stay }, places) {
  const all = Array.from({ length: resource === "slot" ? day.slots : day.readers }, (_, i) => i + 1);
  const isOther = (/** @type {number} */ other) =>
    !places.some(taken => taken.resource === resource && taken.number === other);
  const isUsable = (/** @type {number} */ other) => !day.closings.some(closed => closed.from <= day.now
    && day.now < closed.to && ((closed.resource === resource && closed.number === other)
      || (closed.resource === "incubator" && resource === "slot")));
  const until = all.some(other => isOther(other) && isUsable(other)) ? FOR_GOOD_MS : stay;
  return { resource, number, from: day.now, to: day.now + until };
}
