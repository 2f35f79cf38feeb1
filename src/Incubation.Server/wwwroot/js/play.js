// A batch played again from its record: one clock that runs as fast as it is told, and for each moment what the bench
// showed then, fetched when it is needed.

/** @import { BatchMoments, BenchSnapshot, Moment } from "./types.js" */
import { el, find, setText, show } from "./dom.js";
import { formOf, loadsAgain, reads } from "./form.js";
import { at, clockTime, fill, length } from "./format.js";
import { Lanes } from "./lanes.js";
import { standing } from "./soundplan.js";
import { readWords } from "./words.js";

const MOST_KEPT = 200;
const MOST_PLANNED = 6;
const SVG = "http://www.w3.org/2000/svg";

/** A clock that is wound by hand. */
export class PlayClock {
  /** @param {() => number} [monotonic] */
  constructor(monotonic = () => performance.now()) {
    this.monotonic = monotonic;
    this.rate = 1;
    this.isRunning = false;
    this.base = 0;
    this.since = 0;
    this.end = Infinity;
  }

  now() {
    const now = this.isRunning ? this.base + (this.monotonic() - this.since) * this.rate : this.base;
    return Math.min(now, this.end);
  }

  /** @param {number} instant */
  set(instant) {
    this.base = instant;
    this.since = this.monotonic();
  }

  /**
   * @param {boolean} running
   * @param {number} rate
   */
  run(running, rate) {
    this.set(this.now());
    this.isRunning = running;
    this.rate = rate;
  }
}

/**
 * The last moment at or before an instant; -1 before the first.
 * @param {{at: string}[]} moments In order.
 * @param {number} instant
 */
export function momentAt(moments, instant) {
  let [low, high] = [0, moments.length];
  while (low < high) {
    const middle = (low + high) >> 1;
    if (at(moments[middle].at) <= instant) low = middle + 1;
    else high = middle;
  }
  return low - 1;
}

/** @param {HTMLElement} root */
export function mount(root) {
  return new PlayScreen(root);
}

class PlayScreen {
  /** @param {HTMLElement} root */
  constructor(root) {
    this.root = root;
    this.w = readWords(root);
    this.clock = new PlayClock();
    this.lanes = new Lanes(find(root, ".lanes-frame"), this.clock);
    const bench = encodeURIComponent(root.dataset.bench ?? "");
    this.address = `api/v1/benches/${bench}/batches/${root.dataset.batch}/moments`;
    /** @type {BatchMoments|null} */
    this.batch = null;
    /** @type {Map<number, BenchSnapshot>} */
    this.kept = new Map();
    this.shown = -1;
    this.pinned = -1;
    this.ended = false;
    /** @type {SVGLineElement|null} */
    this.cursor = null;
    /** @type {HTMLElement[]} */
    this.items = [];
    this.scrub = /** @type {HTMLInputElement} */ (find(root, ".play-scrub"));
    this.speed = /** @type {HTMLSelectElement} */ (find(root, ".play-speed select"));
    this.button = find(root, ".play-run");
    this.button.addEventListener("click", () => this.#run(!this.clock.isRunning));
    this.speed.addEventListener("change", () => this.clock.run(this.clock.isRunning, Number(this.speed.value)));
    this.scrub.addEventListener("input", () => this.#go(Number(this.scrub.value)));
    find(root, ".play-back").addEventListener("click", () => this.#step(-1));
    find(root, ".play-on").addEventListener("click", () => this.#step(1));
    find(root, ".play-again").addEventListener("click", () => void this.#load());
    const filter = /** @type {HTMLInputElement} */ (find(root, ".play-filter input"));
    filter.addEventListener("change", () => find(root, ".play-list").classList.toggle("no-plans", !filter.checked));
    const turn = () => {
      if (this.ended) return;
      if (this.batch) this.render();
      requestAnimationFrame(turn);
    };
    requestAnimationFrame(turn);
    void this.#load();
  }

  alarmStands() {
    return false;
  }

  end() {
    this.ended = true;
  }

  async #load() {
    const state = find(this.root, ".play-state");
    setText(state, this.w("Loading"));
    show(state, true);
    show(find(this.root, ".play-again"), false);
    try {
      const answer = await fetch(this.address, { cache: "no-store" });
      if (!answer.ok) throw new Error(String(answer.status));
      const batch = /** @type {BatchMoments} */ (await answer.json());
      if (batch.moments.length === 0) {
        setText(state, this.w("NothingYet"));
        return;
      }
      this.#begin(batch);
      show(state, false);
    } catch {
      setText(state, this.w("Failed"));
      show(find(this.root, ".play-again"), true);
    }
  }

  /** @param {BatchMoments} batch */
  #begin(batch) {
    this.batch = batch;
    [this.scrub.min, this.scrub.max] = [String(at(batch.begins)), String(at(batch.ends))];
    // A second a step; of a batch that was over at once, a hundredth of it.
    this.scrub.step = String(Math.max(1, Math.min(1000, Math.floor((at(batch.ends) - at(batch.begins)) / 100))));
    this.clock.end = at(batch.ends);
    this.clock.rate = Number(this.speed.value);
    this.clock.set(at(batch.begins));
    show(find(this.root, ".play-board"), true);
    this.items = batch.moments.map(moment => this.#line(moment, batch.zone));
    find(this.root, ".play-list").replaceChildren(...this.items);
    this.#prepareWhole(batch);
  }

  /**
   * @param {Moment} moment
   * @param {string} zone
   */
  #line(moment, zone) {
    return el(
      "li",
      { "data-kind": moment.kind },
      el(
        "button",
        { type: "button", onclick: () => this.#pin(moment.index) },
        el("span", { className: "when" }, clockTime(at(moment.at), zone, true)),
        el("span", { className: "what" }, moment.text),
        el("span", { className: "who" }, moment.who),
      ),
    );
  }

  /**
   * The whole batch is a time axis to point at: a cursor over it, and a mark where something went wrong.
   * @param {BatchMoments} batch
   */
  #prepareWhole(batch) {
    const drawing = this.root.querySelector(".play-whole svg");
    if (!(drawing instanceof SVGSVGElement)) {
      show(find(this.root, ".play-whole"), false);
      return;
    }
    const [t0, x0, perSecond] = ["data-t0", "data-x0", "data-px-per-s"].map(name => Number(drawing.getAttribute(name)));
    const height = drawing.viewBox.baseVal.height;
    this.xOf = (/** @type {number} */ instant) => x0 + ((instant - t0) / 1000) * perSecond;
    for (const moment of batch.moments.filter(m => m.kind === "trouble")) {
      const mark = document.createElementNS(SVG, "path");
      const x = this.xOf(at(moment.at));
      mark.setAttribute("d", `M${x - 6} 44 h12 l-6 10 z`);
      mark.setAttribute("class", "play-mark");
      mark.dataset.kind = moment.kind;
      drawing.append(mark);
    }
    this.cursor = document.createElementNS(SVG, "line");
    this.cursor.setAttribute("class", "play-cursor");
    this.cursor.setAttribute("y1", "40");
    this.cursor.setAttribute("y2", String(height - 48));
    drawing.append(this.cursor);
    const point = (/** @type {PointerEvent} */ event) => {
      const box = drawing.getBoundingClientRect();
      const x = ((event.clientX - box.left) / box.width) * drawing.viewBox.baseVal.width;
      this.#go(t0 + ((x - x0) / perSecond) * 1000);
    };
    drawing.addEventListener("pointerdown", event => {
      drawing.setPointerCapture(event.pointerId);
      point(event);
    });
    drawing.addEventListener("pointermove", event => {
      if (event.buttons & 1) point(event);
    });
  }

  /** @param {number} instant */
  #go(instant) {
    if (!this.batch) return;
    this.pinned = -1;
    this.clock.set(Math.min(Math.max(instant, at(this.batch.begins)), at(this.batch.ends)));
  }

  /**
   * Several rows can have one instant: a row that was chosen is shown as it stood after that row, until the clock goes
   * on.
   * @param {number} index
   */
  #pin(index) {
    if (!this.batch) return;
    this.#run(false);
    this.#go(at(this.batch.moments[index].at));
    this.pinned = index;
  }

  /** @param {number} by */
  #step(by) {
    if (this.batch) this.#pin(Math.min(Math.max(this.#index() + by, 0), this.batch.moments.length - 1));
  }

  #index() {
    if (!this.batch) return -1;
    const now = this.clock.now();
    const chosen = this.batch.moments[this.pinned];
    return chosen && Math.max(at(chosen.at), at(this.batch.begins)) === now
      ? this.pinned
      : momentAt(this.batch.moments, now);
  }

  /** @param {boolean} running */
  #run(running) {
    if (running && this.batch && this.clock.now() >= this.clock.end) this.clock.set(at(this.batch.begins));
    this.clock.run(running, Number(this.speed.value));
    setText(this.button, this.w(running ? "Pause" : "Play"));
  }

  render() {
    if (!this.batch) return;
    const now = this.clock.now();
    if (this.clock.isRunning && now >= this.clock.end) this.#run(false);
    const { begins, zone } = this.batch;
    const clock = fill(this.w("AtMoment"), clockTime(now, zone, true), length(now - at(begins)));
    setText(find(this.root, ".play-clock"), clock);
    this.scrub.value = String(now);
    this.scrub.setAttribute("aria-valuetext", clock);
    if (this.cursor && this.xOf) {
      this.cursor.setAttribute("x1", String(this.xOf(now)));
      this.cursor.setAttribute("x2", String(this.xOf(now)));
    }
    const index = this.#index();
    this.#want(index);
    if (index !== this.shown) this.#moment(index);
    const snapshot = this.snapshot;
    if (snapshot) {
      this.lanes.tick();
      this.#said(snapshot, now);
    }
  }

  /** @param {number} index */
  #moment(index) {
    const snapshot = this.kept.get(index);
    if (!snapshot && index >= 0) return;
    const { items } = this;
    items[this.shown]?.removeAttribute("aria-current");
    this.shown = index;
    const item = items[index];
    if (item) {
      item.setAttribute("aria-current", "true");
      // Only the list is moved, never the page.
      const list = find(this.root, ".play-list");
      list.scrollTop = item.offsetTop - list.offsetTop - list.clientHeight / 2;
    }
    if (!snapshot) return;
    this.snapshot = snapshot;
    this.lanes.show(snapshot.lanes);
  }

  /**
   * Fetches a moment and, while the batch runs, the one after it: one at a time, always the one that is needed now.
   * @param {number} index
   */
  #want(index) {
    if (this.fetching) return;
    const next = [index, index + 1].find(i => i >= 0 && i < (this.batch?.moments.length ?? 0) && !this.kept.has(i));
    if (next === undefined) return;
    this.fetching = true;
    void this.#fetch(next).finally(() => {
      this.fetching = false;
    });
  }

  /** @param {number} index */
  async #fetch(index) {
    try {
      const answer = await fetch(`${this.address}/${index}`);
      if (!answer.ok) throw new Error(String(answer.status));
      const snapshot = /** @type {BenchSnapshot} */ (await answer.json());
      if (!reads(snapshot, sessionStorage)) {
        if (loadsAgain(formOf(snapshot), { waiting: 0, alarms: [], now: 0, busy: false }, sessionStorage))
          location.reload();
        throw new Error("A snapshot of another form.");
      }
      this.kept.set(index, snapshot);
      if (this.kept.size > MOST_KEPT) this.kept.delete(/** @type {number} */ (this.kept.keys().next().value));
      show(find(this.root, ".play-state"), false);
    } catch {
      setText(find(this.root, ".play-state"), this.w("Failed"));
      show(find(this.root, ".play-state"), true);
      this.#run(false);
      await new Promise(done => setTimeout(done, 2000));
    }
  }

  /**
   * @param {BenchSnapshot} snapshot
   * @param {number} now
   */
  #said(snapshot, now) {
    const inOrSince = (/** @type {number} */ when) =>
      when >= now ? fill(this.w("DueIn"), length(when - now)) : fill(this.w("DueSince"), length(now - when));
    this.#list(".play-due", snapshot.offers.map(o => ({ when: inOrSince(at(o.mayBegin)), text: o.title })), "DueNone");
    this.#list(
      ".play-planned",
      snapshot.upcoming.slice(0, MOST_PLANNED).map(s => ({ when: inOrSince(at(s.start)), text: s.title })),
      "PlannedNone",
    );
    this.#list(
      ".play-wrong",
      [
        ...standing(snapshot.alarms, now).map(a => ({
          when: a.word,
          text: `${a.title} · ${a.text}`,
          priority: a.priority,
        })),
        ...snapshot.losses.map(l => ({ when: "", text: l.text })),
        ...snapshot.notPlanned.map(n => ({ when: "", text: `${n.specimen}: ${n.text}` })),
      ],
      "WrongNone",
    );
  }

  /**
   * @param {string} where
   * @param {{when: string, text: string, priority?: string}[]} lines
   * @param {string} none
   */
  #list(where, lines, none) {
    const list = find(this.root, where);
    const wanted = lines.length === 0 ? [{ when: "", text: this.w(none) }] : lines;
    while (list.children.length > wanted.length) list.lastElementChild?.remove();
    while (list.children.length < wanted.length)
      list.append(el("li", {}, el("span", { className: "when" }), el("span", { className: "what" })));
    wanted.forEach((line, i) => {
      const item = /** @type {HTMLElement} */ (list.children[i]);
      item.className = lines.length === 0 ? "play-none" : "";
      if (line.priority) item.dataset.priority = line.priority;
      else delete item.dataset.priority;
      setText(item.children[0], line.when);
      setText(item.children[1], line.text);
    });
  }
}
