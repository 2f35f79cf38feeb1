// What waits in the worklist for the tubes on a rack's list: a tube that was scanned gets its orders' assays, priority
// and comment, once. An ordered tube gets what is ordered: what the tiles that were chosen ask for besides is left out
// until somebody says so. Pure.

/** @import { RackLine } from "./racklist.js" */

/**
 * @typedef {object} RackOrder
 * @property {string} line Id of the line whose specimen it is for.
 * @property {string} assay Code of the assay.
 * @property {string} from Where it comes from, and what it is called there.
 * @property {boolean} urgent
 * @property {string|null} identifier
 * @property {string|null} specimenType
 * @property {string|null} collected
 * @property {string|null} due
 * @property {string|null} comment
 */

/**
 * An order as a line keeps it.
 * @typedef {object} TakenOrder
 * @property {string} assay
 * @property {string} from
 * @property {string|null} comment
 * @property {boolean} added Whether the line is for this assay because of it.
 */

/**
 * A line with the orders that it has not taken yet; the same line where there is none.
 * @param {RackLine} line
 * @param {RackOrder[]} orders
 * @returns {RackLine}
 */
export function withOrders(line, orders) {
  const taken = line.orders ?? [];
  const isNew = (/** @type {RackOrder} */ order) => order.line === line.id
    && !taken.some(one => one.assay === order.assay && one.from === order.from);
  const mine = orders.filter(isNew);
  if (mine.length === 0) return line;
  const ordered = new Set(mine.map(order => order.assay));
  // Later orders find a line that somebody may have changed.
  const kept = taken.length > 0 ? line.assays
    : line.assays.filter(assay => ordered.has(assay) || !line.byTile?.includes(assay));
  const more = [...ordered].filter(assay => !kept.includes(assay));
  const first = (/** @type {"identifier"|"specimenType"|"collected"|"due"} */ name) =>
    line[name] ?? mine.find(order => order[name])?.[name] ?? undefined;
  return {
    ...line,
    assays: [...kept, ...more],
    urgent: line.urgent || mine.some(order => order.urgent),
    identifier: first("identifier"),
    specimenType: first("specimenType"),
    collected: first("collected"),
    due: first("due"),
    orders: [...taken, ...mine.map(({ assay, from, comment }) =>
      ({ assay, from, comment, added: more.includes(assay) }))],
  };
}

/**
 * A line whose specimen is another: what it was for by orders alone it is not for any more, and what they left out it
 * is for again.
 * @param {RackLine} line
 * @returns {RackLine}
 */
export function withoutOrders(line) {
  const byOrder = (line.orders ?? []).filter(order => order.added).map(order => order.assay);
  const assays = [...line.assays.filter(assay => !byOrder.includes(assay)), ...leftOut(line)];
  return { ...line, assays, orders: [] };
}

/** What the tiles asked for and no order does. @param {RackLine} line */
export function leftOut(line) {
  return (line.orders ?? []).length === 0 ? [] : (line.byTile ?? []).filter(assay => !line.assays.includes(assay));
}

/**
 * What is settled by somebody who says himself what a line is for: an order that is not among it goes on waiting.
 * @param {RackLine} line
 * @param {string[]} assays
 */
export function settledBy(line, assays) {
  const left = (line.orders ?? []).map(order => order.assay).filter(assay => !assays.includes(assay));
  return [...new Set([...line.settled, ...left.map(assay => `ordered:${assay}`)])];
}

/** Where a line's orders come from, each once. @param {RackLine} line */
export function sourcesOf(line) {
  return [...new Set((line.orders ?? []).map(order => order.from))];
}

/** What is to be known of a line by its orders, each once. @param {RackLine} line */
export function commentsOf(line) {
  return [...new Set((line.orders ?? []).flatMap(order => order.comment ?? []))];
}
