// What the bench screen knows and offers while it has no server. It is worked out anew when something is reported, and
// as time goes on.

/** @import { Known } from "./alone.js" */
/** @import { BenchContext } from "./context.js" */
/** @import { QuestionSnapshot } from "./types.js" */
import { goOn, offersAlone, servedBy, upcomingAlone } from "./alone.js";
import { alarmsAlone, alarmsLeft } from "./alonealarms.js";
import { questionsAlone, reportOfAnswer } from "./alonequestions.js";

/** So long, in the server's time, nothing is worked out anew. */
const KEPT_MS = 1000;

export class AloneScreen {
  /** @type {Known|null} */
  #known = null;
  #knownFor = "";

  /** What stood on the card and was asked when the screen was drawn last. */
  #drawn = "";

  /** @param {BenchContext} screen */
  constructor(screen) {
    this.screen = screen;
    /** Hands of another screen that somebody works for here, until the server is back. @type {number[]} */
    this.taken = [];
  }

  offers() {
    return offersAlone(this.screen.shown, this.#know(), this.screen.w);
  }

  /** @param {number} most */
  upcoming(most) {
    return upcomingAlone(this.screen.shown, this.#know(), this.screen.w, most);
  }

  alarms() {
    const { screen } = this;
    const [known, untold] = [this.#know(), screen.live.untold(screen.bench)];
    return known ? alarmsAlone(screen.shown, known, untold, screen.w) : alarmsLeft(screen.shown.alarms, untold);
  }

  keepDrawn() {
    this.#drawn = this.#names();
  }

  /** Whether time alone has brought another offer or question than is drawn. */
  get isOther() {
    return this.#names() !== this.#drawn;
  }

  #names() {
    return [this.screen.offer()?.key, ...this.questions().map(one => one.id)].join();
  }

  questions() {
    const known = this.#know();
    return known ? questionsAlone(this.screen.shown, known) : this.screen.shown.questions;
  }

  /**
   * What an answer reports by itself, whether or not the server asks the same; null where only the server can take it.
   * @param {QuestionSnapshot} question
   * @param {string} answer
   * @param {number|null} then
   */
  answer(question, answer, then) {
    const [known, { shown, clock }] = [this.#know(), this.screen];
    return known && reportOfAnswer(shown, known, question, answer, then, clock.now());
  }

  /** Hands that another screen served last, and nobody has taken over here. */
  get othersHands() {
    const { shown } = this.screen;
    const served = servedBy(shown, this.#device, this.taken);
    return (shown.alone?.hands ?? []).map(one => one.hands).filter(hands => !served.includes(hands));
  }

  /** @param {number} hands */
  take(hands) {
    this.taken = [...this.taken, hands];
  }

  get #device() {
    return this.screen.live.who?.device ?? null;
  }

  #know() {
    const { shown, live, clock, bench, aloneSince } = this.screen;
    const [now, waiting, device, taken] = [clock.now(), live.untold(bench), this.#device, this.taken];
    const since = aloneSince ?? now;
    const key = JSON.stringify([
      shown.revision, shown.serverTime, aloneSince, device, taken, waiting.map(c => c.id), Math.floor(now / KEPT_MS),
    ]);
    if (key !== this.#knownFor) this.#known = goOn(shown, { waiting, since, now, device, taken });
    this.#knownFor = key;
    return this.#known;
  }
}
