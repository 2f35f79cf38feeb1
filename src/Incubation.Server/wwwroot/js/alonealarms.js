// The alarms of a screen without its server: those that the server foresaw, without those that a report made here has
// ended, and those of mixtures and read windows that began here. Pure.

/** @import { AlarmSnapshot, AloneAlarm, BenchSnapshot, ScreenCommand } from "./types.js" */
/** @import { Known } from "./alone.js" */
import { at, fill } from "./format.js";

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
 * The alarms as a screen without its server has them.
 * @param {BenchSnapshot} snapshot
 * @param {Known} known
 * @param {ScreenCommand[]} waiting
 * @param {(key: string) => string} w
 */
export function alarmsAlone(snapshot, { bench }, waiting, w) {
  const alarms = alarmsLeft(snapshot.alarms, waiting).map(alarm => {
    // Foreseen before its hands came to it: whoever is at it in time is not asked to be.
    const until = alarm.id.includes("-in-danger/") && alarm.request !== null ? bench.atItUntil(alarm.request) : null;
    return until === null || until <= at(alarm.from) ? alarm : { ...alarm, from: new Date(until).toISOString() };
  });
  const told = new Set(waiting.filter(c => c.kind === "mixed" || c.kind === "loaded").map(c => c.request ?? ""));
  for (const request of told) {
    const cartridge = bench.day.cartridges.get(request);
    const tooLate = bench.tooLate(request);
    const wanted = bench.day.requests.get(request);
    if (!cartridge || !wanted || tooLate === null) continue;
    const isMixed = cartridge.phase === "mixed";
    const length = bench.allowed({ kind: isMixed ? "load" : "move", request });
    const row = bench.rows.find(one => one.request === request && one.kind === (isMixed ? "load" : "move"));
    const of = { request, place: isMixed ? { slot: row?.slot ?? null, reader: row?.reader ?? null }
      : { slot: null, reader: row?.reader ?? 1 },
      where: cartridge.slot === null ? wanted.specimen : fill(w("SlotNumber"), cartridge.slot),
      specimen: wanted.specimen };
    const begin = Math.max(cartridge.to, tooLate - bench.day.readGuard - length);
    alarms.push(
      ...alarmOf(snapshot, isMixed ? "mixture-in-danger" : "window-in-danger", of, begin, tooLate, waiting),
      ...alarmOf(snapshot, isMixed ? "mixture-too-old" : "window-closed", of, tooLate, null, waiting));
  }
  return alarms;
}

/**
 * @param {BenchSnapshot} snapshot
 * @param {AloneAlarm["code"]} code
 * @param {{request: string, where: string, specimen: string, place: {slot: number|null, reader: number|null}}} of
 * @param {number} from
 * @param {number|null} until
 * @param {ScreenCommand[]} waiting
 * @returns {AlarmSnapshot[]}
 */
function alarmOf(snapshot, code, of, from, until, waiting) {
  const words = snapshot.alone?.alarms.find(one => one.code === code);
  const id = `${code}/${of.request}`;
  if (!words || snapshot.alarms.some(one => one.id === id && waiting.length === 0)) return [];
  const iso = (/** @type {number|null} */ instant) => instant === null ? null : new Date(instant).toISOString();
  const start = /** @type {string} */ (iso(from));
  return [{
    id, priority: words.priority, word: words.word, title: fill(words.title, code.startsWith("mixture") ? of.specimen
      : of.where), text: fill(words.text, of.specimen), from: start, until: iso(until), deadline: iso(until),
    escalatesAt: start, acknowledged: waiting.some(c => c.kind === "acknowledge" && c.alarm === id), passed: false,
    request: of.request, actions: words.actions, ...of.place,
    reason: code === "mixture-too-old" || code === "window-closed" ? code : null,
    beginBy: null, line: false,
  }];
}
