// Keeps a drawing of the lanes true between snapshots: moves what moves, counts what counts, and marks a window as due
// or lost at its instant.

import { length } from "./format.js";

const SMALLEST_MOVE_PX = 0.25;
const STILL_MOVE_PX = 8;
/** Lanes are drawn down to nine tenths of their size before they scroll. */
const LEAST_SCALE_INVERSE = 1 / 0.9;

export class Lanes {
  /**
   * @param {HTMLElement} frame Holds the drawing.
   * @param {{now(): number}} clock
   */
  constructor(frame, clock) {
    this.frame = frame;
    this.clock = clock;
    this.markup = "";
    this.shifted = 0;
    /** Whether anybody sees the drawing: one that is away is not moved. */
    this.isShown = true;
    /** @type {SVGGElement|null} */
    this.moving = null;
    /** @type {{text: Element, to: number, until: number}[]} */
    this.counts = [];
    /** @type {{block: Element, due: number, lost: number}[]} */
    this.windows = [];
    this.calm = matchMedia("(prefers-reduced-motion: reduce)");
    const turn = () => {
      if (!this.frame.isConnected) return;
      this.#move();
      requestAnimationFrame(turn);
    };
    requestAnimationFrame(turn);
  }

  /**
   * Shows a new drawing.
   * @param {string} markup
   */
  show(markup) {
    if (markup === this.markup) return;
    this.markup = markup;
    const parsed = new DOMParser().parseFromString(markup, "image/svg+xml").documentElement;
    if (parsed.localName !== "svg") return;
    const drawing = document.importNode(parsed, true);
    this.frame.replaceChildren(drawing);
    // More lanes than the screen has room for are not made smaller: they can be scrolled.
    const room = this.frame.parentElement?.clientHeight ?? Infinity;
    this.frame.classList.toggle("lanes-tall", Number(drawing.getAttribute("height")) > room * LEAST_SCALE_INVERSE);
    this.moving = drawing.querySelector(".ln-moving");
    this.shifted = NaN;
    this.counts = [...drawing.querySelectorAll("[data-count-to]")].map(text => ({
      text, to: time(text, "data-count-to", Infinity), until: time(text, "data-count-until", Infinity),
    }));
    this.windows = [...drawing.querySelectorAll("[data-due-from], [data-lost-from]")].map(block => ({
      block, due: time(block, "data-due-from", Infinity), lost: time(block, "data-lost-from", Infinity),
    }));
    this.tick();
    this.#move();
  }

  /** Brings numerals and states up to now. */
  tick() {
    const now = this.clock.now();
    for (const { text, to, until } of this.counts) {
      const says = now < to ? length(to - now) : text.getAttribute(now > until ? "data-count-over" : "data-count-zero");
      if (text.textContent !== says) text.textContent = says;
    }
    for (const { block, due, lost } of this.windows) {
      block.classList.toggle("ln-lost", now >= lost);
      block.classList.toggle("ln-due", now >= due && now < lost);
    }
  }

  #move() {
    if (!this.moving || !this.isShown) return;
    const from = Number(this.moving.getAttribute("data-t0"));
    const perSecond = Number(this.moving.getAttribute("data-px-per-s"));
    const shift = -((this.clock.now() - from) / 1000) * perSecond;
    const least = this.calm.matches ? STILL_MOVE_PX : SMALLEST_MOVE_PX;
    if (Math.abs(shift - this.shifted) < least) return;
    this.shifted = shift;
    this.moving.setAttribute("transform", `translate(${shift.toFixed(2)} 0)`);
  }
}

/**
 * @param {Element} element
 * @param {string} name
 * @param {number} otherwise
 */
function time(element, name, otherwise) {
  const iso = element.getAttribute(name);
  return iso ? Date.parse(iso) : otherwise;
}
