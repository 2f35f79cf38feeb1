// Where the modules lie, and snapshots in the making: an instant is a number of seconds after noon.

export const MODULES = new URL("../../src/Incubation.Server/wwwroot/js/", import.meta.url);

/** One of the browser's modules. @param {string} name */
export function load(name) {
  return import(new URL(name, MODULES).href);
}

export const NOON = Date.UTC(2026, 2, 2, 12, 0, 0);

/** @param {number} seconds */
export const t = seconds => new Date(NOON + seconds * 1000).toISOString();

/** Seconds after noon. @param {string} iso */
export const secondsOf = iso => (Date.parse(iso) - NOON) / 1000;

export const alarm = (id, priority, from, until = null) => ({
  id, priority, word: "", title: "", text: "", from: t(from), until: until === null ? null : t(until), deadline: null,
  escalatesAt: t(from + 30), acknowledged: false, passed: false, request: id, actions: [], slot: null, reader: null,
});

export const offer = (key, kind, prompt, begin, request = key) => ({
  key, kind, hands: 1, handsText: "", title: key, detail: "", button: key, countdownToBegin: "", countdownToLatest: "",
  urgent: false, request, specimen: request, slot: null, reader: 1, lot: null, promptAt: t(prompt), mayBegin: t(begin),
  plannedEnd: t(begin + 30), countTo: t(begin + 30), latestStart: null, reportFrom: t(begin), askWhenAfter: null,
  windowOpens: null, windowCloses: null, reason: null, instruction: null,
});

export const step = (kind, start, request, lot = null) => ({
  title: `${kind} ${request}`,
  start: t(start),
  spareSeconds: 60,
  urgent: false,
  request,
  kind,
  slot: null,
  reader: 1,
  lot,
});

export const slot = (number, request, opens, closes) => ({
  slot: number, request, specimen: request, assay: "", urgent: false, opens: t(opens), guardFrom: t(closes - 15),
  closes: t(closes), moveAt: t(opens),
});

export const snapshot = parts => ({
  bench: "bench-1",
  revision: 1,
  serverTime: t(0),
  rate: 1,
  zone: "UTC",
  offers: [],
  upcoming: [],
  slots: [],
  readers: [],
  alarms: [],
  losses: [],
  ...parts,
});

/** Words that say their own names. */
export const w = key => key;

/** A browser's storage, in memory. */
export class FakeStorage {
  #kept = new Map();

  getItem(key) {
    return this.#kept.get(key) ?? null;
  }

  setItem(key, value) {
    this.#kept.set(key, String(value));
    this[key] = String(value);
  }

  removeItem(key) {
    this.#kept.delete(key);
    delete this[key];
  }
}

/** What a browser has and node has not. @param {Record<string, unknown>} things */
export function pretend(things) {
  for (const [name, value] of Object.entries(things))
    Object.defineProperty(globalThis, name, { value, configurable: true, writable: true });
}
