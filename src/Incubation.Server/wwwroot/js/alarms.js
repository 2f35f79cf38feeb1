// The alarm that matters most, at the top of the card's column; the others beneath it.

/** @import { AlarmSnapshot } from "./types.js" */
import { at, fill, length, ms } from "./format.js";
import { alarmShape, el, find, setText, show } from "./dom.js";
import { RANK, standing } from "./soundplan.js";

const MOST_LINES = 2;
const ACTIONS = {
  "read-started": "ButtonMove",
  loaded: "ButtonLoad",
  discard: "Discard",
  "started-in-time": "StartedInTime",
  "confirm-time": "ConfirmTime",
  acknowledge: "Acknowledge",
};

export class Alarms {
  /**
   * @param {HTMLElement} root
   * @param {(key: string) => string} w
   * @param {(action: string, alarm: AlarmSnapshot) => void} act
   */
  constructor(root, w, act) {
    this.w = w;
    this.act = act;
    this.block = find(root, ".alarm");
    this.shape = find(root, ".alarm-shape");
    this.word = find(root, ".alarm-word");
    this.count = find(root, ".alarm-count");
    this.title = find(root, ".alarm-title");
    this.text = find(root, ".alarm-says");
    this.actions = find(root, ".alarm-actions");
    this.wall = find(root, ".alarm-wall");
    this.more = find(root, ".alarm-more");
    this.announce = find(root, ".announce-alarm");
    /** @type {AlarmSnapshot|null} */
    this.shown = null;
    this.seen = false;
    this.readFrom = 0;
    this.drawn = "";
    this.announced = new Set();
  }

  /**
   * @param {AlarmSnapshot[]} alarms
   * @param {number} now
   * @param {Set<string>} seen Ids acknowledged here that no snapshot knows yet.
   * @param {(alarm: AlarmSnapshot) => number} readFrom From when an alarm's read can be reported.
   */
  render(alarms, now, seen, readFrom) {
    const isSeen = (/** @type {AlarmSnapshot} */ a) => a.acknowledged || seen.has(a.id);
    const isQuiet = (/** @type {AlarmSnapshot} */ a) => Number(isSeen(a) || a.passed);
    // What nobody has seen comes first: its buttons must be in reach.
    const stand = standing(alarms, now).sort((a, b) => isQuiet(a) - isQuiet(b) || RANK[b.priority] - RANK[a.priority]);
    this.shown = stand[0] ?? null;
    this.seen = this.shown !== null && isSeen(this.shown);
    this.readFrom = this.shown ? readFrom(this.shown) : 0;
    show(this.block, this.shown !== null);
    if (this.shown) this.#draw(this.shown, this.seen);
    show(this.more, stand.length > 1);
    this.#drawMore(stand.slice(1));
    for (const alarm of stand)
      if (!this.announced.has(alarm.id)) {
        this.announced.add(alarm.id);
        setText(this.announce, `${alarm.word}: ${alarm.title}. ${alarm.text}`);
      }
    for (const id of this.announced) if (!stand.some(a => a.id === id)) this.announced.delete(id);
    this.numerals(now);
  }

  /** @param {number} now */
  numerals(now) {
    if (!this.shown) return;
    const deadline = ms(this.shown.deadline);
    setText(this.count, deadline !== null && now <= deadline
      ? `${length(deadline - now)} ${this.w("AlarmLeft")}`
      : `${length(now - at(this.shown.from))} ${this.w("AlarmSince")}`);
    const goes = at(this.shown.escalatesAt);
    show(this.wall, !this.seen && !this.shown.passed);
    setText(this.wall, now < goes ? fill(this.w("ToTheWall"), length(goes - now)) : this.w("OnTheWall"));
    const read = /** @type {HTMLElement|null} */ (this.actions.querySelector('[data-action="read-started"]'));
    if (read) {
      const early = now < this.readFrom;
      setText(
        read,
        early ? fill(this.w("UntilReport"), this.w("ButtonMove"), length(this.readFrom - now)) : this.w("ButtonMove"),
      );
      read.setAttribute("aria-disabled", String(early));
    }
  }

  /**
   * @param {AlarmSnapshot} alarm
   * @param {boolean} seen
   */
  #draw(alarm, seen) {
    this.block.dataset.priority = alarm.priority;
    this.block.dataset.seen = String(seen || alarm.passed);
    const stands = seen ? this.w("Acknowledged") : alarm.passed ? this.w("Passed") : null;
    setText(this.word, stands ? `${alarm.word} · ${stands}` : alarm.word);
    setText(this.title, alarm.title);
    setText(this.text, alarm.text);
    const drawn = `${alarm.id}/${alarm.priority}/${alarm.actions}/${seen}`;
    if (drawn === this.drawn) return;
    this.drawn = drawn;
    this.shape.replaceChildren(alarmShape(alarm.priority));
    const actions = alarm.actions.filter(a => a in ACTIONS && !(a === "acknowledge" && seen));
    // The buttons are kept where they are the same, so that the focus is.
    const had = /** @type {HTMLElement|null} */ (
      this.actions.contains(document.activeElement) ? document.activeElement : null
    )?.dataset.action;
    this.actions.replaceChildren(...actions.map(a => el("button", {
      type: "button", className: "side", "data-action": a, onclick: () => this.#tapped(a, alarm),
    }, this.w(ACTIONS[/** @type {keyof typeof ACTIONS} */ (a)]))));
    if (had)
      /** @type {HTMLElement|null} */ (
        this.actions.querySelector(`[data-action="${had}"]`) ?? this.actions.firstElementChild
      )?.focus();
  }

  /**
   * @param {string} action
   * @param {AlarmSnapshot} alarm
   */
  #tapped(action, alarm) {
    if (this.actions.querySelector(`[data-action="${action}"]`)?.getAttribute("aria-disabled") !== "true")
      this.act(action, alarm);
  }

  /** @param {AlarmSnapshot[]} all */
  #drawMore(all) {
    const others = all.slice(0, MOST_LINES);
    const lines = others.map(a => `${a.word}: ${a.title}`);
    const uncounted = all.length - others.length;
    if (uncounted > 0) lines[lines.length - 1] += ` · ${fill(this.w("AndMore"), uncounted)}`;
    if ([...this.more.children].map(c => c.textContent).join("\n") === lines.join("\n")) return;
    this.more.replaceChildren(...lines.map((line, i) => {
      const item = el(
        "li",
        { "data-priority": others[i].priority },
        el("span", { className: "alarm-shape", "aria-hidden": "true" }, alarmShape(others[i].priority)),
      );
      item.append(line);
      return item;
    }));
  }
}
