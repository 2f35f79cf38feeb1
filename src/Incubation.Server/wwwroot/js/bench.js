// The bench screen: one next thing, alarms, what comes after, the lanes. It counts, prompts and sounds by itself from the last
// snapshot, with or without a server.

/** @import { AlarmSnapshot, BenchSnapshot, CommandAnswer, LineState, OfferSnapshot, ScreenCommand } from "./types.js" */
import { Alarms } from "./alarms.js";
import { offersAlone, upcomingAlone } from "./alone.js";
import { BenchTaps } from "./bench-taps.js";
import { Card } from "./card.js";
import { ServerClock } from "./clock.js";
import { el, find, setText, show } from "./dom.js";
import { at, clockTime, fill, length, ms } from "./format.js";
import { Lanes } from "./lanes.js";
import { Live } from "./live.js";
import { Sounder } from "./sound.js";
import { planSounds, standing } from "./soundplan.js";
import { command } from "./reports.js";
import { keepAwake, layoutOf } from "./screen.js";
import { Who } from "./who.js";
import { readWords } from "./words.js";

const TICK_MS = 250;
const SOUND_EVERY_MS = 20_000;
const SOUND_AHEAD_MS = 150_000;
const STILL_LOOKING_MS = 5000;
const HANDS_KEY = "incubation.hands";

/** @param {HTMLElement} root */
export function mount(root) {
  return new BenchScreen(root);
}

class BenchScreen {
  /** @param {HTMLElement} root */
  constructor(root) {
    this.root = root;
    this.bench = root.dataset.bench ?? "";
    this.w = readWords(root);
    this.clock = new ServerClock();
    this.sounder = new Sounder();
    this.live = new Live(this.clock, layoutOf());
    this.lanes = new Lanes(find(root, ".lanes-frame"), this.clock);
    this.card = new Card(root, this.w);
    this.taps = new BenchTaps(this);
    this.alarms = new Alarms(root, this.w, (action, alarm) => this.taps.alarm(action, alarm));
    /** @type {BenchSnapshot|null} */
    this.snapshot = null;
    this.shownKey = "";
    this.spoken = "";
    this.timer = 0;

    this.live.onSnapshot = s => this.#take(s);
    this.who = new Who(this);
    this.live.onWho = () => this.render();
    this.live.onLine = () => this.render();
    this.live.onAnswer = (_, command, answer) => this.taps.answered(command, answer);
    this.live.onRefused = (_, sentence) => this.#cannotShow(sentence);
    this.sounder.onChange = () => this.render();
    find(root, ".settle").addEventListener("click", () => this.live.send(this.bench, command("settle", { at: this.clock.now() })));
    find(root, ".bench-sound").addEventListener("click", () => void this.sounder.arm());
    this.ticker = setInterval(() => this.numerals(), TICK_MS);
    this.planner = setInterval(() => this.planSounds(), SOUND_EVERY_MS);
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
    clearInterval(this.planner);
    clearTimeout(this.timer);
    this.stopLayout();
    this.who.end();
    this.letSleep();
    this.sounder.silence();
    void this.live.end();
  }

  get isAlone() {
    return this.live.line.state === "alone";
  }

  /** @param {BenchSnapshot} snapshot */
  #take(snapshot) {
    this.snapshot = snapshot;
    this.taps.snapshot(snapshot);
    this.lanes.show(snapshot.lanes);
    this.render();
  }

  /** @param {string} sentence */
  #cannotShow(sentence) {
    if (!this.snapshot) this.card.idle({ title: sentence, detail: "", link: "/", linkText: this.w("BackToBenches") }, "", null, false);
  }

  /** The offers as they stand, those that wait for the server worked in. */
  offers() {
    if (!this.snapshot) return [];
    return this.isAlone
      ? offersAlone(this.snapshot, this.live.waiting(this.bench), this.live.line.since ?? 0, this.w)
      : this.snapshot.offers;
  }

  /** The offer that the card shows: of the chosen hands, else the earliest. */
  offer() {
    const offers = this.offers();
    const hands = Number(sessionStorage.getItem(HANDS_KEY));
    return offers.find(o => o.hands === hands) ?? offers[0] ?? null;
  }

  /** Brings everything up to now, and sets the timer to the next instant at which something changes. */
  render() {
    const now = this.clock.now();
    this.#head();
    if (this.snapshot) {
      this.alarms.render(this.snapshot.alarms, now, this.taps.seen);
      this.#cardNow(now);
      this.#after();
      this.#upcoming(now);
      this.planSounds();
      this.#setTimer(now);
    }
    this.numerals();
  }

  /** The tick: numerals only. */
  numerals() {
    const now = this.clock.now();
    const zone = this.snapshot?.zone;
    if (zone) setText(find(this.root, ".clock-text"), clockTime(now, zone, true));
    if (!this.snapshot) return;
    this.alarms.numerals(now);
    const offer = this.offer();
    if (offer) this.card.numerals(offer, now, this.taps.stateOf(offer));
    for (const item of this.root.querySelectorAll(".upcoming-in")) setText(item, this.#until(Number(/** @type {HTMLElement} */ (item).dataset.start), now));
    this.lanes.tick();
  }

  planSounds() {
    if (!this.snapshot) return;
    const silenced = new Set([...this.taps.seen, ...this.taps.tapped.keys()]);
    const ahead = { ...this.snapshot, offers: this.offers() };
    this.sounder.schedule(planSounds(ahead, this.clock.now(), this.clock.rate, SOUND_AHEAD_MS, silenced));
  }

  #head() {
    const { state, since } = this.live.line;
    const line = find(this.root, ".bench-line");
    line.dataset.line = state;
    setText(find(line, ".line-text"), this.w(state === "connected" ? "Connected" : state === "alone" ? "NotConnected" : "Connecting"));
    const sound = find(this.root, ".bench-sound");
    sound.setAttribute("aria-pressed", String(this.sounder.isArmed));
    setText(sound, this.w(this.sounder.isArmed ? "SoundOn" : this.sounder.audio ? "SoundOff" : "NoSound"));
    if (this.snapshot) {
      setText(find(this.root, ".bench-name"), this.snapshot.name);
      const finish = ms(this.snapshot.batch.finish);
      setText(find(this.root, ".bench-headline"),
        this.snapshot.batch.headline + (finish === null ? "" : ` · ${fill(this.w("Finish"), clockTime(finish, this.snapshot.zone))}`));
    }
    this.who.render();
    const alone = find(this.root, ".bench-alone");
    const waiting = this.live.waiting(this.bench).length;
    const words = waiting === 0 ? "Alone" : waiting === 1 ? "AloneWaitingOne" : "AloneWaiting";
    if (this.live.signedOut) setText(alone, fill(this.w("SignedOut"), waiting));
    else if (state === "alone" && since !== null)
      setText(alone, fill(this.w(words), clockTime(since, this.snapshot?.zone ?? "UTC", true), waiting));
    show(alone, state === "alone");
    this.root.dataset.line = state;
  }

  /** @param {number} now */
  #cardNow(now) {
    const snapshot = /** @type {BenchSnapshot} */ (this.snapshot);
    const offer = this.offer();
    this.#hands(now);
    if (offer) {
      if (offer.key !== this.shownKey) this.taps.exchanged(offer);
      this.shownKey = offer.key;
      this.card.offer(offer, now, this.taps.stateOf(offer));
      this.#announce(offer, now);
      return;
    }
    this.shownKey = "";
    const alone = { title: this.w("AloneDone"), detail: this.w("AloneDoneText"), link: null, linkText: null };
    const idle = (this.isAlone && snapshot.offers.length > 0 ? null : snapshot.batch.idle) ?? alone;
    const canStart = snapshot.batch.phase === "preparing" && snapshot.batch.total > 0;
    this.card.idle(idle, this.w("Waiting"), canStart ? this.taps.startButton() : null, snapshot.batch.phase === "running");
    this.#say(idle.title);
  }

  /** @param {number} now */
  #hands(now) {
    const offers = this.offers();
    const group = find(this.root, ".card-hands");
    show(group, offers.length > 1);
    if (offers.length < 2) return;
    const shown = this.offer();
    const lines = offers.map(o => (at(o.mayBegin) <= now ? fill(this.w("HandsNow"), o.handsText) : o.handsText));
    const drawn = `${lines.join()}/${shown?.hands}`;
    if (group.dataset.drawn === drawn) return;
    group.dataset.drawn = drawn;
    const focused = [...group.children].indexOf(/** @type {Element} */ (document.activeElement));
    group.replaceChildren(...offers.map((o, i) => el("button", {
      type: "button", className: "side", "aria-pressed": o === shown,
      onclick: () => {
        sessionStorage.setItem(HANDS_KEY, String(o.hands));
        this.render();
      },
    }, lines[i])));
    if (focused >= 0) /** @type {HTMLElement|undefined} */ (group.children[focused])?.focus();
  }

  #after() {
    const snapshot = /** @type {BenchSnapshot} */ (this.snapshot);
    const undo = find(this.root, ".undo");
    // What waits for the server is younger than what the server would take back.
    const own = this.live.waiting(this.bench).length === 0 && snapshot.undo?.device === this.live.who?.device && !this.taps.undone.has(snapshot.undo.report);
    show(undo, own);
    if (own && snapshot.undo) setText(undo, snapshot.undo.text);
    const { who } = this.live;
    const open = who?.kind === "person" ? (snapshot.unchecked.find(u => u.device === who.device)?.reports ?? 0) : 0;
    const settle = find(this.root, ".settle");
    show(settle, open > 0);
    if (open > 0) setText(settle, open === 1 ? fill(this.w("SettleOne"), who?.name) : fill(this.w("Settle"), open, who?.name));
    const results = find(this.root, ".results");
    const missing = snapshot.missingResults.length;
    show(results, missing > 0);
    setText(results, missing === 1 ? this.w("EnterResultsOne") : fill(this.w("EnterResults"), missing));
  }

  /** @param {number} now */
  #upcoming(now) {
    const snapshot = /** @type {BenchSnapshot} */ (this.snapshot);
    const steps = this.isAlone ? upcomingAlone(snapshot, this.live.waiting(this.bench)) : snapshot.upcoming;
    const shown = this.offer()?.key.startsWith("alone/") ? steps.slice(1) : steps;
    const drawn = JSON.stringify(shown);
    const list = find(this.root, ".upcoming-list");
    if (list.dataset.drawn === drawn) return;
    list.dataset.drawn = drawn;
    list.replaceChildren(...shown.map(step => el("li", {},
      el("span", { className: "upcoming-in", "data-start": at(step.start) }, this.#until(at(step.start), now)),
      el("span", { className: "upcoming-title" }, step.title, ...(step.urgent ? [el("strong", {}, ` ▲ ${this.w("Urgent")}`)] : [])),
      el("span", { className: "upcoming-spare" }, step.spareSeconds === null ? "" : fill(this.w("Spare"), length(step.spareSeconds * 1000))))));
  }

  /**
   * @param {number} start
   * @param {number} now
   */
  #until(start, now) {
    return start > now ? fill(this.w("In"), length(start - now)) : this.w("DueNow");
  }

  /**
   * @param {OfferSnapshot} offer
   * @param {number} now
   */
  #announce(offer, now) {
    if (now >= at(offer.promptAt)) this.#say(fill(this.w(now >= at(offer.mayBegin) ? "AnnounceNow" : "AnnounceNext"), offer.title, offer.detail));
  }

  /** @param {string} sentence */
  #say(sentence) {
    if (sentence !== this.spoken) setText(find(this.root, ".announce"), (this.spoken = sentence));
  }

  /** @param {number} now */
  #setTimer(now) {
    clearTimeout(this.timer);
    const snapshot = /** @type {BenchSnapshot} */ (this.snapshot);
    const instants = [
      ...this.offers().flatMap(o => [o.promptAt, o.mayBegin, o.plannedEnd, o.countTo, o.reportFrom]),
      ...snapshot.alarms.flatMap(a => [a.from, a.until, a.deadline]),
      ...snapshot.slots.flatMap(s => [s.moveAt, s.opens, s.closes]),
    ].map(ms).filter(instant => instant !== null && instant > now);
    const next = Math.min(.../** @type {number[]} */ (instants));
    if (Number.isFinite(next)) this.timer = setTimeout(() => this.render(), Math.min(this.clock.realUntil(next) + 1, 2 ** 30));
  }

  /** Alarms that stand now. */
  standing() {
    return this.snapshot ? standing(this.snapshot.alarms, this.clock.now()) : [];
  }
}

/** @param {(layout: string) => void} changed */
function onLayout(changed) {
  const listener = () => changed(layoutOf());
  addEventListener("resize", listener);
  return () => removeEventListener("resize", listener);
}
