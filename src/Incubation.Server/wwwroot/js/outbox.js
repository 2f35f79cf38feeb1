// Commands that the server has not answered: kept in the browser's storage with their own time and id, sent in order,
// once each (the id makes a second copy harmless).

/** @import { CommandAnswer, ScreenCommand } from "./types.js" */

const MOST = 500;

export class Outbox {
  /**
   * @param {string} bench
   * @param {(command: ScreenCommand) => Promise<CommandAnswer|null>} deliver Null: no answer, try again later.
   * @param {(command: ScreenCommand, answer: CommandAnswer) => void} answered
   */
  constructor(bench, deliver, answered) {
    this.key = `incubation.outbox.${bench}`;
    this.deliver = deliver;
    this.answered = answered;
    this.busy = false;
    /** Whether it was asked to send while it was sending. */
    this.again = false;
  }

  /** @returns {ScreenCommand[]} */
  waiting() {
    try {
      const kept = JSON.parse(localStorage.getItem(this.key) ?? "[]");
      return Array.isArray(kept) ? kept : [];
    } catch {
      return [];
    }
  }

  /** @param {ScreenCommand} command */
  add(command) {
    this.#keep([...this.waiting(), command].slice(-MOST));
    void this.flush();
  }

  /** Sends what waits, the oldest first, until something gets no answer. */
  async flush() {
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
      } while (this.again);
    } finally {
      this.busy = false;
    }
  }

  async #sendAll() {
    for (let [next] = this.waiting(); next; [next] = this.waiting()) {
      const answer = await this.deliver(next);
      if (!answer) return;
      const id = next.id;
      this.#keep(this.waiting().filter(c => c.id !== id));
      this.answered(next, answer);
    }
  }

  /** @param {ScreenCommand[]} commands */
  #keep(commands) {
    localStorage.setItem(this.key, JSON.stringify(commands));
  }
}
