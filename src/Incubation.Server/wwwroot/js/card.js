// The card of the one next thing: what it shows at an instant.

/** @import { OfferSnapshot } from "./types.js" */
import { at, fill, length, ms } from "./format.js";
import { find, setText, show } from "./dom.js";

export class Card {
  /**
   * @param {HTMLElement} root
   * @param {(key: string) => string} w
   */
  constructor(root, w) {
    this.w = w;
    this.card = find(root, ".card");
    this.when = find(root, ".card-when-text");
    this.spare = find(root, ".card-spare");
    this.title = find(root, ".card-title");
    this.detail = find(root, ".card-detail");
    this.instruction = find(root, ".card-instruction");
    this.scan = find(root, ".card-scan");
    this.count = find(root, ".card-count");
    this.number = find(root, ".card-number");
    this.means = find(root, ".card-means");
    this.bar = find(root, ".card-bar");
    this.fillBar = /** @type {SVGRectElement} */ (/** @type {unknown} */ (root.querySelector(".card-bar-fill")));
    this.first = find(root, ".card-first");
    this.firstText = find(root, ".card-first-text");
    this.big = find(root, ".big");
    this.bigText = find(root, ".big-text");
    this.link = find(root, ".card-link");
    this.problem = find(root, ".problem");
    this.earlier = find(root, ".earlier");
  }

  /**
   * Shows an offer.
   * @param {OfferSnapshot} offer
   * @param {number} now
   * @param {{recorded: string|null, guarded: boolean, held: boolean, scan: string}} tap
   */
  offer(offer, now, tap) {
    const phase = now < at(offer.promptAt) ? "later" : now < at(offer.mayBegin) ? "prompt" : "now";
    this.#phase(phase, offer.key);
    setText(this.when, this.w(phase === "later" ? "NextIn" : phase === "prompt" ? "GetReady" : "Now")
      + (offer.handsText ? ` · ${offer.handsText}` : ""));
    setText(this.title, offer.title);
    // The server's detail begins with the word; the mark stands beside it.
    setText(this.detail, offer.urgent ? `▲ ${offer.detail}` : offer.detail);
    setText(this.instruction, offer.instruction ?? "");
    show(this.instruction, Boolean(offer.instruction));
    setText(this.firstText, offer.ifNotBegun ?? "");
    show(this.first, Boolean(offer.ifNotBegun) && tap.recorded === null);
    show(this.count, true);
    show(this.bar, true);
    show(this.big, true);
    show(this.link, false);
    show(this.problem, true);
    show(this.earlier, true);
    this.numerals(offer, now, tap);
  }

  /**
   * Brings the numerals of an offer up to now.
   * @param {OfferSnapshot} offer
   * @param {number} now
   * @param {{recorded: string|null, guarded: boolean, held: boolean, scan: string}} tap
   */
  numerals(offer, now, tap) {
    const [begins, countTo, closes] = [at(offer.mayBegin), at(offer.countTo), ms(offer.windowCloses)];
    if (now < begins) {
      setText(this.number, length(begins - now));
      setText(this.means, offer.countdownToBegin);
    } else if (now <= countTo) {
      setText(this.number, length(countTo - now));
      setText(this.means, offer.countdownToLatest);
    } else {
      setText(this.number, `+${length(now - countTo)}`);
      setText(this.means, this.w(closes !== null && now > closes ? "WindowClosedFor" : "Over"));
    }
    this.card.classList.toggle("card-over", now > countTo);
    const whole = now < begins ? begins - at(offer.promptAt) : countTo - begins;
    const left = now < begins ? begins - now : countTo - now;
    const part = whole > 0 ? Math.min(1, Math.max(0, left / whole)) : 0;
    this.fillBar.setAttribute("width", (100 * part).toFixed(2));
    this.#spare(offer, now);

    setText(this.scan, tap.scan);
    show(this.scan, tap.scan !== "");
    const reportFrom = at(offer.reportFrom);
    const early = now < reportFrom;
    setText(
      this.bigText,
      tap.recorded ??
        (tap.held
          ? fill(this.w("UntilSeen"), offer.button)
          : early
            ? fill(this.w("UntilReport"), offer.button, length(reportFrom - now))
            : offer.button),
    );
    this.big.setAttribute("aria-disabled", String(early || tap.guarded || tap.recorded !== null));
    this.big.classList.toggle("big-early", (early || tap.held) && tap.recorded === null);
    this.big.classList.toggle("big-recorded", tap.recorded !== null);
  }

  /**
   * @param {OfferSnapshot} offer
   * @param {number} now
   */
  #spare(offer, now) {
    const latest = ms(offer.latestStart);
    if (latest === null) return setText(this.spare, "");
    const left = latest - Math.max(now, at(offer.mayBegin));
    // A step that has begun without time to spare is in hand: what matters then is the number.
    const none = now < at(offer.mayBegin) ? this.w("NoSpare") : "";
    setText(this.spare, left > 0 ? fill(this.w("Spare"), length(left)) : none);
  }

  /**
   * Shows that there is nothing to do, or one thing to start.
   * @param {{title: string, detail: string, link: string|null, linkText: string|null}} idle
   * @param {string} when
   * @param {{text: string, off: boolean}|null} button
   * @param {boolean} problem Whether a problem can be reported.
   */
  idle(idle, when, button, problem) {
    this.#phase("idle", idle.title);
    setText(this.when, when);
    setText(this.spare, "");
    setText(this.title, idle.title);
    setText(this.detail, idle.detail);
    show(this.instruction, false);
    show(this.scan, false);
    show(this.first, false);
    show(this.count, false);
    show(this.bar, false);
    show(this.big, button !== null);
    if (button) {
      setText(this.bigText, button.text);
      this.big.setAttribute("aria-disabled", String(button.off));
      this.big.classList.remove("big-early");
      this.big.classList.toggle("big-recorded", button.off);
    }
    show(this.link, button === null && idle.link !== null);
    if (idle.link) {
      this.link.setAttribute("href", idle.link.replace(/^\//, ""));
      setText(this.link, idle.linkText ?? idle.link);
    }
    show(this.problem, problem);
    show(this.earlier, false);
  }

  /**
   * @param {string} phase
   * @param {string} key
   */
  #phase(phase, key) {
    this.card.dataset.phase = phase;
    this.card.dataset.offer = key;
  }
}
