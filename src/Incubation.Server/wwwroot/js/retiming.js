// Pulls a plan as early as its own order allows from where the bench stands now. No search: where the order cannot be
// kept there is no plan. The same as the server's own, which writes the samples that both are held to. Pure.

/** @import { Day, Row } from "./dayfacts.js" */
import { DayFacts } from "./dayfacts.js";
import { byTime, OrderReading } from "./orderreading.js";

/**
 * The plan re-timed, by start, steps in progress included; null where its order cannot be kept or it does not plan
 * every request.
 * @param {Day} day
 * @returns {Row[]|null}
 */
export function retime(day) {
  const facts = new DayFacts(day);
  const reading = new OrderReading(facts, false);
  const isWhole = (/** @type {string} */ request) =>
    day.partial?.has(request) || isPlanned(facts, reading, request);
  if (![...day.requests.keys()].every(isWhole)) return null;
  const starts = reading.network.starts();
  if (!starts) return null;
  const rows = [
    ...day.begun.map(step => ({ ...step, end: facts.endOf(step) })),
    ...reading.left.map((row, i) => ({ ...row, start: starts[i], end: starts[i] + facts.lengthOf(row) })),
  ];
  return cardsFit(day, rows) ? rows.sort(byTime) : null;
}

/**
 * The most that a row of a re-timed plan may begin later, the read guard left untouched: zero for a step in progress,
 * Infinity where nothing ever breaks.
 * @param {Day} day With the plan's rows re-timed.
 * @param {Row[]} rows
 * @returns {Map<Row, number>}
 */
export function sparesOf(day, rows) {
  const reading = new OrderReading(new DayFacts(day), true);
  return new Map(rows.map(row => {
    const node = reading.nodes.get(row);
    return [row, node === undefined ? 0 : reading.network.spareOf(node)];
  }));
}

/**
 * Whether every step that a request still needs has a row, or the plan gives it up.
 * @param {DayFacts} facts
 * @param {OrderReading} reading
 * @param {string} request
 */
function isPlanned(facts, reading, request) {
  const ahead = (/** @type {Row["kind"]} */ kind) =>
    reading.nodeOf(kind, request) !== null || facts.doing(kind, request) !== null;
  if (facts.day.lost.has(request)) return ahead("discard");
  if (facts.mustDiscard(request) || !ahead("clear")) return false;
  const phase = facts.phaseOf(request);
  const reader = facts.readOf(request)?.reader ?? facts.day.cartridges.get(request)?.reader ?? null;
  if (reader !== null)
    // It may be in another reader than planned.
    return reading.nodeOf("move", request) === null && (facts.doing("clear", request) !== null
      || reading.left.some(row => row.kind === "clear" && row.request === request && row.reader === reader));
  if (facts.loadEnd(request)) return ahead("move");
  return ahead("load") && (phase === "mixed" || facts.mixEnd(request) !== null || ahead("mix"))
    && (ahead("move")
      || reading.left.some(row => row.kind === "load" && row.request === request && row.reader !== null));
}

/**
 * Whether each cartridge still finds its card in the reader.
 * @param {Day} day
 * @param {Row[]} rows
 */
function cardsFit(day, rows) {
  const cards = new Map(day.cards);
  for (const row of [...rows].sort(byTime)) {
    if (row.reader === null) continue;
    if (row.kind === "card-change") cards.set(row.reader, row.lot ?? "");
    else if ((row.kind === "move" || row.kind === "load") && row.start >= day.now
      && cards.get(row.reader) !== day.requests.get(row.request ?? "")?.lot)
      return false;
  }
  return true;
}
