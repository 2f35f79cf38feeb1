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

/**
 * A tube that is on the list already, wanted again.
 * @param {RackLine} there
 * @param {RackLine} line
 * @returns {RackLine}
 */
export function again(there, line) {
  const known = [...there.assays, ...leftOut(there)];
  return {
    ...there,
    ...Object.fromEntries(OF_TUBE.map(name => [name, there[name] ?? line[name]])),
    assays: [...there.assays, ...line.assays.filter(assay => !known.includes(assay))],
    urgent: there.urgent || line.urgent,
    ...(there.lots || line.lots ? { lots: { ...line.lots, ...there.lots } } : {}),
  };
}

/** Whether these are the same lines in the same order. @param {RackLine[]} one @param {RackLine[]} other */
export function areSame(one, other) {
  return one.length === other.length && one.every((line, at) => line === other[at]);
}

/**
 * A list with what is chosen, as undo finds and leaves it.
 * @typedef {Pick<import("./racklist.js").RackList, "lines"|"tiles"|"chosen"|"urgent"|"takenOut">} Stand
 */

/**
 * What was undone.
 * @param {Stand} before
 * @param {Stand} after
 * @returns {{word: string, tube?: string, tubes?: number}} A word of the page, and what stands in it.
 */
export function undone(before, after) {
  const less = (/** @type {RackLine[]} */ lines, /** @type {RackLine[]} */ others) =>
    lines.filter(line => !others.some(other => other.id === line.id));
  const said = (/** @type {string} */ one, /** @type {string} */ many, /** @type {RackLine[]} */ lines) =>
    (tubesOf(lines) === 1 ? { word: one, tube: lines[0].specimen } : { word: many, tubes: tubesOf(lines) });
  const off = less(before.lines, after.lines);
  if (off.length > 0) return said("UndoneOffOne", "UndoneOff", off);
  const on = less(after.lines, before.lines);
  if (on.length > 0) return said("UndoneOnOne", "UndoneOn", on);
  if (before.tiles !== after.tiles) return { word: after.chosen.length > 0 ? "UndoneFor" : "UndoneForNothing" };
  if (before.takenOut !== after.takenOut) return { word: after.takenOut === null ? "UndoneOut" : "UndoneOutAgain" };
  if (before.urgent !== after.urgent) return { word: after.urgent ? "UndoneUrgentOn" : "UndoneUrgentOff" };
  const others = after.lines.filter(line => !before.lines.includes(line));
  return others.length > 0 ? said("UndoneLineOne", "UndoneLine", others) : { word: "Undone" };
}
