// Where the modules lie, and snapshots in the making: an instant is a number of seconds after noon.

export const MODULES = new URL("../../src/Incubation.Server/wwwroot/js/", import.meta.url);

/** One of the browser's modules. @param {string} name */
export function load(name) {
  return import(new URL(name, MODULES).href);
}

/** A file of samples that the server's tests write; those of a long run where the environment names their folder. */
export const sample = name => process.env.INCUBATION_SAMPLES ? `${process.env.INCUBATION_SAMPLES}/${name}`
  : new URL(`contract/${name}`, import.meta.url);

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
  windowOpens: null, windowCloses: null, reason: null, instruction: null, ifNotBegun: null,
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
  questions: [],
  ...parts,
});

const ASSAY = {
  mix: 50_000, mixToLoad: 120_000, load: 25_000, incubation: 100_000, readWindow: 80_000, move: 15_000, read: 40_000,
  clear: 10_000, mixShortest: 35_000, loadShortest: 15_000, texts: null,
};

/** A row of hands in the plan that a screen goes on with alone: a place is a slot, or "r" and a reader. */
export const row = (kind, request, start, place = null, hands = 1, lot = null) => ({
  kind, request, hands, start: t(start), end: t(start + 10), lot, title: `${kind} ${request ?? lot}`,
  slot: typeof place === "number" ? place : null,
  reader: kind === "mix" || kind === "discard" || typeof place === "number" ? null : Number((place ?? "r1").slice(1)),
});

/** A cartridge that reacts in a slot; its window opens 100 s after its load's end and closes 80 s later. */
export const reacting = (request, slot, loaded) =>
  ({ request, phase: "reacting", from: t(loaded), to: t(loaded), slot, reader: null, mustGo: false });

/**
 * A snapshot of a screen that may go on alone: with one pair of hands, card "L" in reader 1, and the requests that its
 * rows and cartridges name.
 */
export const aloneWith = ({ steps, cartridges = [], wanted = {}, hands = [1], devices = {}, cards = { 1: "L" },
  assay = {}, ...rest }) => {
  const ids = new Set([...cartridges, ...steps].map(one => one.request).filter(Boolean));
  return snapshot({
    alone: {
      startedAt: t(-1000), promptAhead: 20_000, cardChange: 20_000, readGuard: 10_000, slots: 6,
      readers: Object.keys(cards).length, assays: [{ ...ASSAY, ...assay }], cartridges, steps, closings: [], lost: [],
      hands: hands.map(number => ({ hands: number, lastReport: null, device: devices[number] ?? null, silent: null })),
      patience: { mix: 60_000, load: 45_000, move: 30_000, clear: 60_000, discard: 60_000, cardChange: 30_000 },
      notKnown: [], slotNames: [1, 2, 3, 4, 5, 6].map(n => `slot ${n}`), readerNames: ["the reader", "reader 2"],
      questions: ["mix", "load", "move", "clear", "discard"].map(kind => ({
        kind, title: `${kind} {0} {1}?`, text: "{0}", placeText: "{0}, {1}",
        answers: ["at-that-time", "not-begun", "spoilt"].map(answer =>
          ({ answer, text: answer, slots: [], takesTime: answer === "at-that-time", takesLot: false })),
      })),
      cards: Object.entries(cards).map(([reader, lot]) => ({ reader: Number(reader), lot, inDoubt: false })),
      requests: [...ids].map(request => ({
        request, specimen: `SP-${request}`, assay: 0, lot: "L", ready: t(-1000), loadBy: null, after: [],
        control: false, urgent: false, repeatLeft: true, ...wanted[request],
      })),
      alarms: ["window-in-danger", "window-closed", "mixture-in-danger", "mixture-too-old"].map(code =>
        ({ code, priority: "high", word: "", title: `${code} {0}`, text: "", actions: ["acknowledge"] })),
    },
    ...rest,
  });
};

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
