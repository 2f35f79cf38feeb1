// The alarm that matters most, at the top of the column, in one block with the number of the others. What somebody has
// seen is a line. All of them, with everything that can be done about each, stand in a list that a tap opens beside.

/** @import { AlarmSnapshot } from "./types.js" */
import { at, fill, length, ms } from "./format.js";
import { alarmShape, el, find, setText, show } from "./dom.js";
import { RANK, standing } from "./soundplan.js";

const ACTIONS = {
  "read-started": "ButtonMove",
  loaded: "ButtonLoad",
  discard: "Discard",
  "started-in-time": "StartedInTime",
  "confirm-time": "ConfirmTime",
  acknowledge: "Acknowledge",
};

/** Whatever else may have happened is told beside what can be done. */
const TELL = "tell";

/**
 * Alarms that say the same: the first stands for all. One that is no cartridge's, or that can only be seen, does not
 * pile up when its condition comes back.
 * @typedef {{first: AlarmSnapshot, all: AlarmSnapshot[], seen: boolean}} Stand
 */

export class Alarms {
  /**
   * @param {HTMLElement} root
   * @param {(key: string) => string} w
   * @param {(action: string, alarm: AlarmSnapshot) => void} act
   * @param {(alarm: AlarmSnapshot) => boolean} canTell Whether anything can be told of its cartridge.
   */
  constructor(root, w, act, canTell) {
    this.w = w;
    this.act = act;
    this.canTell = canTell;
    this.block = find(root, ".alarm");
    this.shape = find(root, ".alarm-shape");
    this.word = find(root, ".alarm-word");
    this.count = find(root, ".alarm-count");
    this.title = find(root, ".alarm-title");
    this.text = find(root, ".alarm-says");
    this.actions = find(root, ".alarm-actions");
    this.wall = find(root, ".alarm-wall");
    this.list = find(root, ".alarm-list");
    this.items = find(root, ".alarm-items");
    this.announce = find(root, ".announce-alarm");
    /** @type {AlarmSnapshot|null} */
    this.shown = null;
    this.seen = false;
    /** @type {Stand[]} */
    this.stands = [];
    /** @type {(alarm: AlarmSnapshot) => number} */
    this.readFrom = () => 0;
    this.drawn = "";
    this.listDrawn = "";
    this.announced = new Set();
    this.list.addEventListener("keydown", event => {
      if (event.key === "Escape") this.#open(false);
    });
    find(root, ".alarm-list-close").addEventListener("click", () => this.#open(false));
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
    this.stands = together(stand).map(all => ({ first: all[0], all, seen: all.every(isSeen) }));
    this.shown = this.stands[0]?.first ?? null;
    this.seen = this.stands[0]?.seen ?? false;
    this.readFrom = readFrom;
    show(this.block, this.shown !== null);
    if (this.stands[0]) this.#draw(this.stands[0]);
    if (!this.shown) show(this.list, false);
    if (!this.list.hidden) this.#drawList();
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
    setText(this.count, this.#countOf(this.shown, now));
    const goes = at(this.shown.escalatesAt);
    show(this.wall, !this.seen && !this.shown.passed);
    setText(this.wall, now < goes ? fill(this.w("ToTheWall"), length(goes - now)) : this.w("OnTheWall"));
    this.#waitForWindow(this.actions, this.shown, now);
    if (this.list.hidden) return;
    for (const [i, stand] of this.stands.entries()) {
      const item = /** @type {HTMLElement|undefined} */ (this.items.children[i]);
      if (!item) continue;
      setText(find(item, ".alarm-count"), this.#countOf(stand.first, now));
      this.#waitForWindow(item, stand.first, now);
    }
  }

  /**
   * @param {AlarmSnapshot} alarm
   * @param {number} now
   */
  #countOf(alarm, now) {
    const [begin, deadline] = [ms(alarm.beginBy), ms(alarm.deadline)];
    if (begin !== null && now <= begin) return `${length(begin - now)} ${this.w("AlarmBegin")}`;
    return deadline !== null && now <= deadline
      ? `${length(deadline - now)} ${this.w("AlarmLeft")}`
      : `${length(now - at(alarm.from))} ${this.w("AlarmSince")}`;
  }

  /**
   * A read cannot be reported before its window opens.
   * @param {HTMLElement} within
   * @param {AlarmSnapshot} alarm
   * @param {number} now
   */
  #waitForWindow(within, alarm, now) {
    const read = /** @type {HTMLElement|null} */ (within.querySelector('[data-action="read-started"]'));
    if (!read) return;
    const wait = this.readFrom(alarm) - now;
    setText(read, wait > 0 ? fill(this.w("UntilReport"), this.w("ButtonMove"), length(wait)) : this.w("ButtonMove"));
    read.setAttribute("aria-disabled", String(wait > 0));
  }

  /** @param {Stand} stand */
  #draw(stand) {
    const { first } = stand;
    this.block.dataset.priority = first.priority;
    this.block.dataset.seen = String(stand.seen || first.passed);
    this.block.dataset.line = String(stand.seen);
    setText(this.word, wordOf(stand, this.w));
    setText(this.title, this.#titleOf(stand));
    setText(this.text, first.text);
    const others = this.stands.length - 1;
    const drawn = `${first.id}/${first.priority}/${this.#actionsOf(stand)}/${stand.seen}/${others}/${this.list.hidden}`;
    if (drawn === this.drawn) return;
    this.drawn = drawn;
    this.shape.replaceChildren(alarmShape(first.priority));
    const all = [];
    if (others > 0 || stand.seen)
      all.push(el("button", {
        type: "button", className: "side alarm-all", "data-action": "all", "aria-controls": "alarm-list",
        "aria-expanded": !this.list.hidden, onclick: () => this.#open(this.list.hidden),
      }, others > 0 ? fill(this.w("AllAlarms"), others + 1) : this.w("OpenAlarm")));
    replaceButtons(this.actions, [...(stand.seen ? [] : this.#buttons(stand)), ...all]);
  }

  /** @param {Stand} stand */
  #titleOf({ first, all }) {
    return all.length === 1 ? first.title : `${first.title} · ${fill(this.w("AndMore"), all.length - 1)}`;
  }

  /** @param {Stand} stand */
  #buttons(stand) {
    const isTapped = (/** @type {string} */ a) =>
      (a in ACTIONS || a === TELL) && !(a === "acknowledge" && stand.seen);
    return this.#actionsOf(stand).filter(isTapped).map(a =>
      el("button", {
        type: "button", className: "side", "data-action": a,
        onclick: (/** @type {Event} */ e) => this.#tapped(/** @type {HTMLElement} */ (e.currentTarget), a, stand),
      }, this.w(a === TELL ? "TellButton" : ACTIONS[/** @type {keyof typeof ACTIONS} */ (a)])));
  }

  /** What can be tapped; what else may have happened can be told beside it. @param {Stand} stand */
  #actionsOf({ first }) {
    const last = first.actions.indexOf("acknowledge");
    const at = last < 0 ? first.actions.length : last;
    return this.canTell(first)
      ? [...first.actions.slice(0, at), TELL, ...first.actions.slice(at)] : first.actions;
  }

  /**
   * @param {HTMLElement|undefined} button
   * @param {string} action
   * @param {Stand} stand
   */
  #tapped(button, action, stand) {
    if (button?.getAttribute("aria-disabled") === "true") return;
    if (action === "acknowledge") for (const alarm of stand.all) this.act(action, alarm);
    else this.act(action, stand.first);
  }

  /** @param {boolean} opens */
  #open(opens) {
    show(this.list, opens);
    if (opens) {
      this.#drawList();
      find(this.list, "h2").focus();
    }
    if (this.stands[0]) this.#draw(this.stands[0]);
    if (!opens) /** @type {HTMLElement|null} */ (this.actions.querySelector(".alarm-all"))?.focus();
  }

  #drawList() {
    const drawn = JSON.stringify(this.stands.map(s =>
      [s.all.map(a => a.id), s.seen, s.first.text, this.#actionsOf(s)]));
    if (drawn === this.listDrawn && this.items.children.length === this.stands.length) return;
    this.listDrawn = drawn;
    const focused = /** @type {HTMLElement|null} */ (
      this.items.contains(document.activeElement) ? document.activeElement : null
    );
    const was = [focused?.closest("li")?.dataset.alarm, focused?.dataset.action];
    this.items.replaceChildren(...this.stands.map(stand => el(
      "li",
      { "data-alarm": stand.first.id, "data-priority": stand.first.priority, "data-seen": stand.seen },
      el("p", { className: "alarm-head" },
        el("span", { className: "alarm-shape", "aria-hidden": "true" }, alarmShape(stand.first.priority)),
        el("span", {}, wordOf(stand, this.w)), el("span", { className: "alarm-count" })),
      el("h3", { className: "alarm-title" }, stand.first.title),
      ...stand.all.slice(1).map(a => el("p", { className: "alarm-text" }, a.title)),
      el("p", { className: "alarm-text" }, stand.first.text),
      el("div", { className: "alarm-actions" }, ...this.#buttons(stand)),
    )));
    if (!focused) return;
    const item = [...this.items.children].find(i => /** @type {HTMLElement} */ (i).dataset.alarm === was[0]);
    const next = item?.querySelector(`[data-action="${was[1]}"]`) ?? item?.querySelector("button");
    /** @type {HTMLElement} */ (next ?? find(this.list, "h2")).focus();
  }
}

/**
 * An alarm's word, with how it stands; a line asks for nothing, so that nobody has to see it.
 * @param {{first: Pick<AlarmSnapshot, "word"|"passed"|"line">, seen: boolean}} stand
 * @param {(key: string) => string} w
 */
export function wordOf({ first, seen }, w) {
  if (first.line) return first.word;
  const stands = seen ? w("Acknowledged") : first.passed ? w("Passed") : null;
  return stands ? `${first.word} · ${stands}` : first.word;
}

/**
 * Alarms that say the same, together, in their order.
 * @param {AlarmSnapshot[]} alarms
 */
export function together(alarms) {
  const kindOf = (/** @type {AlarmSnapshot} */ a) => a.id.split("/")[0];
  const isRepeat = (/** @type {AlarmSnapshot} */ a) => a.request === "" || a.actions.every(x => x === "acknowledge");
  /** @type {Map<string, AlarmSnapshot[]>} */
  const groups = new Map();
  for (const alarm of alarms) {
    const key = isRepeat(alarm) ? kindOf(alarm) : alarm.id;
    groups.set(key, [...(groups.get(key) ?? []), alarm]);
  }
  return [...groups.values()];
}

/**
 * The buttons are kept where they are the same, so that the focus is.
 * @param {HTMLElement} group
 * @param {HTMLElement[]} buttons
 */
function replaceButtons(group, buttons) {
  const had = /** @type {HTMLElement|null} */ (group.contains(document.activeElement) ? document.activeElement : null)
    ?.dataset.action;
  group.replaceChildren(...buttons);
  if (had)
    /** @type {HTMLElement|null} */ (group.querySelector(`[data-action="${had}"]`) ?? group.firstElementChild)?.focus();
}
