// What happened, told from where somebody stands: at an alarm, a slot or a reader. One press says what is true, another
// in which place or of which cartridge where that must be said, and one time when.

/** @import { BenchContext } from "./context.js" */
/** @import { AlarmSnapshot, ScreenCommand } from "./types.js" */
/** @import { Fact, Place } from "./told.js" */
import { askLot, choose } from "./dialogs.js";
import { fill, ms } from "./format.js";
import { command } from "./reports.js";
import { askWhen } from "./times.js";
import { commandsOf, factsAt, factsOf, placesOf, tellingsOf } from "./told.js";

const WORDS = {
  mixed: "TellMixed",
  loaded: "TellLoaded",
  "read-started": "TellReadStarted",
  cleared: "TellCleared",
  elsewhere: "TellElsewhere",
  "other-time": "TellOtherTime",
  fell: "TellFell",
  "thrown-away": "TellThrownAway",
  gone: "TellGone",
  "not-mixed": "TellNotMixed",
  "still-mixed": "TellStillMixed",
  "still-here": "TellStillHere",
  "not-thrown-away": "TellNotThrownAway",
};

export class Tellings {
  /**
   * @param {BenchContext} screen
   * @param {(said: ScreenCommand) => void} send
   */
  constructor(screen, send) {
    this.screen = screen;
    this.send = send;
    this.w = screen.w;
  }

  /** Whether anything can be told of an alarm's cartridge. @param {AlarmSnapshot} alarm */
  canTell(alarm) {
    return this.screen.snapshot !== null && alarm.request !== ""
      && factsOf(this.screen.shown, alarm.request, this.#waiting()).length > 0;
  }

  /** What happened to an alarm's cartridge. @param {AlarmSnapshot} alarm */
  async atAlarm(alarm) {
    const place = tellingsOf(this.screen.shown).find(t => t.request === alarm.request);
    if (place?.slot) return this.at({ slot: place.slot });
    if (place?.reader) return this.at({ reader: place.reader });
    const facts = factsOf(this.screen.shown, alarm.request, this.#waiting());
    return this.#ask(fill(this.w("Mixture"), this.#nameOf(alarm.request)), facts, {}, []);
  }

  /**
   * When a read was started that is told at its alarm, null where that was cancelled: just now; but of a step that is
   * not known it may have been long ago, and its reader is busy from then on, so it is asked.
   * @param {AlarmSnapshot} alarm
   * @returns {Promise<{at: number, stated?: boolean}|null>}
   */
  async whenRead(alarm) {
    if (!this.screen.shown.questions.some(q => q.kind === "step-not-known" && q.request === alarm.request))
      return { at: this.screen.clock.now() };
    const said = await askWhen(this.screen, this.w("EarlierTitle"), alarm.title, true);
    return said === null ? null : { at: said.at, stated: true };
  }

  /** What is true of a place. @param {Place} place */
  async at(place) {
    if (!this.screen.snapshot) return;
    const { own, others } = factsAt(this.screen.shown, place, this.#waiting());
    const more = [];
    if (others.length > 0) more.push({ label: this.w("TellOther"), act: () => this.#other(place, others) });
    if (place.reader !== undefined && this.screen.shown.batch.phase !== "preparing")
      more.push({ label: this.w("TellCard"), act: () => this.#card(place.reader ?? 0) });
    await this.#ask(this.titleOf(place), own, place, more);
  }

  /** A place with the specimen in it. @param {Place} place */
  titleOf(place) {
    const inside = place.slot === undefined
      ? this.screen.shown.readers.find(r => r.reader === place.reader)?.specimen
      : this.screen.shown.slots.find(s => s.slot === place.slot)?.specimen;
    return fill(this.w("TellPlace"), this.#wordOf(place), inside ?? this.w("TellFree"));
  }

  /**
   * @param {string} title
   * @param {Fact[]} facts
   * @param {Place} here Where it is asked; empty at an alarm of a mixture.
   * @param {{label: string, act: () => Promise<void>}[]} more
   */
  async #ask(title, facts, here, more) {
    const { w } = this;
    const several = new Set(facts.map(fact => fact.request)).size > 1;
    const lines = facts.map(fact => ({
      label: this.#says(fact, here, several),
      act: () => this.#tell(fact, this.#says(fact, here, true), here),
    }));
    const all = [...lines, ...more];
    const line = await choose(w, title, w(all.length === 0 ? "TellNothing" : "TellText"),
      all.map(one => ({ label: one.label, value: one })));
    await line?.act();
  }

  /**
   * Which other is in here.
   * @param {Place} place
   * @param {Fact[]} others
   */
  async #other(place, others) {
    const fact = await choose(this.w, this.titleOf(place), this.w("TellWhich"),
      others.map(one => ({ label: this.#nameOf(one.request), value: one })));
    if (!fact) return;
    const words = fill(this.w("TellIsIn"), this.#nameOf(fact.request), this.#wordOf(place));
    await this.#finish(fact, words, place);
  }

  /** @param {number} reader */
  async #card(reader) {
    const lot = await askLot(this.w, null, this.screen.shown.lots);
    if (lot !== null) this.send(command("card-seen", { at: this.screen.clock.now() }, { reader, lot }));
  }

  /**
   * @param {Fact} fact
   * @param {string} words
   * @param {Place} here
   */
  async #tell(fact, words, here) {
    const places = placesOf(fact);
    const own = places.length === 1 ? places[0]
      : places.length === 0 ? {}
      : await choose(this.w, words, this.w("TellWhere"),
        places.map(place => ({ label: this.#labelOf(place, here), value: place })));
    if (own) await this.#finish(fact, words, own);
  }

  /**
   * @param {Fact} fact
   * @param {string} words
   * @param {Place} place
   */
  async #finish(fact, words, place) {
    const { clock } = this.screen;
    const earliest = ms(fact.earliest ?? null);
    const when = earliest === null ? { at: clock.now() }
      : await askWhen(this.screen, this.w("EarlierTitle"), words, true, earliest);
    if (when === null) return;
    for (const said of commandsOf(fact, place, when.at, clock.now(), words)) this.send(said);
  }

  /**
   * A place, and what is believed to be in it.
   * @param {Place} place
   * @param {Place} here
   */
  #labelOf(place, here) {
    const isHere = place.slot === here.slot && place.reader === here.reader;
    return isHere ? fill(this.w("TellHere"), this.#wordOf(place)) : this.titleOf(place);
  }

  /**
   * @param {Fact} fact
   * @param {Place} here
   * @param {boolean} named
   */
  #says(fact, here, named) {
    const key = fact.what === "gone" && (here.slot ?? here.reader) !== undefined
      ? "TellNothingHere" : WORDS[/** @type {keyof typeof WORDS} */ (fact.what)];
    return named ? fill(this.w("TellNamed"), this.#nameOf(fact.request), this.w(key)) : this.w(key);
  }

  /** @param {Place} place */
  #wordOf(place) {
    return place.slot === undefined
      ? fill(this.w("ReaderNumber"), place.reader ?? 1) : fill(this.w("SlotNumber"), place.slot);
  }

  /** @param {string} request */
  #nameOf(request) {
    return this.screen.shown.labels.find(label => label.request === request)?.specimen ?? request;
  }

  #waiting() {
    return this.screen.live.untold(this.screen.bench);
  }
}
