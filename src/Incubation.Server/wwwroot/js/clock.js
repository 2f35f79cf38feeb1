// The server's time as this screen counts it: from the best of several round trips, on the browser's monotonic clock,
// so that neither a wrong wall clock nor a lost line moves a countdown.

const SAMPLES_KEPT = 8;
const SAMPLE_LIVES_MS = 10 * 60 * 1000;
const PROBE_PATIENCE_MS = 4000;
const SLEPT_MS = 2000;
/** A screen whose time may be further off than this says so. */
export const GOOD_ENOUGH_MS = 250;
/** Clocks in tablets drift by so much at most, as a part of the time (from memory: quartz, 50 parts in a million). */
const DRIFT = 50e-6;

/**
 * @typedef {object} Sample
 * @property {number} server The server's time at the middle of the round trip.
 * @property {number} local The monotonic time then.
 * @property {number} trip How long the round trip took; the true time is at most half of it off.
 */

export class ServerClock {
  /** @param {() => number} [monotonic] Milliseconds that only grow. */
  constructor(monotonic = () => performance.now()) {
    this.monotonic = monotonic;
    /** @type {Sample[]} */
    this.samples = [];
    /** @type {Sample|null} */
    this.best = null;
    this.rate = 1;
    this.lastWall = Date.now();
    this.lastLocal = monotonic();
  }

  /** Whether it knows the server's time at all. */
  get isSet() {
    return this.best !== null;
  }

  /** The server's time, in milliseconds since 1970. */
  now() {
    if (!this.best) return Date.now();
    return this.best.server + (this.monotonic() - this.best.local) * this.rate;
  }

  /** By how many real milliseconds this screen's time may be off. */
  get uncertainty() {
    return this.best ? this.best.trip / 2 + Math.max(0, this.monotonic() - this.best.local) * DRIFT : Infinity;
  }

  /**
   * How many real milliseconds lie between now and an instant of the server's time; negative when it has passed.
   * @param {number} instant
   */
  realUntil(instant) {
    return (instant - this.now()) / this.rate;
  }

  /**
   * Takes a round trip into account.
   * @param {number} server The server's time as it answered.
   * @param {number} rate
   * @param {number} sent Monotonic time when asked.
   * @param {number} received Monotonic time when answered.
   */
  sample(server, rate, sent, received) {
    if (rate !== this.rate) this.samples = [];
    this.rate = rate;
    const local = (sent + received) / 2;
    this.samples = this.samples.filter(s => received - s.local < SAMPLE_LIVES_MS).slice(1 - SAMPLES_KEPT);
    this.samples.push({ server, local, trip: received - sent });
    this.best = this.samples.reduce((a, b) => (b.trip <= a.trip ? b : a));
  }

  /**
   * Something pushed bears a time that has already passed at the server: a floor while nothing better is known.
   * @param {number} server
   * @param {number} rate
   */
  floor(server, rate) {
    if (!this.best || rate !== this.rate) {
      const now = this.monotonic();
      this.sample(server, rate, now - 2 * PROBE_PATIENCE_MS, now + 2 * PROBE_PATIENCE_MS);
    }
  }

  /**
   * Goes on from what was known before the page was loaded, by this device's own clock: how far that is off nobody
   * knows.
   * @param {number} server The server's time when it was last known.
   * @param {number} wall This device's own clock then.
   * @param {number} rate
   */
  resume(server, wall, rate) {
    if (this.best) return;
    this.rate = rate;
    this.best = { server: server + Math.max(0, Date.now() - wall) * rate, local: this.monotonic(), trip: Infinity };
  }

  /**
   * The monotonic clock of some machines stands still while they sleep. Tells whether that seems to have happened since
   * the last call, and until a new round trip is in goes on by the wall clock's advance.
   */
  noticeSleep() {
    const wall = Date.now();
    const local = this.monotonic();
    const slept = wall - this.lastWall - (local - this.lastLocal);
    this.lastWall = wall;
    this.lastLocal = local;
    if (slept < SLEPT_MS) return false;
    if (this.best) this.best = { server: this.best.server + slept * this.rate, local: this.best.local, trip: Infinity };
    this.samples = [];
    return true;
  }
}

/**
 * Asks the server for its time once. Tells whether it answered.
 * @param {ServerClock} clock
 */
export async function probe(clock) {
  const sent = clock.monotonic();
  try {
    // With this device's own clock, which the server compares with its own once after each start.
    const answer = await fetch("api/v1/time", {
      method: "POST", headers: { "Content-Type": "application/json" }, body: JSON.stringify({ shows: Date.now() }),
      cache: "no-store", signal: AbortSignal.timeout(PROBE_PATIENCE_MS),
    });
    const received = clock.monotonic();
    if (!answer.ok) return false;
    const body = await answer.json();
    clock.sample(Date.parse(body.serverTime), body.rate, sent, received);
    return true;
  } catch {
    return false;
  }
}
