// After an absence or a lost hour: place by place, what is there and what was done, with the plan's guess first.
// Nothing is recorded before "Done"; then all of it is, or nothing. Alarms go on beside it.

/** @import { BenchContext } from "./context.js" */
/** @import { BenchSnapshot, ScreenCommand } from "./types.js" */
/** @import { Draft } from "./catch-up-draft.js" */
/** @import { Option, Place, Said } from "./catch-up-places.js" */
import { reasonToCatchUp } from "./catch-up-bench.js";
import { draftOf, keepDraft, newDraft } from "./catch-up-draft.js";
import { placesOf, reportsOf } from "./catch-up-places.js";
import { el, find, setText, show } from "./dom.js";
import { clockTime, fill } from "./format.js";
import { forgetRefused, refusedOf, textOf } from "./refused.js";
import { command } from "./reports.js";
import { readClock } from "./times.js";

const NOT_NOW_KEY = "incubation.catch-up-not-now";

export class CatchUp {
  /** What the panel was drawn for. */
  #drawn = "";
  /** Places whose further answers are shown. @type {Set<string>} */
  #opened = new Set();
  /** The person for whom it was last looked. @type {string|null|undefined} */
  #person = undefined;
  #newHands = false;

  /** @param {BenchContext} screen */
  constructor(screen) {
    this.screen = screen;
    this.w = screen.w;
    this.panel = find(screen.root, ".catch-up");
    this.offer = find(screen.root, ".catch-up-offer");
    find(this.offer, ".catch-up-go").addEventListener("click", () => this.start());
    find(this.offer, ".catch-up-not-now").addEventListener("click", () => this.#notNow());
    find(this.panel, ".catch-up-close").addEventListener("click", () => this.#close());
    find(this.panel, ".catch-up-drop").addEventListener("click", () => this.#drop());
    find(this.panel, ".catch-up-done").addEventListener("click", () => this.#done());
  }

  /** Whether it can be begun now. */
  get canStart() {
    return this.screen.snapshot?.batch.phase === "running" && this.screen.shown.alone !== null;
  }

  /** Begins, or goes on. */
  start() {
    const draft = this.#draft() ?? newDraft();
    this.#keep({ ...draft, open: true });
    this.screen.render();
    find(this.panel, "h2").focus();
    this.panel.scrollIntoView?.({ block: "nearest" });
  }

  /** @param {BenchSnapshot} snapshot */
  render(snapshot) {
    const draft = this.#settled(this.#draft());
    const shown = draft !== null && draft.open && !draft.sent && this.canStart;
    show(this.panel, shown);
    this.#renderOffer(snapshot, draft);
    if (!shown) {
      this.#drawn = "";
      return;
    }
    const { w } = this;
    const places = this.#places(draft);
    const reports = this.#reports(places, draft);
    const open = places.filter(place => !saidOf(place, draft)).length;
    const drawn = JSON.stringify([places.map(p => [p.key, p.basis, p.options.map(o => [o.key, o.text, o.slots])]),
      draft, [...this.#opened], reports]);
    if (drawn === this.#drawn) return;
    this.#drawn = drawn;
    const focused = /** @type {HTMLElement|null} */ (document.activeElement)?.dataset?.key;
    setText(find(this.panel, ".catch-up-refused"), draft.refused ?? "");
    find(this.panel, ".catch-up-places").replaceChildren(...places.map(place => this.#place(place, draft)));
    const lines = reports.map(one => el("li", {},
      el("span", { className: "catch-up-at" }, clockTime(one.at, snapshot.zone, true)),
      el("span", {}, this.#textOf(one.says))));
    find(this.panel, ".catch-up-summary").replaceChildren(...lines);
    setText(find(this.panel, ".catch-up-left"), open > 0 ? fill(w("CatchUpLeft"), open)
      : reports.length === 0 ? w("CatchUpNothing") : w("CatchUpReady"));
    find(this.panel, ".catch-up-done").setAttribute("aria-disabled", String(open > 0));
    if (focused) [...this.panel.querySelectorAll("[data-key]")].map(one => /** @type {HTMLElement} */ (one))
      .find(one => one.dataset.key === focused)?.focus();
  }

  /**
   * Offered where much is not known, and to whoever takes over what somebody else left.
   * @param {BenchSnapshot} snapshot
   * @param {Draft|null} draft
   */
  #renderOffer(snapshot, draft) {
    const { screen, w } = this;
    const person = screen.live.who?.person ?? null;
    if (this.#person !== undefined && person !== null && person !== this.#person) this.#newHands = true;
    if (person !== null || this.#person === undefined) this.#person = person;
    const left = this.#newHands ? snapshot.questions.find(q => q.kind === "step-not-known")?.id : undefined;
    const reason = draft !== null ? draft.id : (reasonToCatchUp(snapshot, screen.clock.now()) ?? left ?? null);
    const shown = reason !== null && this.canStart && !(draft?.open ?? false) && !draft?.sent
      && sessionStorage.getItem(NOT_NOW_KEY) !== reason;
    this.offer.dataset.reason = reason ?? "";
    show(this.offer, shown);
    if (!shown) return;
    setText(find(this.offer, ".catch-up-why"), draft !== null ? w("CatchUpGoOn")
      : snapshot.questions.some(q => q.kind === "step-not-known") ? w("CatchUpNotKnown")
        : reason.startsWith("silent") ? w("CatchUpSilent") : w("CatchUpOutage"));
  }

  #notNow() {
    sessionStorage.setItem(NOT_NOW_KEY, this.offer.dataset.reason ?? "");
    this.screen.render();
  }

  /** For a while: what was said stays. */
  #close() {
    const draft = this.#draft();
    if (draft) this.#keep({ ...draft, open: false });
    this.screen.render();
    find(this.screen.root, ".bench-main").focus();
  }

  #drop() {
    this.#opened.clear();
    this.#keep(null);
    this.screen.render();
    find(this.screen.root, ".bench-main").focus();
  }

  /** All of it as one command; nothing where all is as it was believed to be. */
  #done() {
    const draft = this.#draft();
    if (!draft || draft.sent) return;
    const places = this.#places(draft);
    const first = places.find(place => !saidOf(place, draft));
    if (first) return void find(this.panel, `[data-key="${CSS.escape(first.key)}"]`).focus();
    const { screen } = this;
    const told = this.#reports(places, draft).map(one => command(one.says.kind ?? "", { at: one.at, stated: true },
      one.says));
    if (told.length > 0) {
      this.#keep({ ...draft, sent: true, refused: null });
      screen.live.send(screen.bench, { ...command("several", { at: screen.clock.now() }), id: draft.id, told });
    } else this.#keep(null);
    this.#opened.clear();
    sessionStorage.setItem(NOT_NOW_KEY, reasonToCatchUp(screen.shown, screen.clock.now()) ?? "");
    screen.render();
    find(screen.root, ".bench-main").focus();
  }

  /**
   * What became of what was sent, by what this browser keeps: it waits; or it was refused, and stands again; or it is
   * recorded.
   * @param {Draft|null} draft
   */
  #settled(draft) {
    const { live, bench } = this.screen;
    if (!draft?.sent || live.waiting(bench).some(said => said.id === draft.id)) return draft;
    const refused = refusedOf(bench).find(one => one.command.id === draft.id);
    if (!refused) return this.#keep(null);
    forgetRefused(bench, draft.id);
    return this.#keep({ ...draft, sent: false, open: true, refused: refused.sentence ?? this.w("NotTakenPlain") });
  }

  /** @param {Draft} draft */
  #places(draft) {
    const { live, bench, shown, clock } = this.screen;
    return placesOf(shown, live.untold(bench), clock.now(), draft.answers, this.w);
  }

  /**
   * Everything that would be reported, by time; with it that the outage was seen.
   * @param {Place[]} places
   * @param {Draft} draft
   */
  #reports(places, draft) {
    const { shown, clock } = this.screen;
    const outage = shown.questions.find(q => q.kind === "power-cut");
    /** @type {{at: number, says: Partial<ScreenCommand>}[]} */
    const seen = outage
      ? [{ at: clock.now(), says: { kind: "answer", question: outage.id, answer: "seen" } }] : [];
    return [...places.flatMap(place => {
      const said = saidOf(place, draft);
      return said ? reportsOf(place, said) : [];
    }).sort((a, b) => a.at - b.at), ...seen];
  }

  /**
   * @param {Place} place
   * @param {Draft} draft
   */
  #place(place, draft) {
    const { w } = this;
    const said = saidOf(place, draft);
    const chosen = said ? place.options.find(o => o.key === said.key) : undefined;
    const title = el("h3", { id: `catch-up-${place.key}` }, place.title);
    const body = said && chosen ? this.#answered(place, said, chosen) : this.#asked(place);
    return el("section", {
      className: "catch-up-place", "aria-labelledby": title.id, "data-answered": String(said !== null),
    }, title, ...(draft.answers[place.key] && !said ? [el("p", {}, w("CatchUpChanged"))] : []), ...body);
  }

  /** @param {Place} place */
  #asked(place) {
    const { w } = this;
    const [guess, ...others] = place.options;
    /** @param {Option} o @param {string} key @param {string} className */
    const button = (o, key, className) => el("button", {
      type: "button", className, "data-key": key, onclick: () => this.#choose(place, o),
    }, o === guess ? fill(w("CatchUpYes"), o.text) : o.text);
    const isOpen = this.#opened.has(place.key);
    const more = el("button", {
      type: "button", className: "side", "data-key": `${place.key}/more`, "aria-expanded": String(isOpen),
      onclick: () => this.#open(place.key),
    }, w("CatchUpOtherwise"));
    return [
      button(guess, place.key, "side catch-up-guess"),
      ...(isOpen ? others.map(o => button(o, `${place.key}/${o.key}`, "side")) : [more]),
    ];
  }

  /**
   * @param {Place} place
   * @param {Said} said
   * @param {Option} chosen
   */
  #answered(place, said, chosen) {
    const { w } = this;
    const { zone } = this.screen.shown;
    const timed = chosen.reports.flatMap((says, i) => (says.kind === "answer" || says.kind === "not-begun"
      || says.kind === "card-seen" ? [] : [{ says, i }]));
    const reports = reportsOf(place, said);
    return [
      el("p", { className: "catch-up-said" }, chosen.text.replace(/ \([^)]*\)$/, "")),
      ...(chosen.slots.length > 0 ? [this.#select(place, said, "slot", chosen.slots, "SlotNumber")] : []),
      ...(chosen.readers.length > 1 ? [this.#select(place, said, "reader", chosen.readers, "ReaderNumber")] : []),
      ...timed.map(({ i }) => {
        const input = /** @type {HTMLInputElement} */ (el("input", {
          type: "text", className: "dialog-input", inputMode: "numeric", autocomplete: "off",
          value: clockTime(said.times[i], zone, true), "data-key": `${place.key}/time-${i}`,
        }));
        input.addEventListener("change", () => this.#retime(place, said, i, input));
        return el("label", { className: "catch-up-time" }, this.#textOf(reports[i].says), input);
      }),
      el("button", {
        type: "button", className: "side", "data-key": place.key, onclick: () => this.#again(place.key),
        "aria-label": fill(w("CatchUpChangeOf"), place.title),
      }, w("CatchUpChange")),
    ];
  }

  /**
   * @param {Place} place
   * @param {Said} said
   * @param {"slot"|"reader"} member
   * @param {number[]} numbers
   * @param {string} word
   */
  #select(place, said, member, numbers, word) {
    const select = /** @type {HTMLSelectElement} */ (el("select", {
      className: "dialog-input", "data-key": `${place.key}/${member}`,
    }, ...numbers.map(number => el("option", { value: String(number), selected: number === said[member] },
      fill(this.w(word), number)))));
    select.addEventListener("change", () => this.#say(place.key, { ...said, [member]: Number(select.value) }));
    return el("label", { className: "catch-up-time" }, this.w("CatchUpWhere"), select);
  }

  /**
   * @param {Place} place
   * @param {Option} o
   */
  #choose(place, o) {
    this.#opened.delete(place.key);
    this.#say(place.key, {
      key: o.key, basis: place.basis, slot: o.slots[0] ?? null, reader: o.readers[0] ?? null, times: o.times,
    });
  }

  /**
   * @param {Place} place
   * @param {Said} said
   * @param {number} i
   * @param {HTMLInputElement} input
   */
  #retime(place, said, i, input) {
    const { clock, shown } = this.screen;
    const at = readClock(input.value, clock.now(), shown.zone);
    input.setAttribute("aria-invalid", String(at === null));
    if (at === null) setText(find(this.panel, ".catch-up-left"), this.w("AnyTimeUnreadable"));
    else this.#say(place.key, { ...said, times: said.times.map((time, n) => (n === i ? at : time)) });
  }

  /** @param {string} key */
  #open(key) {
    this.#opened.add(key);
    this.screen.render();
  }

  /** @param {string} key */
  #again(key) {
    this.#opened.add(key);
    const draft = this.#draft();
    if (!draft) return;
    const { [key]: _, ...answers } = draft.answers;
    this.#keep({ ...draft, answers, refused: null });
    this.screen.render();
  }

  /**
   * @param {string} key
   * @param {Said} said
   */
  #say(key, said) {
    const draft = this.#draft();
    if (draft) this.#keep({ ...draft, refused: null, answers: { ...draft.answers, [key]: said } });
    this.screen.render();
  }

  /** @param {Partial<ScreenCommand>} says */
  #textOf(says) {
    const { w } = this;
    if (says.kind === "answer")
      return says.answer === "seen" ? w("CatchUpOutageSeen")
        : fill(w("CatchUpNotBegun"), this.screen.shown.questions.find(q => q.id === says.question)?.specimen ?? "");
    return textOf(w, this.screen.shown, command(says.kind ?? "", { at: 0 }, says));
  }

  #draft() {
    return draftOf(this.screen.bench);
  }

  /** @template {Draft|null} T @param {T} draft @returns {T} */
  #keep(draft) {
    keepDraft(this.screen.bench, draft);
    return draft;
  }
}

/**
 * What was said of a place; null where nothing was, or something else is believed of it since.
 * @param {Place} place
 * @param {Draft} draft
 * @returns {Said|null}
 */
function saidOf(place, draft) {
  const said = draft.answers[place.key];
  return said && said.basis === place.basis && place.options.some(o => o.key === said.key) ? said : null;
}
