// Commands that do not stand in the server's log yet: kept in the browser's storage with their own time and id, sent in
// order, once each (the id makes a second copy harmless). An answer has three kinds: recorded and refused for good end
// the wait; whatever else comes means "not now", and it is sent again, after waits that grow. A report is never
// dropped: one that is refused goes where it stays in sight.

/** @import { CommandAnswer, ScreenCommand } from "./types.js" */
import { forgetAll } from "./keep.js";
import { keepRefused } from "./refused.js";
import { isReport } from "./reports.js";

/** So many may wait; beyond, instructions are not taken, reports are. */
const MOST = 500;
const FIRST_WAIT_MS = 2000;
const LONGEST_WAIT_MS = 30_000;
const LONGEST_ASKED_S = 300;
/** After so many answers "not now" to one command those behind it are tried too: it may be the fault of that one. */
const PATIENCE = 5;
const MOST_PASSED = 20;

/**
 * A command as it is kept: with the server's time at which it was tapped, which no server is told.
 * @typedef {ScreenCommand & {tapped?: string}} Waiting
 */

export class Outbox {
  /**
   * @param {string} bench
   * @param {(command: ScreenCommand) => Promise<CommandAnswer|null>} deliver Null: no answer, try again later.
   * @param {(command: ScreenCommand, answer: CommandAnswer) => void} answered Recorded or refused for good.
   * @param {() => void} [held] The server says "not now", or does so no longer.
   */
  constructor(bench, deliver, answered, held = () => {}) {
    this.bench = bench;
    this.key = `incubation.outbox.${bench}`;
    this.deliver = deliver;
    this.answered = answered;
    this.onHeld = held;
    this.busy = false;
    /** Whether it was asked to send while it was sending. */
    this.again = false;
    /** What the server last said to what still waits: why not now. @type {CommandAnswer|null} */
    this.held = null;
    /** Commands for which this browser's storage has no room. @type {ScreenCommand[]|null} */
    this.unkept = null;
    /** How often the server has said "not now" to a command. @type {Map<string, number>} */
    this.tries = new Map();
    this.failures = 0;
    this.notBefore = -Infinity;
    this.timer = 0;
  }

  /** @returns {ScreenCommand[]} */
  waiting() {
    if (this.unkept) return this.unkept;
    try {
      const kept = JSON.parse(localStorage.getItem(this.key) ?? "[]");
      return Array.isArray(kept) ? kept : [];
    } catch {
      return [];
    }
  }

  /**
   * Keeps a command until it is answered for good; false where too much waits for an instruction to be taken.
   * @param {ScreenCommand} command
   */
  add(command) {
    const waiting = this.waiting();
    if (waiting.length >= MOST && !isReport(command)) return false;
    this.#keep([...waiting, command]);
    void this.flush();
    return true;
  }

  /**
   * Sends what waits, the oldest first, until something is not taken now.
   * @param {boolean} [anew] Whether something has changed, so that it is worth trying before the wait is over.
   */
  async flush(anew = false) {
    if (!anew && performance.now() < this.notBefore) return;
    // What is added while the last answer comes in must not wait for the next occasion.
    this.again = this.busy;
    if (this.busy) return;
    this.busy = true;
    try {
      do {
        this.again = false;
        // Two pages of one browser share the storage: only one sends at a time.
        if (navigator.locks) await navigator.locks.request(this.key, () => this.#sendAll());
        else await this.#sendAll();
      } while (this.again && performance.now() >= this.notBefore);
    } finally {
      this.busy = false;
    }
  }

  end() {
    clearTimeout(this.timer);
  }

  async #sendAll() {
    const passed = new Set();
    let last = null;
    for (;;) {
      const next = this.waiting().find(c => !passed.has(c.id));
      if (!next) break;
      const answer = await this.deliver(next);
      if (!answer || kindOf(answer) === "not-now") {
        if (!answer || passed.size >= MOST_PASSED || !this.#isPassed(next, answer)) return this.#wait(answer ?? last);
        passed.add(next.id);
        last = answer;
        continue;
      }
      const id = next.id;
      if (kindOf(answer) === "refused" && isReport(next)) keepRefused(this.bench, next, answer.sentence);
      this.#keep(this.waiting().filter(c => c.id !== id));
      this.tries.delete(id);
      this.failures = 0;
      this.answered(next, answer);
    }
    if (last) this.#wait(last);
    else this.#rest();
  }

  /**
   * What waits for a person to sign in, or fails again and again, does not keep back what comes behind it.
   * @param {ScreenCommand} command
   * @param {CommandAnswer} answer
   */
  #isPassed(command, answer) {
    if (answer.signIn) return true;
    const tries = (this.tries.get(command.id) ?? 0) + 1;
    this.tries.set(command.id, tries);
    return tries >= PATIENCE;
  }

  /** @param {CommandAnswer|null} answer */
  #wait(answer) {
    const grown = Math.min(FIRST_WAIT_MS * 2 ** this.failures++, LONGEST_WAIT_MS);
    const wait = Math.max(grown, 1000 * Math.min(answer?.retryAfter ?? 0, LONGEST_ASKED_S));
    this.notBefore = performance.now() + wait;
    clearTimeout(this.timer);
    this.timer = setTimeout(() => void this.flush(true), wait);
    this.#hold(answer);
  }

  #rest() {
    this.failures = 0;
    this.notBefore = -Infinity;
    clearTimeout(this.timer);
    this.#hold(null);
  }

  /** @param {CommandAnswer|null} answer */
  #hold(answer) {
    if (answer?.sentence === this.held?.sentence && (answer === null) === (this.held === null)) return;
    this.held = answer;
    this.onHeld();
  }

  /** @param {ScreenCommand[]} commands */
  #keep(commands) {
    const text = JSON.stringify(commands);
    this.unkept = null;
    try {
      localStorage.setItem(this.key, text);
    } catch {
      // Full: what the server has anyway makes room.
      forgetAll();
      try {
        localStorage.setItem(this.key, text);
      } catch {
        this.unkept = commands;
      }
    }
  }
}

/**
 * The kind of an answer; what is neither recorded nor refused by the server's own word passes.
 * @param {CommandAnswer} answer
 * @returns {CommandAnswer["kind"]}
 */
export function kindOf(answer) {
  if (answer.recorded === true) return "recorded";
  return answer.kind === "refused" ? "refused" : "not-now";
}
