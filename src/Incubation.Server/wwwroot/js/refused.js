// Reports that the server has refused for good: what was done has still been done, so they stay in sight on this
// screen, also when the page is loaded again, until a person has dealt with them and says so.

/** @import { BenchContext, Words } from "./context.js" */
/** @import { BenchSnapshot, ScreenCommand } from "./types.js" */
import { el, find, setText, show } from "./dom.js";
import { at, clockTime, fill } from "./format.js";

const PREFIX = "incubation.refused.";

/**
 * A report that was refused.
 * @typedef {object} RefusedReport
 * @property {ScreenCommand} command
 * @property {string|null} sentence Why.
 * @property {string} [text] What was reported, in words.
 */

/**
 * @param {string} bench
 * @returns {RefusedReport[]}
 */
export function refusedOf(bench) {
  try {
    const kept = JSON.parse(localStorage.getItem(PREFIX + bench) ?? "[]");
    return Array.isArray(kept) ? kept : [];
  } catch {
    return [];
  }
}

/**
 * @param {string} bench
 * @param {ScreenCommand} command
 * @param {string|null} sentence
 */
export function keepRefused(bench, command, sentence) {
  const others = refusedOf(bench).filter(one => one.command.id !== command.id);
  keep(bench, [...others, { command, sentence }]);
}

/**
 * Somebody has dealt with a report that was refused.
 * @param {string} bench
 * @param {string} id
 */
export function forgetRefused(bench, id) {
  keep(bench, refusedOf(bench).filter(one => one.command.id !== id));
}

/**
 * @param {string} bench
 * @param {RefusedReport[]} reports
 */
function keep(bench, reports) {
  if (reports.length === 0) localStorage.removeItem(PREFIX + bench);
  else localStorage.setItem(PREFIX + bench, JSON.stringify(reports));
}

/**
 * What a report says, in words.
 * @param {Words} w
 * @param {BenchSnapshot} snapshot
 * @param {ScreenCommand} said
 */
export function textOf(w, snapshot, said) {
  const specimen = snapshot.labels?.find(l => l.request === said.request)?.specimen ?? said.request ?? "";
  const place = said.slot ? ` · ${fill(w("SlotNumber"), said.slot).replace(" ", "\u00a0")}`
    : said.reader ? ` · ${fill(w("ReaderNumber"), said.reader).replace(" ", "\u00a0")}` : "";
  switch (said.kind) {
    case "mixed": return fill(w("RefusedMixed"), specimen);
    case "loaded": return fill(w("RefusedLoaded"), specimen) + place;
    case "read-started": return fill(w("RefusedReadStarted"), specimen) + place;
    case "cleared": return fill(w("RefusedCleared"), specimen) + place;
    case "discarded": return fill(w("RefusedDiscarded"), specimen);
    case "result": return fill(w("RefusedResult"), specimen, said.value ?? said.noValue ?? "");
    case "temperature": return fill(w("RefusedTemperature"), said.celsius ?? "");
    case "not-begun": return w("RefusedNotBegun");
    case "several": return w("RefusedSeveral");
    default: return fill(w("RefusedCard"), said.lot ?? "") + place;
  }
}

/** The list on the bench screen. */
export class Refused {
  /** @param {BenchContext} screen */
  constructor(screen) {
    this.screen = screen;
    this.w = screen.w;
    this.section = find(screen.root, ".refused");
    this.drawn = "";
  }

  /** @param {BenchSnapshot} snapshot */
  render(snapshot) {
    const { bench } = this.screen;
    const reports = refusedOf(bench);
    if (reports.some(one => !one.text)) {
      // Once, while the snapshot still knows whose cartridge it was.
      for (const one of reports) one.text ??= textOf(this.w, snapshot, one.command);
      keep(bench, reports);
    }
    const drawn = JSON.stringify(reports);
    if (drawn === this.drawn) return;
    this.drawn = drawn;
    show(this.section, reports.length > 0);
    const words = reports.length === 1 ? this.w("RefusedOne") : fill(this.w("RefusedMany"), reports.length);
    setText(find(this.section, ".refused-text"), reports.length === 0 ? "" : words);
    find(this.section, ".refused-list").replaceChildren(...reports.map(one => this.#line(one, snapshot)));
  }

  /**
   * @param {RefusedReport} one
   * @param {BenchSnapshot} snapshot
   */
  #line(one, snapshot) {
    const { command, text, sentence } = one;
    const when = [clockTime(at(command.at), snapshot.zone, true), command.person].filter(Boolean).join(" · ");
    return el("li", {},
      el("p", { className: "refused-what" }, el("strong", {}, text ?? ""), el("span", {}, when)),
      el("p", {}, sentence ?? this.w("NotTakenPlain")),
      el("button", {
        type: "button", className: "side", "aria-label": fill(this.w("RefusedSeenOf"), text ?? ""),
        onclick: () => this.#seen(command.id),
      }, this.w("RefusedSeen")));
  }

  /** @param {string} id */
  #seen(id) {
    forgetRefused(this.screen.bench, id);
    this.screen.render();
    const next = this.section.hidden ? find(this.screen.root, ".bench-main") : find(this.section, "button");
    next.focus();
  }
}
