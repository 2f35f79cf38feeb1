// The steps that come after the one next thing, each with the time until it.

/** @import { BenchContext } from "./context.js" */
import { el, find, setText } from "./dom.js";
import { at, fill, length } from "./format.js";

const MOST = 8;

export class Upcoming {
  /** @param {BenchContext} screen */
  constructor(screen) {
    this.screen = screen;
    this.w = screen.w;
    this.list = find(screen.root, ".upcoming-list");
    /** Where a plan that nobody has started begins. @type {number|null} */
    this.lead = null;
  }

  /** @param {number} now */
  render(now) {
    const { screen, list } = this;
    const { shown: snapshot, isAlone } = screen;
    const shown = isAlone ? screen.alone.upcoming(MOST) : snapshot.upcoming.slice(0, MOST);
    // A plan that nobody has started begins when somebody does.
    this.lead = snapshot.batch.phase === "preparing" && shown[0] ? at(shown[0].start) : null;
    // New mixes are not offered without a server: that they wait is said where they would stand.
    const waits = isAlone && snapshot.batch.waiting > 0;
    const drawn = JSON.stringify([shown, waits]);
    if (list.dataset.drawn === drawn) return;
    list.dataset.drawn = drawn;
    list.replaceChildren(
      ...shown.map(step =>
        el(
          "li",
          {},
          el("span", { className: "upcoming-in", "data-start": at(step.start) }, this.#until(at(step.start), now)),
          el(
            "span",
            { className: "upcoming-title" },
            step.title,
            ...(step.urgent ? [el("strong", {}, ` ▲ ${this.w("Urgent")}`)] : []),
          ),
          el(
            "span",
            { className: "upcoming-spare" },
            step.spareSeconds === null ? "" : fill(this.w("Spare"), length(step.spareSeconds * 1000)),
          ),
        ),
      ),
      ...(waits ? [el("li", { className: "upcoming-waits" }, this.w("AloneMixes"))] : []),
    );
  }

  /** The tick: numerals only. @param {number} now */
  numerals(now) {
    for (const item of this.list.querySelectorAll(".upcoming-in"))
      setText(item, this.#until(Number(/** @type {HTMLElement} */ (item).dataset.start), now));
  }

  /**
   * @param {number} start
   * @param {number} now
   */
  #until(start, now) {
    const from = this.lead ?? now;
    return start > from ? fill(this.w("In"), length(start - from)) : this.w("DueNow");
  }
}
