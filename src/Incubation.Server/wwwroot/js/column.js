// Keeps what must be in sight in sight: the alarm, the question, the next thing with its buttons, what can be said
// beside it, and the next two steps. Where they do not fit, the column is set closer, step by step, and no more than is
// needed.

import { find, show } from "./dom.js";

/** How close the column can be set: the stylesheet says what each step leaves out or makes smaller. */
const CLOSEST = 4;
const STEPS_IN_SIGHT = 2;
/** Room for the words that there is more below. */
const MORE_PX = 44;
/** Parts of a pixel are no fault. */
const SLACK_PX = 1;
const ALWAYS = [".alarm", ".question", ".card", ".after"];
/** What changes the room that is needed; the numerals have room of their own. */
const SAYS = [
  ".alarm-word", ".alarm-title", ".alarm-says", ".alarm-actions", ".question-words", ".question-text", ".card-title",
  ".card-detail", ".card-instruction", ".card-scan", ".card-first", ".card-hands", ".big-text", ".after",
];

export class Column {
  /** @param {HTMLElement} root */
  constructor(root) {
    this.root = root;
    this.left = find(root, ".bench-left");
    this.aside = find(root, ".bench-aside");
    this.upcoming = find(root, ".upcoming-list");
    this.also = find(root, ".also");
    this.more = find(root, ".more-below");
    this.fitted = "";
    this.more.addEventListener("click", () => this.also.scrollIntoView({ block: "end" }));
  }

  /** Fits the column anew where what it says, or the screen, has changed. */
  fit() {
    const says = this.#says();
    if (says === this.fitted) return;
    this.fitted = says;
    const { left } = this;
    const top = left.scrollTop;
    for (let density = 0; density <= CLOSEST; density++) {
      left.dataset.density = String(density);
      show(this.more, false);
      const hides = this.#scrolls() && left.scrollHeight > left.clientHeight + SLACK_PX;
      show(this.more, hides);
      if (this.#fits(hides ? MORE_PX : 0)) break;
    }
    left.scrollTop = top;
  }

  /** Whether the column scrolls by itself, and not the page. */
  #scrolls() {
    return getComputedStyle(this.left).overflowY === "auto";
  }

  /** @param {number} taken At its foot. */
  #fits(taken) {
    const own = this.#scrolls();
    const bounds = this.left.getBoundingClientRect();
    const up = own ? this.left.scrollTop : scrollY;
    // What stands beside takes room in the flow of an upright page; it is there only as long as it is needed.
    const beside = own ? 0 : this.aside.offsetHeight;
    const bottom = own ? bounds.bottom - taken : innerHeight;
    const parts = [
      ...ALWAYS.map(part => find(this.root, part)), ...[...this.upcoming.children].slice(0, STEPS_IN_SIGHT),
    ];
    return parts.map(part => part.getBoundingClientRect()).filter(part => part.height > 0).every(part =>
      part.bottom + up - beside <= bottom + SLACK_PX && part.right <= bounds.right + SLACK_PX);
  }

  #says() {
    const parts = SAYS.map(selector => {
      const part = find(this.root, selector);
      return part.closest("[hidden]") ? "" : textOf(part);
    });
    const steps = [...this.upcoming.children].slice(0, STEPS_IN_SIGHT).map(step => step.childNodes[1]?.textContent);
    const size = getComputedStyle(document.documentElement).fontSize;
    const block = find(this.root, ".alarm").dataset.line;
    return JSON.stringify([innerWidth, innerHeight, size, block, this.also.textContent, parts, steps]);
  }
}

/**
 * The words of a part, and which of its children are there; a count in a button changes no room.
 * @param {HTMLElement} part
 */
function textOf(part) {
  const shown = part.children.length === 0 ? [part] : [...part.children].filter(c => !(/** @type {any} */ (c).hidden));
  return shown.map(one => one.textContent?.replace(/\d+/g, "0")).join("|");
}
