// Lines of one tube: a list may name it in several, each for another assay. Pure.

/** @import { RackLine } from "./racklist.js" */
import { leftOut } from "./rackorders.js";

/** What is said of a tube, not of one of its assays. @type {(keyof RackLine)[]} */
const OF_TUBE = ["identifier", "specimenType", "collected", "due"];

/** How many tubes some lines are of. @param {{specimen: string}[]} lines */
export function tubesOf(lines) {
  return new Set(lines.map(line => line.specimen)).size;
}

/**
 * Lines with others put to them: what is said of one tube in several lines stands in one.
 * @param {RackLine[]} lines
 * @param {RackLine[]} others
 */
export function together(lines, others) {
  /** Where each tube's lines stand. @type {Map<string, number[]>} */
  const places = new Map();
  /** @type {RackLine[]} */
  const all = [];
  const put = (/** @type {RackLine} */ line) =>
    places.set(line.specimen, [...(places.get(line.specimen) ?? []), all.push(line) - 1]);
  lines.forEach(put);
  for (const line of others) {
    const place = places.get(line.specimen)?.find(at => areOne(all[at], line));
    if (place === undefined) put(line);
    else all[place] = joined(all[place], line);
  }
  return all;
}

/**
 * Whether two lines of a tube say the same of it and ask for different assays. The same assay again may be another
 * tube whose number is wrong: that is asked.
 * @param {RackLine} one
 * @param {RackLine} other
 */
function areOne(one, other) {
  const wanted = [...one.assays, ...leftOut(one)];
  return one.assays.length > 0 && other.assays.length > 0 && one.urgent === other.urgent
    && (one.bench ?? null) === (other.bench ?? null) && !other.assays.some(assay => wanted.includes(assay))
    && OF_TUBE.every(name => !one[name] || !other[name] || one[name] === other[name]);
}

/** @param {RackLine} one @param {RackLine} other @returns {RackLine} */
function joined(one, other) {
  return {
    ...one,
    ...Object.fromEntries(OF_TUBE.map(name => [name, one[name] ?? other[name]])),
    assays: [...one.assays, ...other.assays],
    byTile: [...(one.byTile ?? []), ...(other.byTile ?? [])],
    lots: { ...one.lots, ...other.lots },
  };
}
