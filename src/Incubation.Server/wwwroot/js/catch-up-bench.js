// What is believed of the cartridges when somebody comes back to a bench, and whether that is to be asked. Pure.
// Instants and lengths are milliseconds.

/** @import { AloneAssay, BenchSnapshot, QuestionSnapshot, ScreenCommand } from "./types.js" */
import { ms } from "./format.js";

/** So long after the longest step that is allowed, nobody is believed to be at it any more. */
const SILENCE_MS = 60_000;

/**
 * A cartridge as the bench believes it.
 * @typedef {object} Believed
 * @property {string} request
 * @property {string} specimen
 * @property {string|null} lot
 * @property {"waiting"|"mixed"|"reacting"|"reading"} phase
 * @property {number|null} slot
 * @property {number|null} reader
 * @property {number} since When its last step ended.
 * @property {AloneAssay|null} assay
 * @property {QuestionSnapshot|null} unknown The question about its next step, of which nobody knows.
 */

/**
 * Why catching up is offered: names the reason, or null.
 * @param {BenchSnapshot} snapshot
 * @param {number} now
 */
export function reasonToCatchUp(snapshot, now) {
  const { alone } = snapshot;
  if (!alone || snapshot.batch.phase !== "running") return null;
  const unknown = snapshot.questions.filter(q => q.kind === "step-not-known");
  if (unknown.length > 1) return `not-known/${unknown.map(q => q.id).join()}`;
  const outage = snapshot.questions.find(q => q.kind === "power-cut");
  if (outage) return outage.id;
  const longest = Math.max(alone.cardChange, ...alone.assays.flatMap(a => [a.mix, a.load, a.move, a.clear]));
  const last = Math.max(ms(alone.startedAt) ?? 0, ...alone.hands.map(h => ms(h.lastReport) ?? 0));
  const due = snapshot.offers.map(o => Math.max(last, ms(o.mayBegin) ?? now));
  return due.some(begun => now - begun > longest + SILENCE_MS) ? `silent/${last}` : null;
}

/**
 * What is believed of each cartridge in work or due, with what waits for the server.
 * @param {BenchSnapshot} snapshot
 * @param {ScreenCommand[]} untold
 * @param {number} now
 * @returns {Believed[]}
 */
export function believed(snapshot, untold, now) {
  const { alone } = snapshot;
  if (!alone) return [];
  const wanted = new Map(alone.requests.map(r => [r.request, r]));
  const started = ms(alone.startedAt) ?? now;
  const asked = new Map(snapshot.questions.filter(q => q.kind === "step-not-known").map(q => [q.request, q]));
  /** @param {string} request @param {Believed["phase"]} phase @param {Partial<Believed>} where @returns {Believed} */
  const one = (request, phase, where) => ({
    request, phase, slot: null, reader: null, since: started, unknown: asked.get(request) ?? null,
    specimen: wanted.get(request)?.specimen ?? snapshot.labels.find(l => l.request === request)?.specimen ?? request,
    lot: wanted.get(request)?.lot ?? null, assay: alone.assays[wanted.get(request)?.assay ?? -1] ?? null, ...where,
  });
  const all = new Map(alone.cartridges.map(c => [c.request, one(c.request,
    c.phase === "read" ? "reading" : c.phase, { slot: c.slot, reader: c.reader, since: ms(c.to) ?? started })]));
  const mixes = [
    ...snapshot.offers.filter(o => o.kind === "mix" && (ms(o.mayBegin) ?? now) <= now).map(o => o.request),
    ...alone.steps.filter(s => s.kind === "mix" && (ms(s.start) ?? now) <= now).map(s => s.request),
    ...asked.keys(),
  ];
  for (const request of mixes) if (request && !all.has(request)) all.set(request, one(request, "waiting", {}));
  for (const said of untold) tell(all, said, one);
  return [...all.values()];
}

/**
 * @param {Map<string, Believed>} all
 * @param {ScreenCommand} said
 * @param {(request: string, phase: Believed["phase"], where: Partial<Believed>) => Believed} one
 */
function tell(all, { kind, request, slot, reader, at }, one) {
  if (!request) return;
  const since = ms(at) ?? 0;
  const known = { unknown: null, since };
  if (kind === "mixed") all.set(request, one(request, "mixed", known));
  else if (kind === "loaded")
    all.set(request, one(request, "reacting", { ...known, slot: slot ?? null, reader: reader ?? null }));
  else if (kind === "read-started") all.set(request, one(request, "reading", { ...known, reader: reader ?? null }));
  else if (kind === "cleared" || kind === "discarded") all.delete(request);
}

