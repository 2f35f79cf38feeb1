// Keeps a drawing of the lanes true between snapshots: moves what moves, counts what counts, and marks a window as due
// or lost at its instant. Where somebody can tell what is in a slot or a reader, each of its lanes is a button.

/** @import { Place } from "./told.js" */

import { el } from "./dom.js";
import { length } from "./format.js";

const SMALLEST_MOVE_PX = 0.25;
const STILL_MOVE_PX = 8;
/** Lanes are drawn down to nine tenths of their size before they scroll. */
const LEAST_SCALE_INVERSE = 1 / 0.9;

export class Lanes {
  /**
   * @param {HTMLElement} frame Holds the drawing.
   * @param {{now(): number}} clock
   * @param {{press: (place: Place) => void, nameOf: (place: Place) => string}} [tell] What a press on a lane does.
   */
  constructor(frame, clock, tell) {
    this.frame = frame;
    this.tell = tell;
    /** The lanes that can be pressed, and their buttons. @type {{lane: Element, button: HTMLElement}[]} */
    this.buttons = [];
    if (tell) new ResizeObserver(() => this.#lay()).observe(frame);
    this.clock = clock;
    this.markup = "";
    /** What had the focus before the drawing was exchanged. @type {Element|null} */
    this.focused = null;
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
    this.focused = document.activeElement;
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
    if (this.tell) this.#draw(drawing, this.tell);
  }

  /**
   * A button for each lane, over it. The one that had the focus keeps it.
   * @param {Element} drawing
   * @param {{press: (place: Place) => void, nameOf: (place: Place) => string}} tell
   */
  #draw(drawing, { press, nameOf }) {
    const focused = this.buttons.find(one => one.button === this.focused)?.button.dataset.place;
    this.buttons = [...drawing.querySelectorAll("[data-place]")].map(lane => {
      const at = lane.getAttribute("data-place") ?? "";
      const [kind, number] = at.split("/");
      const place = { [kind]: Number(number) };
      const button = el("button", {
        type: "button", className: "lane-place", "data-place": at, "aria-label": nameOf(place),
        "aria-haspopup": "dialog", onclick: () => press(place),
      });
      return { lane, button };
    });
    this.frame.append(...this.buttons.map(one => one.button));
    this.#lay();
    if (focused) this.buttons.find(one => one.button.dataset.place === focused)?.button.focus();
  }

  #lay() {
    const frame = this.frame.getBoundingClientRect();
    for (const { lane, button } of this.buttons) {
      const box = lane.getBoundingClientRect();
      Object.assign(button.style, {
        left: `${box.left - frame.left}px`, top: `${box.top - frame.top}px`, width: `${box.width}px`,
        height: `${box.height}px`,
      });
    }
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
