// What taps on the bench screen do.

/** @import { BenchContext } from "./context.js" */
/** @import { AlarmSnapshot, BenchSnapshot, CommandAnswer, OfferSnapshot, ScreenCommand } from "./types.js" */
import { reasonOf } from "./alone.js";
import { Also } from "./also.js";
import { askDiscard, askLot, cartridgesOf, choose } from "./dialogs.js";
import { el, find, setText, show } from "./dom.js";
import { at, fill, ms } from "./format.js";
import { LabelWay } from "./labelway.js";
import { Life } from "./life.js";
import { Questions } from "./questions.js";
import { command, isReport, reportOf } from "./reports.js";
import { Tellings } from "./tellings.js";
import { askClock, askWhen } from "./times.js";
import { UrgentNews } from "./urgent.js";

/** A tap so soon after the offer was exchanged was meant for the one before. */
const GUARD_MS = 600;
/** A touch belongs to the click that follows it within this time. */
const TOUCH_MS = 3000;
/** Recorded, and yet no snapshot that knows of it: shown again after so long. */
const NO_NEWS_MS = 4000;

export class BenchTaps {
  /** @param {BenchContext} screen */
  constructor(screen) {
    this.screen = screen;
    this.w = screen.w;
    /** Offers reported here that no snapshot has taken up yet. @type {Map<string, {id: string, revision: number}>} */
    this.tapped = new Map();
    /** Alarms acknowledged here. @type {Set<string>} */
    this.seen = new Set();
    /** Reports taken back here. @type {Set<string>} */
    this.undone = new Set();
    /** Cartridges given up that left no specimen for a repeat. @type {Set<string>} */
    this.spent = new Set();
    const send = (/** @type {ScreenCommand} */ said) => this.#send(said);
    this.life = new Life(screen, send);
    this.questions = new Questions(screen, send);
    this.also = new Also(screen, send);
    this.urgent = new UrgentNews(screen);
    this.tellings = new Tellings(screen, send);
    this.way = new LabelWay(screen, {
      report: (offer, at, scan) => void this.#press(offer, at, scan),
      notice: (sentence, actions, about) => this.#notice(sentence, actions, about),
      close: () => show(find(screen.root, ".notice"), false),
    });
    this.endScan = this.way.listen();
    /** The offer that a notice is about, which goes with it. */
    this.noticeFor = "";
    this.startId = "";
    this.exchangedAt = -Infinity;
    this.touchAt = 0;
    this.touchLocal = -Infinity;

    const root = screen.root;
    const big = find(root, ".big");
    big.addEventListener("pointerdown", () => {
      this.touchAt = screen.clock.now();
      this.touchLocal = performance.now();
    });
    big.addEventListener("click", () => void this.#big(big));
    find(root, ".earlier").addEventListener("click", () => void this.#earlier());
    find(root, ".problem").addEventListener("click", () => void this.#problem());
    find(root, ".not-begun").addEventListener("click", () => this.#notBegun());
    find(root, ".undo").addEventListener("click", () => void this.life.undo());
  }

  /**
   * How the button of an offer stands.
   * @param {OfferSnapshot} offer
   */
  stateOf(offer) {
    const tapped = this.tapped.get(offer.key);
    return {
      recorded: tapped ? this.w(this.screen.isAlone ? "RecordedWaits" : "Recorded") : null,
      guarded: performance.now() - this.exchangedAt < GUARD_MS || this.way.wrongFor === offer.key,
      held: this.way.wrongFor === offer.key,
      scan: this.way.hint(offer),
    };
  }

  /** The card shows another offer than before. @param {OfferSnapshot} offer */
  exchanged(offer) {
    this.way.wrongFor = "";
    if (this.noticeFor !== "" && this.noticeFor !== offer.key) show(find(this.screen.root, ".notice"), false);
    this.exchangedAt = performance.now();
    setTimeout(() => this.screen.numerals(), GUARD_MS + 10);
  }

  /** @param {BenchSnapshot} snapshot */
  snapshot(snapshot) {
    const waiting = new Set(this.screen.live.waiting(snapshot.bench).map(c => c.id));
    for (const [key, { id, revision }] of this.tapped)
      if (snapshot.revision > revision && !waiting.has(id)) this.tapped.delete(key);
    const standing = new Map(snapshot.alarms.map(a => [a.id, a]));
    for (const id of this.seen) if (standing.get(id)?.acknowledged !== false) this.seen.delete(id);
    if (snapshot.batch.phase !== "preparing") this.startId = "";
    for (const loss of snapshot.losses) if (!loss.repeatLeft) this.spent.add(loss.request);
  }

  /**
   * The server has answered.
   * @param {ScreenCommand} said
   * @param {CommandAnswer} answer
   */
  answered(said, answer) {
    if (!answer.recorded) {
      this.#notTaken(said);
      if (said.kind === "out-of-use" && said.resource === "hands" && !said.anyway) return this.#askAnyway(said, answer);
      // A report that is refused stands in a list of its own, until somebody has seen to it.
      if (!isReport(said))
        this.#notice(this.#refusal(answer.sentence), []);
    } else if (said.kind === "discarded" && !this.spent.has(said.request ?? "")) this.#offerRepeat(said);
    else if (said.kind === "repeat") this.#notice(this.w("RepeatPlanned"), []);
    setTimeout(() => {
      for (const [key, { id }] of this.tapped) if (id === said.id) this.tapped.delete(key);
      if (said.id === this.startId) this.startId = "";
      this.screen.render();
    }, NO_NEWS_MS);
    this.screen.render();
  }

  /**
   * Why something was not taken; some of the server's sentences begin with that by themselves.
   * @param {string|null} sentence
   */
  #refusal(sentence) {
    if (!sentence) return this.w("NotTakenPlain");
    return sentence.startsWith(fill(this.w("NotTaken"), "").trim()) ? sentence : fill(this.w("NotTaken"), sentence);
  }

  /** It stands as if it had not been tapped. @param {ScreenCommand} said */
  #notTaken(said) {
    for (const [key, { id }] of this.tapped) if (id === said.id) this.tapped.delete(key);
    if (said.id === this.startId) this.startId = "";
    if (said.alarm) this.seen.delete(said.alarm);
    if (said.of) this.undone.delete(said.of);
    this.questions.refused(said);
  }

  /**
   * Stepping away would lose something: the sentence says what, and the person decides.
   * @param {ScreenCommand} said
   * @param {CommandAnswer} answer
   */
  #askAnyway(said, answer) {
    this.#notice(answer.sentence ?? this.w("NotTakenPlain"), [
      {
        label: this.w("AwayAnyway"),
        act: () =>
          this.#send(
            command(
              "out-of-use",
              { at: this.screen.clock.now() },
              { resource: said.resource, number: said.number, minutes: said.minutes, anyway: true },
            ),
          ),
      },
      { label: this.w("AwayStay"), act: () => show(find(this.screen.root, ".notice"), false) },
    ]);
    this.screen.render();
  }

  /** The button of a batch that can be started. */
  startButton() {
    return { text: this.w(this.startId ? "BatchStarted" : "StartBatch"), off: this.startId !== "" };
  }

  /**
   * An alarm's action was tapped.
   * @param {string} action
   * @param {AlarmSnapshot} alarm
   */
  async alarm(action, alarm) {
    const when = { at: this.screen.clock.now() };
    if (action === "loaded") this.#done(action, alarm, when);
    else if (action === "read-started") this.#done(action, alarm, await this.tellings.whenRead(alarm));
    else if (action === "tell") await this.tellings.atAlarm(alarm);
    else if (action === "confirm-time") location.assign("clock");
    else if (action === "acknowledge") {
      this.seen.add(alarm.id);
      this.#send(command("acknowledge", when, { alarm: alarm.id }));
    } else if (action === "discard") {
      const usual = alarm.id.startsWith("mixture") ? "mixture-too-old" : "window-closed";
      await this.#discard(alarm.request, alarm.reason ?? reasonOf(this.screen.shown, alarm.request) ?? usual);
    } else if (action === "started-in-time") {
      const { w } = this;
      const words = { label: w("InTimeClock"), wrong: w("InTimeUnreadable"), record: w("InTimeRecord") };
      const started = await askClock(this.screen, w("InTimeTitle"), w("InTimeText"), words);
      if (started !== null)
        this.#send(command("read-started", { at: started, stated: true },
          { request: alarm.request, reader: alarm.reader, inTime: true }));
    }
  }

  /**
   * What an alarm asks for has been done.
   * @param {"read-started"|"loaded"} kind
   * @param {AlarmSnapshot} alarm
   * @param {{at: number, stated?: boolean}|null} when Null where it was cancelled.
   */
  #done(kind, alarm, when) {
    if (when === null) return;
    const step = kind === "loaded" ? "load" : "move";
    const offer = this.screen.offers().find(o => o.kind === step && o.request === alarm.request);
    if (offer) this.#reportOrAsk(offer, when);
    else this.#send(command(kind, when, { request: alarm.request, slot: alarm.slot, reader: alarm.reader }));
  }

  /** @param {HTMLElement} big */
  async #big(big) {
    const { screen } = this;
    const touched = performance.now() - this.touchLocal < TOUCH_MS ? this.touchAt : screen.clock.now();
    if (big.getAttribute("aria-disabled") === "true" || !screen.snapshot) return;
    const offer = screen.offer();
    if (!offer) {
      await this.#start();
      return;
    }
    if (offer.kind === "discard") return void this.#discard(offer.request, offer.reason ?? "window-closed");
    if (offer.kind === "card-change") {
      const lot = await askLot(this.w, offer.lot, this.screen.shown.lots);
      if (lot !== null) this.#report({ ...offer, lot }, { at: screen.clock.now() });
      return;
    }
    const without = () => void this.#press(offer, touched, "not-scanned");
    if (!this.way.asksFirst(offer, without)) await this.#press(offer, touched, null);
  }

  /**
   * The step of an offer is reported, of which a person may have to say when it ended.
   * @param {OfferSnapshot} offer
   * @param {number} touched
   * @param {string|null} scan What is said of its label.
   */
  async #press(offer, touched, scan) {
    const { screen } = this;
    const askAfter = ms(offer.askWhenAfter);
    if (askAfter !== null && touched > askAfter) {
      const said = await askWhen(
        screen,
        this.w(offer.kind === "mix" ? "MixEndTitle" : "LoadEndTitle"),
        offer.kind === "mix" ? this.w("MixEndText") : this.w("LoadEndText"),
        true,
      );
      if (said !== null) this.#report(offer, { at: said.at, stated: true }, scan);
      return;
    }
    this.#report(offer, { at: touched }, scan);
  }

  /** Not before this screen has been heard, or somebody has said that it is not. */
  async #start() {
    const { screen, w } = this;
    if (screen.shown.batch.phase !== "preparing") return;
    // A locked tablet is told first that it must be somebody who starts.
    if (screen.live.who?.kind !== "tablet") {
      const runSheet = `benches/${encodeURIComponent(screen.bench)}/run-sheet`;
      const answer = await screen.sounding.hearing.ask({
        go: w("HearStart"),
        without: w("HearStartWithout"),
        runSheet,
      });
      screen.sounding.attend();
      if (!answer || screen.shown.batch.phase !== "preparing") return;
    }
    const start = command("start-batch", { at: screen.clock.now() });
    this.startId = start.id;
    this.#send(start);
  }

  async #earlier() {
    const offer = this.screen.offer();
    if (!offer || this.tapped.has(offer.key)) return;
    const lot = offer.kind === "card-change" ? await askLot(this.w, offer.lot, this.screen.shown.lots) : null;
    if (offer.kind === "card-change" && lot === null) return;
    const said = await askWhen(this.screen, this.w("EarlierTitle"), offer.title, false);
    if (said === null) return;
    const when = { at: said.at, stated: true };
    if (offer.kind === "discard") await this.#discard(offer.request, offer.reason ?? "window-closed", when);
    else this.#reportOrAsk({ ...offer, lot: lot ?? offer.lot }, when);
  }

  #notBegun() {
    const offer = this.screen.offer();
    if (offer) this.#send(command("not-begun", { at: this.screen.clock.now() }, { hands: offer.hands }));
  }

  /** Everything that a person may have to say beside the one next thing. */
  async #problem() {
    const { screen, w } = this;
    const offer = screen.offer();
    const lines = [{ label: w("ProblemDiscard"), act: () => this.#discard(offer?.request ?? null, null) }];
    if (offer && screen.clock.now() >= at(offer.mayBegin))
      lines.push({ label: w("ProblemNotBegun"), act: async () => this.#notBegun() });
    if (screen.catchUp.canStart) lines.push({ label: w("CatchUpLine"), act: async () => screen.catchUp.start() });
    // Without its server the page takes what concerns cartridges in work; the rest needs an answer.
    if (!screen.isAlone) lines.push(...this.life.lines());
    const undo = find(screen.root, ".undo");
    if (!undo.hidden) lines.push({ label: undo.textContent ?? "", act: () => this.life.undo() });
    const line = await choose(
      w,
      w("ProblemTitle"),
      offer?.title ?? null,
      lines.map(l => ({ label: l.label, value: l })),
    );
    await line?.act();
  }

  /**
   * @param {string|null} request
   * @param {string|null} reason
   * @param {{at: number, stated?: boolean}} [when] Where it has been said; else when it is confirmed.
   */
  async #discard(request, reason, when) {
    const cartridges = cartridgesOf(this.w, this.screen.shown);
    const known = cartridges.some(c => c.request === request) ? request : null;
    const said = await askDiscard(this.w, cartridges, known, reason);
    if (!said) return;
    const discarded = command("discarded", when ?? { at: this.screen.clock.now() }, said);
    const offer = this.screen.offer();
    if (offer?.request === said.request) this.#mark(offer, discarded);
    this.#send(discarded);
  }

  /**
   * @param {OfferSnapshot} offer
   * @param {{at: number, stated?: boolean}} when
   */
  #reportOrAsk(offer, when) {
    if (!this.way.asksFirst(offer, () => this.#report(offer, when, "not-scanned"))) this.#report(offer, when);
  }

  /**
   * @param {OfferSnapshot} offer
   * @param {{at: number, stated?: boolean}} when
   * @param {string|null} [scan] What is said of its label.
   */
  #report(offer, when, scan = null) {
    if (this.tapped.has(offer.key)) return;
    this.way.wrongFor = "";
    const report = { ...reportOf(offer, when), ...(scan === null ? {} : { scan }) };
    this.#mark(offer, report);
    this.#send(report);
  }

  /**
   * @param {OfferSnapshot} offer
   * @param {ScreenCommand} report
   */
  #mark(offer, report) {
    this.tapped.set(offer.key, { id: report.id, revision: this.screen.shown.revision });
  }

  /** @param {ScreenCommand} said */
  #send(said) {
    show(find(this.screen.root, ".notice"), false);
    if (this.screen.live.send(this.screen.bench, said) === false) {
      this.#notTaken(said);
      this.#notice(this.w("BoxFull"), []);
    }
    this.screen.render();
  }

  /** @param {ScreenCommand} discarded */
  #offerRepeat(discarded) {
    const { w, screen } = this;
    const name =
      cartridgesOf(w, screen.shown).find(c => c.request === discarded.request)?.label ?? discarded.request ?? "";
    this.#notice(`${fill(w("RepeatTitle"), name)}. ${w("RepeatText")}`, [
      {
        label: w("RepeatPlan"),
        act: () => this.#send(command("repeat", { at: screen.clock.now() }, { request: discarded.request })),
      },
      { label: w("RepeatNot"), act: () => show(find(screen.root, ".notice"), false) },
    ]);
  }

  /**
   * @param {string} sentence
   * @param {{label: string, act: () => void}[]} actions
   * @param {string} [about] The offer without which it means nothing.
   */
  #notice(sentence, actions, about = "") {
    this.noticeFor = about;
    const notice = find(this.screen.root, ".notice");
    const buttons = actions.length > 0 ? actions : [{ label: this.w("Close"), act: () => show(notice, false) }];
    setText(find(notice, ".notice-text"), sentence);
    find(notice, ".notice-actions").replaceChildren(
      ...buttons.map(b => el("button", { type: "button", className: "side", onclick: b.act }, b.label)),
    );
    show(notice, true);
  }
}
