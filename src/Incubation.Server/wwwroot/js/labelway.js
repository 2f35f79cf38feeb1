// What a scan at the bench means. The labels' way: a scan of the cartridge's label is the report of its load, move or
// clear, as the clinic asks for it.

/** @import { BenchContext } from "./context.js" */
/** @import { BenchSnapshot, OfferSnapshot, ScreenCommand } from "./types.js" */
import { closeFirst } from "./dialogs.js";
import { at, fill, ms } from "./format.js";
import { isLabel, isSpecimen, judgeLabel, labelOf, nameOf } from "./labels.js";
import { isRackOpen, openRack } from "./rackopen.js";
import { blip } from "./racksound.js";
import { factsOf, placesOf } from "./told.js";
import { onScan } from "./wedge.js";

/** The steps at which a label is scanned, and what is told of each. */
const TOLD = { load: "loaded", move: "read-started", clear: "cleared" };

/** A scanner that sends a scan twice, or a hand that pulls its trigger twice, means one. */
const TWICE_MS = 10_000;

/**
 * Whether the label of an offer's cartridge is asked for or demanded.
 * @param {BenchSnapshot} snapshot One that was kept from before says nothing of it.
 * @param {OfferSnapshot} offer
 */
export function takesScan(snapshot, offer) {
  return (snapshot.labelScans === "asked" || snapshot.labelScans === "demanded") && offer.kind in TOLD;
}

/**
 * The step of an offer, done with another cartridge: null where that cannot be true of it.
 * @param {BenchSnapshot} snapshot
 * @param {OfferSnapshot} due
 * @param {string} request Whose label was scanned.
 * @param {ScreenCommand[]} waiting Reports that wait for the server.
 * @param {number} now
 * @returns {OfferSnapshot|null}
 */
export function withThisOne(snapshot, due, request, waiting, now) {
  const what = TOLD[/** @type {keyof typeof TOLD} */ (due.kind)];
  const fits = (/** @type {{slot?: number, reader?: number}} */ place) =>
    due.kind === "load" && due.slot !== null ? place.slot === due.slot : place.reader === due.reader;
  const fact = factsOf(snapshot, request, waiting).find(
    // What must be put right first is told where somebody can see all of it: at the slot or the reader.
    f => f.what === what && !f.notSo && !f.mixedBefore && (ms(f.earliest ?? null) ?? now) <= now
      && placesOf(f).some(fits),
  );
  const closes = ms(fact?.inTimeFrom ?? null);
  if (!fact || (closes !== null && now > closes)) return null;
  return { ...due, request, key: `${due.key}/${request}` };
}

export class LabelWay {
  /** The label that was a report last, and when. */
  #last = { request: "", at: -Infinity };

  /**
   * @param {BenchContext} screen
   * @param {object} does
   * @param {(offer: OfferSnapshot, at: number, scan: string) => void} does.report
   * @param {(sentence: string, actions: {label: string, act: () => void}[], about?: string) => void} does.notice
   * @param {() => void} does.close Closes the notice.
   */
  constructor(screen, does) {
    this.screen = screen;
    this.does = does;
    this.w = screen.w;
    /** The offer whose button is held because another cartridge or a wrong box was scanned for it. */
    this.wrongFor = "";
  }

  /** Hears scans, but for what an open intake hears. @returns {() => void} Stops listening. */
  listen() {
    return onScan(text => void this.scanned(text), () => this.#cut(), {
      isOthers: isRackOpen, unwanted: dialog => closeFirst(dialog, this.w("ScanCloseFirst")),
    });
  }

  /** A scan came in two parts: which cartridge or tube it is of is not known. */
  #cut() {
    blip(false);
    this.does.notice(this.w("ScanCut"), []);
  }

  /**
   * A label or a box was scanned: a cartridge is chosen where it is due, and reported where that is asked for; what is
   * wrong holds the button until somebody has seen it.
   * @param {string} text
   */
  async scanned(text) {
    const { screen, w } = this;
    if (!screen.snapshot || isRackOpen() || this.#isTwice(text)) return;
    const due = screen.offer();
    const box = isLabel(text) ? null : await screen.live.judgeBox(screen.bench, due?.request ?? null, text);
    const { offer, sentence } = box
      ? { offer: null, sentence: box.sentence }
      : judgeLabel(w, screen.snapshot, screen.offers(), due, text);
    const isRight = offer !== null || box?.isRight === true;
    this.wrongFor = isRight || !due ? "" : due.key;
    if (offer) screen.choose(offer);
    if (offer && this.right(offer)) return;
    const seen = { label: w("LabelSeen"), act: () => this.#seen() };
    const isNew = !box && !offer && isSpecimen(text);
    // Where nothing is due a tube can only be a new one; else it may be a slip, and whoever scanned it says so.
    if (isNew && !due) return openRack(screen.bench, { scanned: text });
    const wrong = isRight || !due ? null : this.wrong(due, text);
    const add = { label: w("LabelAddTube"), act: () => openRack(screen.bench, { scanned: text }) };
    const again = offer && takesScan(screen.snapshot, offer) ? ` ${w("ScanAgain")}` : "";
    if (wrong) this.does.notice(wrong.sentence, [seen, ...wrong.actions], this.wrongFor);
    else this.does.notice(sentence + again, isRight ? [] : isNew ? [seen, add] : [seen]);
    screen.render();
  }

  #seen() {
    this.wrongFor = "";
    this.does.close();
    this.screen.render();
  }

  /** What the card says beside an offer, or nothing. @param {OfferSnapshot} offer */
  hint(offer) {
    const { snapshot } = this.screen;
    if (!snapshot || !takesScan(snapshot, offer)) return "";
    return this.w(snapshot.labelScans === "demanded" ? "ScanDemanded" : "ScanAsked");
  }

  /** Whether a label was scanned again that was a report a moment ago. @param {string} text */
  #isTwice(text) {
    const label = this.screen.snapshot ? labelOf(this.screen.snapshot, text) : undefined;
    return label !== undefined && label.request === this.#last.request
      && performance.now() - this.#last.at < TWICE_MS;
  }

  /**
   * The label of an offer's cartridge was scanned: that is the report, from when the step can have been done.
   * @param {OfferSnapshot} offer
   * @returns {boolean} Whether it was taken; else the label is only the right one.
   */
  right(offer) {
    const now = this.screen.clock.now();
    if (!takesScan(this.screen.shown, offer) || now < at(offer.reportFrom)) return false;
    this.#take(offer, now, "scanned");
    return true;
  }

  /**
   * Another label than that of the step that is due was scanned.
   * @param {OfferSnapshot} due
   * @param {string} text
   * @returns {{sentence: string, actions: {label: string, act: () => void}[]}|null} What to say; null where labels are
   * not asked for here.
   */
  wrong(due, text) {
    const { shown, clock, live, bench } = this.screen;
    if (!takesScan(shown, due)) return null;
    blip(false);
    const [label, own] = [labelOf(shown, text), due.request];
    if (!label || label.over || own === null) return null;
    const sentence = fill(this.w("LabelNotNext"), nameOf(this.w, shown, label.request, own),
      nameOf(this.w, shown, own, label.request));
    const now = clock.now();
    const done = withThisOne(shown, due, label.request, live.waiting(bench), now);
    // When it was scanned is when it was done.
    const act = () => done && this.#take(done, now, "other-than-planned");
    return { sentence, actions: done ? [{ label: this.w("LabelWithThisOne"), act }] : [] };
  }

  /**
   * The button was pressed where a scan is demanded: it is asked for first.
   * @param {OfferSnapshot} offer
   * @param {() => void} report What is said without one.
   * @returns {boolean} Whether it was asked for.
   */
  asksFirst(offer, report) {
    const { shown } = this.screen;
    if (shown.labelScans !== "demanded" || !takesScan(shown, offer)) return false;
    blip(false);
    const name = nameOf(this.w, shown, offer.request ?? "", null);
    this.does.notice(fill(this.w("ScanFirst"), name), [
      { label: this.w("DoneWithoutScan"), act: report },
      { label: this.w("Close"), act: this.does.close },
    ], offer.key);
    return true;
  }

  /**
   * @param {OfferSnapshot} offer
   * @param {number} when
   * @param {string} scan
   */
  #take(offer, when, scan) {
    this.#last = { request: offer.request ?? "", at: performance.now() };
    blip(true);
    this.does.report(offer, when, scan);
  }
}
