// The bench screen: one next thing, alarms, what comes after, the lanes. It counts, prompts and sounds by itself from
// the last snapshot, with or without a server.

/** @import { BenchContext } from "./context.js" */
/** @import { BenchSnapshot, OfferSnapshot } from "./types.js" */
import { Alarms } from "./alarms.js";
import { alarmsLeft } from "./alonealarms.js";
import { AloneScreen } from "./alonescreen.js";
import { BenchTaps } from "./bench-taps.js";
import { CatchUp } from "./catch-up.js";
import { Card } from "./card.js";
import { GOOD_ENOUGH_MS, ServerClock } from "./clock.js";
import { Column } from "./column.js";
import { find, setText, show } from "./dom.js";
import { loadsAgain } from "./form.js";
import { at, clockTime, fill, finishOf, ms } from "./format.js";
import { HandsChoice } from "./hands.js";
import { forgetLast, forgetOld, isOld, keepLast, lastOf } from "./keep.js";
import { Lanes } from "./lanes.js";
import { Live } from "./live.js";
import { Sounding } from "./sounding.js";
import { Refused } from "./refused.js";
import { command } from "./reports.js";
import { keepAwake, layoutOf } from "./screen.js";
import { Upcoming } from "./upcoming.js";
import { Who } from "./who.js";
import { readWords } from "./words.js";

const TICK_MS = 250;
const STILL_LOOKING_MS = 5000;
const HANDS_KEY = "incubation.hands";

/** @param {HTMLElement} root */
export function mount(root) {
  return new BenchScreen(root);
}

/** @implements {BenchContext} */
class BenchScreen {
  /** Since when the server has taken no reports, whoever is signed in. @type {number|null} */
  #heldSince = null;

  /** @param {HTMLElement} root */
  constructor(root) {
    this.root = root;
    this.bench = root.dataset.bench ?? "";
    this.w = readWords(root);
    /** Whether what this screen kept of the bench was too old to go on with. */
    this.forgot = forgetOld(Date.now()).includes(this.bench);
    this.clock = new ServerClock();
    this.live = new Live(this.clock, layoutOf());
    this.lanes = new Lanes(find(root, ".lanes-frame"), this.clock, {
      press: place => void this.taps.tellings.at(place),
      nameOf: place => fill(this.w("TellAt"), this.taps.tellings.titleOf(place)),
    });
    this.card = new Card(root, this.w);
    this.column = new Column(root);
    /** @type {BenchTaps} */
    this.taps = new BenchTaps(this);
    this.alarms = new Alarms(root, this.w, (action, alarm) => this.taps.alarm(action, alarm),
      alarm => this.taps.tellings.canTell(alarm));
    /** @type {BenchSnapshot|null} */
    this.snapshot = null;
    this.shownKey = "";
    this.spoken = "";
    this.timer = 0;

    this.live.onSnapshot = s => this.#take(s);
    this.who = new Who(this);
    this.live.onWho = () => this.render();
    this.live.onHeld = () => this.#held();
    this.refused = new Refused(this);
    /** @type {CatchUp} */
    this.catchUp = new CatchUp(this);
    this.upcoming = new Upcoming(this);
    /** @type {AloneScreen} */
    this.alone = new AloneScreen(this);
    this.hands = new HandsChoice(this);
    this.live.onLine = () => this.#line();
    this.live.onAnswer = (_, command, answer) => {
      this.taps.answered(command, answer);
      if (this.snapshot) keepLast(this.snapshot, this.live, this.clock);
    };
    this.live.onRefused = (_, sentence) => this.#cannotShow(sentence);
    /** @type {Sounding} */
    this.sounding = new Sounding(this);
    find(root, ".settle").addEventListener("click", () =>
      this.live.send(this.bench, command("settle", { at: this.clock.now() })),
    );
    this.ticker = setInterval(() => this.numerals(), TICK_MS);
    this.stopLayout = onLayout(layout => void this.live.relayout(layout));
    this.letSleep = keepAwake();
    setTimeout(() => this.snapshot || setText(this.card.title, this.w("StillLooking")), STILL_LOOKING_MS);
    this.render();
    void this.live.watch([this.bench]);
  }

  alarmStands() {
    return this.alarms.shown !== null;
  }

  end() {
    clearInterval(this.ticker);
    clearTimeout(this.timer);
    this.stopLayout();
    this.who.end();
    this.taps.endScan();
    this.letSleep();
    this.sounding.end();
    void this.live.end();
  }

  get shown() {
    if (!this.snapshot) throw new Error("Nothing is shown yet.");
    return this.snapshot;
  }

  /** Without a server, or with one that takes no reports now. */
  get isAlone() {
    return this.live.line.state === "alone" || this.#heldSince !== null;
  }

  /** Since when it is alone, or null. */
  get aloneSince() {
    return this.live.line.since ?? this.#heldSince;
  }

  /** @param {BenchSnapshot} snapshot */
  #take(snapshot) {
    this.snapshot = snapshot;
    this.forgot = false;
    this.#sayForgot();
    keepLast(snapshot, this.live, this.clock);
    this.taps.snapshot(snapshot);
    this.lanes.show(snapshot.lanes);
    this.sounding.attend();
    this.render();
  }

  #held() {
    const held = this.live.held(this.bench);
    this.#heldSince = held && !held.signIn ? (this.#heldSince ?? this.clock.now()) : null;
    this.render();
  }

  /** Too long without a word from the server: what is shown would be believed, and is not so any more. */
  #forget() {
    const { state, since } = this.live.line;
    if (state !== "alone" || since === null || !this.snapshot) return;
    if (!isOld((this.clock.now() - since) / this.snapshot.rate)) return;
    forgetLast(this.bench);
    this.live.forget(this.bench);
    this.snapshot = null;
    this.forgot = true;
    this.#sayForgot();
  }

  #sayForgot() {
    this.root.toggleAttribute("data-forgot", this.forgot);
    if (!this.forgot) return;
    clearTimeout(this.timer);
    this.sounding.plan();
    this.#cannotShow(this.w("KeptTooOld"), this.w("KeptTooOldText"));
  }

  /** Without a server from the beginning, the page goes on with what it knew last. */
  #line() {
    if (this.live.line.state === "connected") this.alone.taken = [];
    else if (this.snapshot) keepLast(this.snapshot, this.live, this.clock);
    if (this.isAlone && !this.snapshot) {
      const kept = lastOf(this.bench);
      if (kept) {
        this.live.resume(kept);
        this.snapshot = kept.snapshot;
        this.lanes.show(kept.snapshot.lanes);
      } else this.#sayForgot();
    }
    this.sounding.attend();
    this.render();
  }

  /** The alarms, without those that a report which waits has ended. */
  alarmsNow() {
    if (!this.snapshot) return [];
    return this.isAlone ? this.alone.alarms() : alarmsLeft(this.snapshot.alarms, this.live.untold(this.bench));
  }

  /**
   * @param {string} sentence
   * @param {string} [detail]
   */
  #cannotShow(sentence, detail = "") {
    if (!this.snapshot)
      this.card.idle({ title: sentence, detail, link: "/", linkText: this.w("BackToBenches") }, "", null, false);
  }

  /** The offers as they stand, those that wait for the server worked in. */
  offers() {
    if (!this.snapshot) return [];
    return this.isAlone ? this.alone.offers() : this.snapshot.offers;
  }

  questions() {
    return this.isAlone ? this.alone.questions() : this.shown.questions;
  }

  /** The offer that the card shows: of the chosen hands, else the earliest. */
  offer() {
    const offers = this.offers();
    const hands = Number(sessionStorage.getItem(HANDS_KEY));
    return offers.find(o => o.hands === hands) ?? offers[0] ?? null;
  }

  /** Shows the next thing of the hands that an offer is for, or what comes first. @param {OfferSnapshot|null} offer */
  choose(offer) {
    sessionStorage.setItem(HANDS_KEY, String(offer?.hands ?? ""));
  }

  /** Brings everything up to now, and sets the timer to the next instant at which something changes. */
  render() {
    const now = this.clock.now();
    this.#head();
    if (this.snapshot) {
      this.alarms.render(
        this.alarmsNow(),
        now,
        this.taps.seen,
        alarm => ms(this.snapshot?.slots.find(s => s.request === alarm.request)?.opens) ?? 0,
      );
      this.#cardNow(now);
      this.#after();
      this.taps.questions.render(this.questions());
      this.taps.also.render(this.snapshot);
      this.taps.urgent.render(this.snapshot);
      this.catchUp.render(this.snapshot);
      this.refused.render(this.snapshot);
      this.upcoming.render(now);
      this.sounding.plan();
      this.#setTimer(now);
    }
    this.numerals();
  }

  /** A page that cannot read what the server sends is loaded again, as soon as nothing is lost by it. */
  #renew() {
    if (this.live.otherForm === null) return;
    const waiting = this.live.waiting(this.bench).length;
    const busy = document.querySelector("dialog[open]") !== null;
    const page = { waiting, alarms: this.alarmsNow(), now: this.clock.now(), busy };
    if (loadsAgain(this.live.otherForm, page, sessionStorage)) location.reload();
  }

  /** The tick: numerals only. */
  numerals() {
    this.#renew();
    this.#forget();
    const now = this.clock.now();
    const zone = this.snapshot?.zone;
    if (zone) setText(find(this.root, ".clock-text"), clockTime(now, zone, true));
    this.#doubt();
    this.sounding.numerals(now);
    if (!this.snapshot) return;
    this.alarms.numerals(now);
    // Without a server time alone may bring another offer, or a question.
    if (this.isAlone && this.alone.isOther) return this.render();
    const offer = this.offer();
    if (offer) this.card.numerals(offer, now, this.taps.stateOf(offer));
    this.upcoming.numerals(now);
    this.column.fit();
    this.lanes.tick();
  }

  /**
   * The time of this screen may be off: said as soon as it matters, and once the first tries to ask the server are
   * over.
   */
  #doubt() {
    const off = this.clock.uncertainty;
    const doubt = find(this.root, ".clock-doubt");
    show(doubt, off > GOOD_ENOUGH_MS && this.live.line.state !== "connecting");
    setText(doubt, Number.isFinite(off) ? fill(this.w("ClockOff"), (off / 1000).toFixed(1)) : this.w("ClockUnsure"));
  }

  #head() {
    const { state, since } = this.live.line;
    const line = find(this.root, ".bench-line");
    line.dataset.line = state;
    setText(
      find(line, ".line-text"),
      this.w(state === "connected" ? "Connected" : state === "alone" ? "NotConnected" : "Connecting"),
    );
    if (this.snapshot) {
      setText(find(this.root, ".bench-name"), this.snapshot.name);
      const finish = finishOf(this.snapshot.batch, this.clock.now());
      setText(
        find(this.root, ".bench-headline"),
        this.snapshot.batch.headline +
          (finish === null ? "" : ` · ${fill(this.w("Finish"), clockTime(finish, this.snapshot.zone))}`),
      );
    }
    this.who.render();
    const alone = find(this.root, ".bench-alone");
    const waiting = this.live.waiting(this.bench).length;
    const words = waiting === 0 ? "Alone" : waiting === 1 ? "AloneWaitingOne" : "AloneWaiting";
    if (this.live.signedOut) setText(alone, fill(this.w("SignedOut"), waiting));
    else if (state === "alone" && since !== null)
      setText(alone, fill(this.w(words), clockTime(since, this.snapshot?.zone ?? "UTC", true), waiting));
    const held = state === "connected" && !this.live.signedOut ? this.live.held(this.bench) : null;
    if (held) setText(alone, fill(this.w(waiting === 1 ? "HeldOne" : "HeldMany"), held.sentence ?? "", waiting));
    show(alone, held !== null || (state === "alone" && (!this.forgot || waiting > 0)));
    this.root.dataset.line = state;
  }

  /** @param {number} now */
  #cardNow(now) {
    const snapshot = this.shown;
    const offer = this.offer();
    if (this.isAlone) this.alone.keepDrawn();
    this.hands.render(now);
    if (offer) {
      if (offer.key !== this.shownKey) this.taps.exchanged(offer);
      this.shownKey = offer.key;
      this.card.offer(offer, now, this.taps.stateOf(offer));
      this.#announce(offer, now);
      return;
    }
    this.shownKey = "";
    const alone = {
      title: this.w(this.#heldSince === null ? "AloneDone" : "HeldDone"),
      detail: this.w(this.#heldSince === null ? "AloneDoneText" : "HeldDoneText"),
      link: null,
      linkText: null,
      blocked: false,
    };
    const idle = (this.isAlone && snapshot.offers.length > 0 ? null : snapshot.batch.idle) ?? alone;
    const canStart = snapshot.batch.phase === "preparing" && snapshot.batch.total > 0 && !idle.blocked;
    this.card.idle(idle, this.w("Waiting"), canStart ? this.taps.startButton() : null,
      snapshot.batch.phase === "running");
    this.#say(idle.title);
  }

  #after() {
    const snapshot = this.shown;
    const { undo } = snapshot;
    // What waits for the server is younger than what the server would take back.
    const own = undo !== null && this.live.waiting(this.bench).length === 0
      && undo.device === this.live.who?.device && !this.taps.undone.has(undo.report);
    show(find(this.root, ".undo"), own);
    if (own) setText(find(this.root, ".undo"), undo.text);
    const { who } = this.live;
    const open = who?.kind === "person" ? (snapshot.unchecked.find(u => u.device === who.device)?.reports ?? 0) : 0;
    this.#count(".settle", open, "SettleOne", "Settle", who?.name ?? "");
    this.#count(".wired-results", snapshot.wiredResults, "WiredResultsOne", "WiredResults");
    this.#count(".results", snapshot.missingResults.length, "EnterResultsOne", "EnterResults");
  }

  /** @param {string} of @param {number} open @param {string} one @param {string} many @param {string[]} more */
  #count(of, open, one, many, ...more) {
    const link = find(this.root, of);
    show(link, open > 0);
    setText(link, open === 1 ? fill(this.w(one), ...more) : fill(this.w(many), open, ...more));
  }

  /**
   * @param {OfferSnapshot} offer
   * @param {number} now
   */
  #announce(offer, now) {
    if (now >= at(offer.promptAt))
      this.#say(fill(this.w(now >= at(offer.mayBegin) ? "AnnounceNow" : "AnnounceNext"), offer.title, offer.detail));
  }

  /** @param {string} sentence */
  #say(sentence) {
    if (sentence !== this.spoken) setText(find(this.root, ".announce"), (this.spoken = sentence));
  }

  /** @param {number} now */
  #setTimer(now) {
    clearTimeout(this.timer);
    const snapshot = this.shown;
    const instants = [
      ...this.offers().flatMap(o => [o.promptAt, o.mayBegin, o.plannedEnd, o.countTo, o.reportFrom]),
      ...snapshot.alarms.flatMap(a => [a.from, a.until, a.deadline, a.escalatesAt]),
      ...snapshot.slots.flatMap(s => [s.moveAt, s.opens, s.closes]),
    ].map(ms).filter(instant => instant !== null && instant > now);
    const next = Math.min(.../** @type {number[]} */ (instants));
    if (Number.isFinite(next))
      this.timer = setTimeout(() => this.render(), Math.min(this.clock.realUntil(next) + 1, 2 ** 30));
  }
}

/** @param {(layout: string) => void} changed */
function onLayout(changed) {
  const listener = () => changed(layoutOf());
  addEventListener("resize", listener);
  return () => removeEventListener("resize", listener);
}
