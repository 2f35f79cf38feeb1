// Times as people read them. No word stands here: words come from the page.

/**
 * A length: m:ss under an hour, then h:mm:ss; a part of a second counts as begun.
 * @param {number} ms
 */
export function length(ms) {
  const seconds = Math.max(0, Math.ceil(ms / 1000 - 1e-6));
  const two = (/** @type {number} */ n) => String(n).padStart(2, "0");
  return seconds < 3600
    ? `${Math.floor(seconds / 60)}:${two(seconds % 60)}`
    : `${Math.floor(seconds / 3600)}:${two(Math.floor(seconds / 60) % 60)}:${two(seconds % 60)}`;
}

/** @type {Map<string, Intl.DateTimeFormat>} */
const clocks = new Map();

/**
 * A clock time in the clinic's zone.
 * @param {number} ms
 * @param {string} zone
 * @param {boolean} withSeconds
 */
export function clockTime(ms, zone, withSeconds = false) {
  const key = `${zone}/${withSeconds}`;
  let clock = clocks.get(key);
  if (!clock) {
    const parts = /** @type {const} */ ({ hour: "2-digit", minute: "2-digit", hourCycle: "h23" });
    clock = new Intl.DateTimeFormat(document.documentElement.lang || "en", {
      ...parts,
      ...(withSeconds ? { second: "2-digit" } : {}),
      timeZone: zone,
    });
    clocks.set(key, clock);
  }
  return clock.format(ms);
}

/**
 * Fills {0}, {1}… of a sentence.
 * @param {string} sentence
 * @param {...(string|number)} parts
 */
export function fill(sentence, ...parts) {
  return sentence.replace(/\{(\d)\}/g, (whole, at) => (Number(at) in parts ? String(parts[Number(at)]) : whole));
}

/**
 * An instant of a snapshot as milliseconds, or null.
 * @param {string|null|undefined} iso
 * @returns {number|null}
 */
export function ms(iso) {
  return iso ? Date.parse(iso) : null;
}

/**
 * When a batch ends, or has ended; null where that is not known, or its plan is older than that.
 * @param {{phase: string, finish: string|null}} batch
 * @param {number} now
 */
export function finishOf(batch, now) {
  const finish = ms(batch.finish);
  return batch.phase === "running" && finish !== null && finish < now ? null : finish;
}

/**
 * When all benches are done: as they say themselves, and where others are not seen here, as the day has it.
 * @param {{phase: string, finish: string|null}[]} seen
 * @param {string|null} others What the day says of all benches, or null where all are seen.
 * @param {number} now
 */
export function lastFinish(seen, others, now) {
  const all = [...seen.filter(batch => batch.phase === "running"), { phase: "running", finish: others }];
  const known = all.map(batch => finishOf(batch, now)).filter(finish => finish !== null);
  return known.length === 0 ? null : Math.max(...known);
}

/**
 * An instant that must be there.
 * @param {string} iso
 */
export function at(iso) {
  return Date.parse(iso);
}
