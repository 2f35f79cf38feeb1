// What a screen without its server may still offer: steps of cartridges in work and the load of what is mixed, in the
// adopted plan's own order, re-timed by what was reported here; and no new mixtures. Pure.

/** @import { Waiting } from "./outbox.js" */
/** @import { BenchSnapshot, OfferSnapshot, UpcomingSnapshot } from "./types.js" */
/** @import { Row } from "./dayfacts.js" */
/** @import { AloneBench } from "./alonebench.js" */
/** @import { Course } from "./alonecourse.js" */
import { benchAlone, courseAt } from "./alonecourse.js";
import { at, fill, ms } from "./format.js";
import { sparesOf } from "./retiming.js";

/** A step that may begin so much later has nothing at stake; hands that are away begin theirs so much later. */
const UNLIMITED_MS = 24 * 3_600_000;

/**
 * Where a screen stands without its server.
 * @typedef {object} Alone
 * @property {Waiting[]} waiting Reports that the snapshot knows nothing of, in the order in which they were said.
 * @property {number} since Since when it is alone.
 * @property {number} now The server's time.
 * @property {string|null} [device] This screen; null where it does not know its own name.
 * @property {number[]} [taken] Hands that somebody has taken over here.
 */

/**
 * What is known of a bench without its server, and the rows that are followed.
 * @typedef {{bench: AloneBench, course: Course}} Known
 */

/**
 * @param {BenchSnapshot} snapshot
 * @param {Alone} alone
 * @returns {Known|null} Null where the snapshot holds no plan to go on with.
 */
export function goOn(snapshot, { waiting, since, now, device = null, taken = [] }) {
  if (!snapshot.alone) return null;
  const served = servedBy(snapshot, device, taken);
  const bench = benchAlone(snapshot.alone, waiting, since, served, now);
  return { bench, course: courseAt(bench, now) };
}

/**
 * The hands that a screen serves without its server: those that it served last. Two screens never serve the same.
 * @param {BenchSnapshot} snapshot
 * @param {string|null} device The screen; null where it does not know its own name.
 * @param {number[]} taken Hands that somebody has taken over on this screen.
 */
export function servedBy(snapshot, device, taken) {
  return (snapshot.alone?.hands ?? []).filter(one => device === null || one.device === null || one.device === device
    || taken.includes(one.hands)).map(one => one.hands);
}

/**
 * The offers as they stand when these commands wait for the server, the earliest first; of those that may begin, what
 * must begin first.
 * @param {BenchSnapshot} snapshot
 * @param {Known|null} known
 * @param {(key: string) => string} w
 * @returns {OfferSnapshot[]}
 */
export function offersAlone(snapshot, known, w) {
  if (!known) return [];
  const { bench, course } = known;
  const offered = [...bench.hands.keys()].flatMap(hands => bench.nextOf(course.rows, hands) ?? [])
    .filter(row => !bench.isIntoATakenPlace(course.rows, row)
      && bench.begunAt(row) < course.day.now + UNLIMITED_MS);
  const spares = sparesOf(course.day, offered);
  // Whoever works for several pairs of hands does first what can wait least.
  const from = (/** @type {OfferSnapshot} */ offer) => Math.max(at(offer.mayBegin), course.day.now);
  const until = (/** @type {OfferSnapshot} */ offer) => ms(offer.latestStart) ?? Number.MAX_VALUE;
  return offered.map(row => offerOf(snapshot, bench, row, spares.get(row) ?? Infinity, w))
    .sort((a, b) => from(a) - from(b) || until(a) - until(b) || a.hands - b.hands);
}

/**
 * What still comes after the offers without a server.
 * @param {BenchSnapshot} snapshot
 * @param {Known|null} known
 * @param {(key: string) => string} w
 * @param {number} [most]
 * @returns {UpcomingSnapshot[]}
 */
export function upcomingAlone(snapshot, known, w, most = Infinity) {
  if (!known) return [];
  const { bench, course } = known;
  const coming = course.rows.filter(row => bench.nextOf(course.rows, row.hands) !== row).slice(0, most);
  const spares = sparesOf(course.day, coming);
  return coming.map(row => {
    const spare = spares.get(row) ?? Infinity;
    return {
      title: titleOf(snapshot, bench, row, w), start: iso(row.start),
      spareSeconds: spare < UNLIMITED_MS ? spare / 1000 : null, urgent: isUrgent(bench, row), request: row.request,
      kind: row.kind, slot: row.slot, reader: row.reader, lot: row.lot,
    };
  });
}

/**
 * Why a cartridge is given up, where the server has said so; null where it has not.
 * @param {BenchSnapshot} snapshot
 * @param {string|null} request
 */
export function reasonOf(snapshot, request) {
  return snapshot.losses.find(loss => loss.request === request)?.reason ?? null;
}

/** @param {number} instant */
const iso = instant => new Date(instant).toISOString();

/**
 * @param {AloneBench} bench
 * @param {Row} row
 */
const isUrgent = (bench, row) => bench.day.requests.get(row.request ?? "")?.urgent ?? false;

/**
 * The words of a row: the server's, but for a cartridge that is in another slot than planned.
 * @param {BenchSnapshot} snapshot
 * @param {AloneBench} bench
 * @param {Row} row
 * @param {(key: string) => string} w
 */
function titleOf(snapshot, bench, row, w) {
  if (row.kind === "card-change" && row.title === "")
    return snapshot.alone?.readers === 1 ? fill(w("AloneCard"), row.lot ?? "")
      : fill(w("AloneCardOf"), row.reader ?? 1, row.lot ?? "");
  const slot = row.kind === "move" ? (bench.day.cartridges.get(row.request ?? "")?.slot ?? null) : null;
  const planned = snapshot.alone?.steps.find(step => step.kind === "load" && step.request === row.request)?.slot;
  return slot !== null && planned && planned !== slot
    ? fill(w("AloneMove"), slot, row.reader ?? 1) : row.title;
}

/**
 * An offer of a row. Where the server has offered the same, its words are kept.
 * @param {BenchSnapshot} snapshot
 * @param {AloneBench} bench
 * @param {Row} row
 * @param {number} spare
 * @param {(key: string) => string} w
 * @returns {OfferSnapshot}
 */
function offerOf(snapshot, bench, row, spare, w) {
  const begins = bench.begunAt(row);
  const wanted = bench.day.requests.get(row.request ?? "");
  const allowed = bench.allowed(row);
  const window = row.kind === "move" ? bench.windowOf(row.request) : null;
  const cartridge = bench.day.cartridges.get(row.request ?? "");
  const before = snapshot.offers.find(offer => offer.kind === row.kind && offer.request === row.request
    && offer.hands === row.hands && offer.reader === row.reader && offer.lot === row.lot
    && (row.kind !== "load" || offer.slot === row.slot));
  const asks = row.kind === "mix" || row.kind === "load";
  return {
    key: keyOf(row),
    kind: row.kind,
    hands: row.hands,
    handsText: before?.handsText ?? (bench.hands.size > 1 ? fill(w("HandsNumber"), row.hands) : ""),
    title: before?.title ?? titleOf(snapshot, bench, row, w),
    detail: before?.detail ?? fill(w("AloneDetail"), wanted?.specimen ?? row.lot ?? ""),
    button: before?.button ?? buttonOf(row, w),
    countdownToBegin: before?.countdownToBegin ?? w("UntilBegin"),
    countdownToLatest: before?.countdownToLatest ?? (window ? w("LeftToRead") : w("AllowedLeft")),
    urgent: isUrgent(bench, row),
    request: row.request,
    specimen: wanted?.specimen ?? null,
    slot: row.kind === "load" ? row.slot : (cartridge?.slot ?? null),
    reader: row.reader,
    lot: row.lot,
    promptAt: iso(begins - bench.promptAhead),
    mayBegin: iso(begins),
    plannedEnd: iso(begins + allowed),
    countTo: iso(window?.closes ?? begins + allowed),
    latestStart: spare < UNLIMITED_MS ? iso(row.start + spare) : null,
    reportFrom: iso(window ? Math.max(window.opens, begins) : begins),
    askWhenAfter: asks ? iso(begins + allowed + bench.day.readGuard / 2) : null,
    windowOpens: window ? iso(window.opens) : null,
    windowCloses: window ? iso(window.closes) : null,
    reason: row.kind === "discard" ? reasonOf(snapshot, row.request) : null,
    instruction: before?.instruction ?? instructionOf(row, wanted?.assay.texts ?? null),
    ifNotBegun: null,
  };
}

/**
 * As the server names the same offer: a tap on it is not forgotten when the server is back.
 * @param {Row} row
 */
function keyOf({ kind, request, slot, reader, lot, hands }) {
  if (kind === "load" && slot !== null) return `load/${request}/slot-${slot}/${hands}`;
  return kind === "card-change" ? `card-change/${lot}/${reader}/${hands}`
    : `${kind}/${request}/${reader ?? ""}/${hands}`;
}

/**
 * @param {Row} row
 * @param {(key: string) => string} w
 */
function buttonOf({ kind }, w) {
  return w({
    mix: "ButtonMix", load: "ButtonLoad", move: "ButtonMove", clear: "ButtonClear", discard: "ButtonDiscard",
    "card-change": "LotRecord",
  }[kind]);
}

/**
 * @param {Row} row
 * @param {{mix: string|null, load: string|null, move: string|null, clear: string|null}|null} texts
 */
function instructionOf({ kind }, texts) {
  return kind === "card-change" || kind === "discard" ? null : (texts?.[kind] ?? null);
}
