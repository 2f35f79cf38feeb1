// How a screen without its server goes on: the rows that it follows at an instant, re-timed in the adopted plan's own
// order. Nothing is searched for: where the order cannot be kept for every cartridge, it is kept for all but the
// fewest. Pure.

/** @import { AloneSnapshot } from "./types.js" */
/** @import { Waiting } from "./outbox.js" */
/** @import { Row, Wanted } from "./dayfacts.js" */
import { AloneBench } from "./alonebench.js";
import { isSame } from "./dayfacts.js";
import { at } from "./format.js";
import { endsInTime, knownDay } from "./notknown.js";
import { byTime } from "./orderreading.js";
import { retime } from "./retiming.js";

/** So many cartridges in work at most are tried in pairs; among more, the dearest are kept first. */
const MOST_IN_PAIRS = 24;

/** So often is tried what comes back. */
const MOST_PLACES = 200;

/**
 * The bench at an instant, after everything that this screen has reported.
 * @param {AloneSnapshot} alone
 * @param {Waiting[]} waiting In the order in which they were said.
 * @param {number} since
 * @param {number[]} served The hands that this screen serves.
 * @param {number} now
 */
export function benchAlone(alone, waiting, since, served, now) {
  const bench = new AloneBench(alone, since, served);
  adopt(bench, since);
  let present = since;
  for (const said of waiting) {
    // A tap may state an earlier time: until it came nobody knew of it.
    const next = Math.max(present, at(said.tapped ?? said.at));
    leaveUntil(bench, present, next);
    present = next;
    adopt(bench, present, bench.tell(said, present));
  }
  leaveUntil(bench, present, now);
  return bench;
}

/**
 * Leaves the steps with which patience ends between two instants, one after the other: their hands are free.
 * @param {AloneBench} bench
 * @param {number} from
 * @param {number} until
 */
function leaveUntil(bench, from, until) {
  for (let present = from; ;) {
    const next = [...bench.hands.keys()].flatMap(hands => leftBy(bench, hands, present, until))
      .sort((a, b) => a.at - b.at)[0];
    if (!next) return;
    bench.leave(next.row, next.at);
    present = next.at;
    adopt(bench, present);
  }
}

/**
 * The step of a pair of hands with which patience ends between two instants, if there is one.
 * @param {AloneBench} bench
 * @param {number} hands
 * @param {number} from
 * @param {number} until
 */
function leftBy(bench, hands, from, until) {
  const row = bench.nextOf(bench.rows, hands);
  if (!row || bench.isIntoATakenPlace(bench.rows, row)) return [];
  const ends = bench.patienceEnds(row);
  const due = [Math.max(ends, from), until].find(instant =>
    ends <= instant && instant <= until && bench.hasBegun(bench.rows, row, instant));
  return due === undefined ? [] : [{ row, at: due }];
}

/**
 * Rows re-timed from an instant on.
 * @typedef {object} Course
 * @property {Row[]} rows
 * @property {Set<string>} left Cartridges for which the order cannot be kept.
 * @property {import("./dayfacts.js").Day} day The day for which they hold.
 */

/**
 * Follows the rows as re-timed from now on.
 * @param {AloneBench} bench
 * @param {number} now
 * @param {string|null} [came] The cartridge whose rows have just come back.
 */
function adopt(bench, now, came = null) {
  const first = courseAt(bench, now);
  const { rows, left } = (first.left.size > 0 && came !== null ? placed(bench, now, came, first.left) : null)
    ?? first;
  // What is not mixed waits, and goes on where somebody says that it is.
  const inWork = inWorkAt(bench, now);
  for (const request of left)
    if (!inWork.has(request)) bench.aside.set(request, bench.rows.filter(row => row.request === request));
  bench.day.rows = [...rows, ...bench.rows.filter(row => left.has(row.request ?? "") && inWork.has(row.request))]
    .sort(byTime);
}

/**
 * What is mixed, or was begun to be before an instant.
 * @param {AloneBench} bench
 * @param {number} now
 * @returns {Set<string|null>}
 */
const inWorkAt = (bench, now) => new Set([...bench.day.cartridges.keys(),
  ...bench.rows.filter(row => row.kind === "mix" && hasBegunBefore(bench, row, now)).map(row => row.request)]);

/**
 * What comes back may cost another cartridge by coming first: then it comes after as few steps of its hands as it must
 * for less to be lost, or else wherever that is so. Null where it is nowhere.
 * @param {AloneBench} bench
 * @param {number} now
 * @param {string} came
 * @param {Set<string>} left
 */
function placed(bench, now, came, left) {
  const { rows } = bench;
  const inWork = inWorkAt(bench, now);
  const lost = lossOf(lastFirst(bench).filter(one => left.has(one.request)), inWork);
  const mine = rows.filter(row => row.request === came);
  const others = rows.filter(row => row.request !== came);
  const first = mine[0];
  if (!first) return null;
  const later = others.filter(row => row.hands === first.hands && row.end > first.start)
    .map(row => [...others, ...mine.map(one => beginning(one, one.start + row.end - first.start))]);
  const orders = [...later, ...among(bench, others, mine, now)].slice(0, MOST_PLACES);
  let tries = 0;
  for (const set of [...fewest(bench, inWork)]) {
    const aside = lastFirst(bench).filter(one => set.has(one.request));
    if (set.size > 0 && compare(lossOf(aside, inWork), lost) >= 0) break;
    for (const order of orders) {
      if (++tries > MOST_PLACES) break;
      bench.day.rows = [...order].sort(byTime);
      const course = kept(bench, set, now);
      if (course) return course;
    }
    bench.day.rows = rows;
  }
  return null;
}

/**
 * Rows put among others in every way in which both keep their own order, the earliest first.
 * @param {AloneBench} bench
 * @param {Row[]} others
 * @param {Row[]} mine
 * @param {number} now
 */
function among(bench, others, mine, now) {
  // Nothing comes before what somebody is at.
  const places = mine.map(() => others.findLastIndex(row => hasBegunBefore(bench, row, now)) + 1);
  const orders = [];
  while (orders.length < MOST_PLACES) {
    orders.push(inTurn(others, mine, places));
    const last = places.findLastIndex(place => place < others.length);
    if (last < 0) break;
    places.fill(places[last] + 1, last);
  }
  return orders;
}

/**
 * @param {Row[]} others
 * @param {Row[]} mine
 * @param {number[]} places Before which of the others each of mine comes.
 */
function inTurn(others, mine, places) {
  const rows = [...others, null].flatMap((other, i) =>
    [...mine.filter((_, one) => places[one] === i), ...(other ? [other] : [])]);
  let start = -Infinity;
  return rows.map(row => beginning(row, start = Math.max(row.start, start + 1)));
}

/** @param {Row} row @param {number} start @returns {Row} */
const beginning = (row, start) => ({ ...row, start, end: start + row.end - row.start });

/**
 * Whether somebody counts as being at a row since before an instant.
 * @param {AloneBench} bench
 * @param {Row} row
 * @param {number} now
 */
const hasBegunBefore = (bench, row, now) => bench.nextOf(bench.rows, row.hands) === row && bench.begunAt(row) < now
  && bench.hasBegun(bench.rows, row, now);

/**
 * The rows that a screen follows at an instant.
 * @param {AloneBench} bench
 * @param {number} now
 * @returns {Course}
 */
export function courseAt(bench, now) {
  const inWork = inWorkAt(bench, now);
  for (const left of fewest(bench, inWork)) {
    const course = kept(bench, left, now);
    if (course) return course;
  }
  // The dearest first, each that can be kept with those before it.
  const dearest = lastFirst(bench).reverse().sort((a, b) => compare(lossOf([b], inWork), lossOf([a], inWork)));
  const none = new Set(dearest.map(one => one.request));
  let course = kept(bench, none, now) ?? { rows: [], left: none, day: within(bench, [], none, now) };
  for (const { request } of dearest)
    course = kept(bench, new Set([...course.left].filter(one => one !== request)), now) ?? course;
  return course;
}

/**
 * The course without some cartridges; where the order cannot be kept, with the discards last for which nothing waits.
 * @param {AloneBench} bench
 * @param {Set<string>} left
 * @param {number} now
 */
function kept(bench, left, now) {
  const course = keeping(bench, left, now);
  if (course) return course;
  const { rows } = bench;
  const later = discardsLast(bench, now);
  if (!later) return null;
  bench.day.rows = later.sort(byTime);
  const found = keeping(bench, left, now);
  bench.day.rows = rows;
  return found;
}

/**
 * @param {AloneBench} bench
 * @param {number} now
 */
function discardsLast(bench, now) {
  const { rows } = bench;
  const last = rows.filter(row => row.kind === "discard" && !hasBegunBefore(bench, row, now)
    && isNotWaitedFor(bench, row.request ?? ""));
  const others = rows.filter(row => !last.includes(row));
  if (last.length === 0 || others.length === 0) return null;
  let from = Math.max(...others.map(row => row.end));
  for (const row of last) {
    others.push(beginning(row, from));
    from += row.end - row.start;
  }
  return others;
}

/**
 * Whether nothing goes where a cartridge lies.
 * @param {AloneBench} bench
 * @param {string} request
 */
function isNotWaitedFor(bench, request) {
  const { slot = null, reader = null } = bench.day.cartridges.get(request) ?? {};
  return reader === null && !(slot !== null && bench.rows.some(row => row.kind === "load" && row.slot === slot));
}

/**
 * The rows re-timed without some cartridges, or null.
 * @param {AloneBench} bench
 * @param {Set<string>} left
 * @param {number} now
 * @returns {Course|null}
 */
function keeping(bench, left, now) {
  const wanted = needed(bench, bench.rows.filter(row => !left.has(row.request ?? "")), now);
  if (wanted.some(row => isStuck(bench, left, row))) return null;
  const day = within(bench, wanted, left, now);
  const rows = retime(day);
  return rows && endsInTime(day, rows) ? { rows, left, day: { ...day, rows } } : null;
}

/**
 * The bench's day without some cartridges, with what has begun.
 * @param {AloneBench} bench
 * @param {Row[]} rows
 * @param {Set<string>} left
 * @param {number} now
 */
function within(bench, rows, left, now) {
  const requests = new Map([...bench.day.requests].filter(([id]) => !left.has(id)));
  return knownDay({ ...bench.day, now, rows, requests, begun: bench.begun(rows, now) }, bench.notKnown);
}

/**
 * Whether a row goes where a cartridge stays that nothing takes away.
 * @param {AloneBench} bench
 * @param {Set<string>} left
 * @param {Row} row
 */
function isStuck(bench, left, row) {
  if (row.kind === "load" && row.slot !== null) return left.has(bench.inSlot(row.slot) ?? "");
  return (row.kind === "load" || row.kind === "move" || row.kind === "card-change")
    && (bench.doubted.has(row.reader ?? 0) || left.has(bench.inReader(row.reader) ?? ""));
}

/**
 * Rows with the card changes that they need, and no others: before a read whose card will not be in then, and one that
 * has begun, as that is in hand.
 * @param {AloneBench} bench
 * @param {Row[]} rows
 * @param {number} now
 */
function needed(bench, rows, now) {
  const begun = bench.begun(rows, now);
  const cards = new Map(bench.day.cards);
  const lotOf = (/** @type {Row|undefined} */ row) => bench.day.requests.get(row?.request ?? "")?.lot ?? null;
  return rows.flatMap(row => {
    const [reader, isBegun] = [row.reader ?? 0, begun.some(step => isSame(step, row))];
    if (row.kind === "card-change") {
      if (!isBegun && (lotOf(nextOn(rows, row)) !== row.lot || cards.get(reader) === row.lot)) return [];
      cards.set(reader, row.lot ?? "");
      return [row];
    }
    const lot = row.kind === "move" || (row.kind === "load" && row.slot === null) ? lotOf(row) : null;
    if (lot === null || isBegun || cards.get(reader) === lot) return [row];
    cards.set(reader, lot);
    return [cardBefore(row, lot), row];
  });
}

/** @param {Row} row @param {string} lot @returns {Row} */
function cardBefore({ hands, reader, start }, lot) {
  return { kind: "card-change", request: null, hands, slot: null, reader, lot, start, end: start, title: "" };
}

/**
 * What comes after a row on its reader, but for a clear; undefined where nothing does.
 * @param {Row[]} rows
 * @param {Row} row
 */
function nextOn(rows, row) {
  return rows.slice(rows.indexOf(row) + 1).find(later => later.reader === row.reader && later.kind !== "clear");
}

/**
 * What may be left aside, the least loss first, and of equal ones what comes last: nothing, one, two.
 * @param {AloneBench} bench
 * @param {Set<string|null>} inWork
 */
function* fewest(bench, inWork) {
  yield new Set();
  const requests = lastFirst(bench);
  const sets = requests.map(one => [one]);
  if (requests.length <= MOST_IN_PAIRS)
    for (const [i, one] of requests.entries()) for (const other of requests.slice(i + 1)) sets.push([one, other]);
  for (const set of sets.sort((a, b) => compare(lossOf(a, inWork), lossOf(b, inWork))))
    yield new Set(set.map(one => one.request));
}

/**
 * The requests, that of the latest next step first, and before it those without any.
 * @param {AloneBench} bench
 */
function lastFirst(bench) {
  const place = (/** @type {Wanted} */ one) => {
    const found = bench.rows.findIndex(row => row.request === one.request);
    return found < 0 ? Infinity : found;
  };
  return [...bench.day.requests.values()].filter(one => !bench.unknownOf(one.request))
    .sort((a, b) => place(b) - place(a) || 0);
}

/**
 * What leaving some aside loses, in the order in which a plan is judged; what is not mixed is not lost by it.
 * @param {Wanted[]} all
 * @param {Set<string|null>} inWork
 */
function lossOf(all, inWork) {
  const set = all.filter(one => inWork.has(one.request));
  return [
    set.filter(one => !one.repeatLeft).length, set.filter(one => one.urgent).length,
    set.filter(one => !one.control).length, set.length,
  ];
}

/** @param {number[]} one @param {number[]} other */
function compare(one, other) {
  const at = one.findIndex((count, i) => count !== other[i]);
  return at < 0 ? 0 : one[at] - other[at];
}
