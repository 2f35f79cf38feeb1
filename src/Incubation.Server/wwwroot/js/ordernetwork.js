// A plan as a temporal network in its own order: the start of every step, the least times between them, the latest
// starts, and the closings of the calendar. Instants and lengths are milliseconds. The same as the server's own. Pure.

/** @typedef {{from: number, to: number, until: number|null, untilPlus: number}} Closing */

/** A delay of some weeks that nothing but an unlimited step survives. */
const BEYOND_MS = 4_000_000_000;

export class OrderNetwork {
  constructor() {
    /** @type {number[]} */
    this.planned = [];
    /** @type {number[]} */
    this.lengths = [];
    /** @type {number[]} */
    this.earliest = [];
    /** @type {number[]} */
    this.latest = [];
    /** @type {{to: number, lag: number}[][]} */
    this.pushes = [];
    /** @type {Closing[][]} */
    this.closings = [];
  }

  /**
   * Adds a step that has not begun; its number.
   * @param {number} start Planned.
   * @param {number} length
   */
  add(start, length) {
    this.planned.push(start);
    this.lengths.push(length);
    this.earliest.push(-Infinity);
    this.latest.push(Infinity);
    this.pushes.push([]);
    this.closings.push([]);
    return this.planned.length - 1;
  }

  /**
   * A step starts at least so long after another starts; a most time is a negative one the other way round.
   * @param {number} from
   * @param {number} to
   * @param {number} lag
   */
  atLeast(from, to, lag) {
    this.pushes[from].push({ to, lag });
  }

  /**
   * @param {number} step
   * @param {number} instant
   */
  noEarlier(step, instant) {
    this.earliest[step] = Math.max(this.earliest[step], instant);
  }

  /**
   * @param {number} step
   * @param {number} instant
   */
  noLater(step, instant) {
    this.latest[step] = Math.min(this.latest[step], instant);
  }

  /**
   * What a step begins may not overlap a time: from its start to its own end, or to the start of a later step plus so
   * long.
   * @param {number} step
   * @param {number} from
   * @param {number} to
   * @param {number|null} [until]
   * @param {number} [untilPlus]
   */
  mayNotOverlap(step, from, to, until = null, untilPlus = 0) {
    this.closings[step].push({ from, to, until, untilPlus });
  }

  /** The earliest start of every step in the plan's order, or null where the order cannot be kept. */
  starts() {
    const start = [...this.earliest];
    return this.#settle(start, () => start.every((at, i) => at <= this.latest[i])) ? start : null;
  }

  /**
   * The longest that a step may begin later than planned, what follows pushed in the plan's order; Infinity where
   * nothing ever breaks.
   * @param {number} step
   */
  spareOf(step) {
    let [holds, breaks] = [0, 1000];
    while (this.#holds(step, breaks)) {
      if (breaks > BEYOND_MS) return Infinity;
      [holds, breaks] = [breaks, breaks * 4];
    }
    while (breaks - holds > 1) {
      const middle = holds + Math.floor((breaks - holds) / 2);
      if (this.#holds(step, middle)) holds = middle;
      else breaks = middle;
    }
    return holds;
  }

  /**
   * Whether a step can begin so much later than planned, what stands before it unmoved.
   * @param {number} step
   * @param {number} delay
   */
  #holds(step, delay) {
    const start = [...this.planned];
    start[step] += delay;
    return this.#settle(start, () => start.every((at, i) =>
      at <= this.latest[i] && (this.planned[i] >= this.planned[step] || at === this.planned[i])));
  }

  /**
   * Pushes starts later until nothing more is asked; false where what must stand does not.
   * @param {number[]} start
   * @param {() => boolean} stands
   */
  #settle(start, stands) {
    // Each pass settles at least one more step, or one more closing; more passes than that is a contradiction.
    const passes = 2 * start.length + this.closings.reduce((sum, one) => sum + one.length, 0) + 4;
    for (let pass = 0; pass < passes; pass++) {
      let moved = false;
      for (let i = 0; i < start.length; i++) {
        moved = this.#leavesClosings(i, start) || moved;
        for (const { to, lag } of this.pushes[i])
          if (start[to] < start[i] + lag) {
            start[to] = start[i] + lag;
            moved = true;
          }
      }
      if (!stands()) return false;
      if (!moved) return true;
    }
    return false;
  }

  /**
   * @param {number} step
   * @param {number[]} start
   */
  #leavesClosings(step, start) {
    let moved = false;
    for (const { from, to, until, untilPlus } of this.closings[step]) {
      const end = until === null ? start[step] + this.lengths[step] : start[until] + untilPlus;
      if (!(start[step] < to && (end > from || start[step] >= from))) continue;
      start[step] = to;
      moved = true;
    }
    return moved;
  }
}
