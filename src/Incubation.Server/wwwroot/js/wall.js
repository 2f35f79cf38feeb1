// The wall: every bench at a glance, live by the same line and clock as the bench screen.

/** @import { BenchSnapshot } from "./types.js" */
import { ServerClock } from "./clock.js";
import { alarmShape, el, find, setText, show } from "./dom.js";
import { at, clockTime, fill, length, ms } from "./format.js";
import { Lanes } from "./lanes.js";
import { Live } from "./live.js";
import { keepAwake } from "./screen.js";
import { Sounder } from "./sound.js";
import { gonePastTheBench, planSounds, standing } from "./soundplan.js";
import { readWords } from "./words.js";

const TICK_MS = 250;
const LOOK_FOR_BENCHES_MS = 15_000;
const RETRY_MS = 2000;
const MOST_COMING = 5;
const SOUND_EVERY_MS = 20_000;
const SOUND_AHEAD_MS = 60_000;

/** @param {HTMLElement} root */
export function mount(root) {
  return new WallScreen(root);
}

class WallScreen {
  /** @param {HTMLElement} root */
  constructor(root) {
    this.root = root;
    this.w = readWords(root);
    this.clock = new ServerClock();
    this.live = new Live(this.clock, "wall");
    /** @type {Map<string, {card: HTMLElement, lanes: Lanes, snapshot: BenchSnapshot}>} */
    this.cards = new Map();
    this.live.onSnapshot = s => this.#take(s);
    this.live.onLine = () => this.render();
    this.letSleep = keepAwake();
    this.sounder = new Sounder();
    this.sounder.onChange = () => this.#sounds();
    this.arm = find(root, ".wall-sound");
    this.arm.addEventListener("click", () => void this.sounder.arm());
    this.planner = setInterval(() => this.#sounds(), SOUND_EVERY_MS);
    this.ticker = setInterval(() => this.render(), TICK_MS);
    void this.#lookForBenches();
  }

  alarmStands() {
    return false;
  }

  end() {
    clearInterval(this.ticker);
    clearInterval(this.planner);
    clearTimeout(this.looking);
    this.sounder.silence();
    this.letSleep();
    void this.live.end();
  }

  async #lookForBenches() {
    let wait = RETRY_MS;
    try {
      const answer = await fetch("api/v1/benches", { cache: "no-store" });
      if (answer.ok) {
        /** @type {{id: string}[]} */
        const benches = await answer.json();
        if (benches.length === 0) setText(find(this.root, ".wall-line"), this.w("WallNone"));
        else await this.live.watch(benches.map(b => b.id));
        wait = LOOK_FOR_BENCHES_MS;
      }
    } catch {
      // No server: asked again.
    }
    this.looking = setTimeout(() => void this.#lookForBenches(), wait);
  }

  /** @param {BenchSnapshot} snapshot */
  #take(snapshot) {
    const kept = this.cards.get(snapshot.bench) ?? this.#newCard(snapshot);
    kept.snapshot = snapshot;
    kept.lanes.show(snapshot.lanes);
    this.#sounds();
    this.render();
  }

  /** Of all benches the one alarm that matters most sounds; prompts are for the bench alone. */
  #sounds() {
    show(this.arm, !this.sounder.isArmed && this.sounder.audio !== null);
    const snapshots = [...this.cards.values()].map(k => k.snapshot);
    if (snapshots.length === 0) return;
    const alarms = snapshots.flatMap(s => gonePastTheBench(s.alarms).map(a => ({ ...a, id: `${s.bench}/${a.id}` })));
    this.sounder.schedule(planSounds({ ...snapshots[0], offers: [], alarms }, this.clock.now(), this.clock.rate, SOUND_AHEAD_MS, new Set()));
  }

  /** @param {BenchSnapshot} snapshot */
  #newCard(snapshot) {
    const template = /** @type {HTMLTemplateElement} */ (this.root.querySelector(".wall-card-template"));
    const card = /** @type {HTMLElement} */ (template.content.firstElementChild?.cloneNode(true));
    const kept = { card, lanes: new Lanes(find(card, ".lanes-frame"), this.clock), snapshot };
    this.cards.set(snapshot.bench, kept);
    const benches = find(this.root, ".wall-benches");
    const inOrder = [...this.cards.values()].sort((a, b) => a.snapshot.name.localeCompare(b.snapshot.name, undefined, { numeric: true }));
    benches.replaceChildren(...inOrder.map(k => k.card));
    benches.dataset.count = String(Math.min(this.cards.size, 4));
    return kept;
  }

  render() {
    const now = this.clock.now();
    const snapshots = [...this.cards.values()].map(k => k.snapshot);
    const zone = snapshots[0]?.zone ?? "UTC";
    const { state, since } = this.live.line;
    if (snapshots.length > 0) {
      setText(find(this.root, ".clock-text"), clockTime(now, zone));
      const count = snapshots.length === 1 ? this.w("WallSummaryOne") : fill(this.w("WallSummary"), snapshots.length);
      setText(find(this.root, ".wall-line"), state === "alone" && since !== null ? fill(this.w("WallAlone"), clockTime(since, zone, true)) : count);
    }
    this.root.dataset.line = state;
    for (const kept of this.cards.values()) this.#card(kept, now, state === "alone" ? since : null);
    this.#figures(snapshots);
  }

  /**
   * @param {{card: HTMLElement, lanes: Lanes, snapshot: BenchSnapshot}} kept
   * @param {number} now
   * @param {number|null} aloneSince
   */
  #card({ card, lanes, snapshot }, now, aloneSince) {
    const { batch, zone } = snapshot;
    setText(find(card, "h2"), snapshot.name);
    setText(find(card, ".wall-done"), fill(this.w("Done"), batch.done, batch.total));
    const finish = ms(batch.finish);
    setText(find(card, ".wall-finish"), batch.phase === "preparing" ? this.w("NotRunning") : finish === null ? "" : fill(this.w("Finish"), clockTime(finish, zone)));
    const offer = snapshot.offers[0];
    // What the bench has not acknowledged in time.
    const alarm = standing(gonePastTheBench(snapshot.alarms), now)[0];
    if (offer) {
      const begins = at(offer.mayBegin);
      const counts = now < begins ? begins : at(offer.countTo);
      setText(find(card, ".wall-number"), counts >= now ? length(counts - now) : `+${length(now - counts)}`);
      setText(find(card, ".wall-what"), offer.title + (offer.urgent ? ` ▲ ${this.w("Urgent")}` : ""));
    } else {
      setText(find(card, ".wall-number"), "");
      setText(find(card, ".wall-what"), batch.phase === "finished" ? this.w("AllDone") : batch.idle?.title ?? this.w("NothingDue"));
    }
    this.#alarm(card, alarm);
    this.#coming(card, snapshot, now);
    const old = find(card, ".wall-old");
    show(old, aloneSince !== null);
    if (aloneSince !== null) setText(old, fill(this.w("OldData"), clockTime(at(snapshot.serverTime), zone, true)));
    lanes.tick();
  }

  /**
   * @param {HTMLElement} card
   * @param {BenchSnapshot} snapshot
   * @param {number} now
   */
  #coming(card, snapshot, now) {
    const list = find(card, ".wall-coming");
    const steps = snapshot.upcoming.slice(0, MOST_COMING);
    while (list.children.length > steps.length) list.lastElementChild?.remove();
    while (list.children.length < steps.length)
      list.append(el("li", {}, el("span", { className: "wall-coming-in" }), el("span", { className: "wall-coming-what" })));
    steps.forEach((step, i) => {
      const [when, what] = list.children[i].children;
      setText(when, at(step.start) > now ? fill(this.w("In"), length(at(step.start) - now)) : this.w("DueNow"));
      setText(what, step.title + (step.urgent ? ` ▲ ${this.w("Urgent")}` : ""));
    });
  }

  /**
   * @param {HTMLElement} card
   * @param {import("./types.js").AlarmSnapshot|undefined} alarm
   */
  #alarm(card, alarm) {
    const line = find(card, ".wall-alarm");
    show(line, alarm !== undefined);
    if (!alarm) {
      delete card.dataset.priority;
      return;
    }
    if (card.dataset.priority !== alarm.priority) find(line, ".alarm-shape").replaceChildren(alarmShape(alarm.priority));
    card.dataset.priority = alarm.priority;
    setText(find(line, ".wall-alarm-text"), `${alarm.word}: ${alarm.title}`);
  }

  /** @param {BenchSnapshot[]} snapshots */
  #figures(snapshots) {
    if (snapshots.length === 0) return;
    const sum = (/** @type {(s: BenchSnapshot) => number} */ of) => snapshots.reduce((total, s) => total + of(s), 0);
    const reads = sum(s => s.batch.readInWindow + s.batch.readOutside);
    const perHour = snapshots.some(s => s.batch.perHour !== null) ? String(Math.round(sum(s => s.batch.perHour ?? 0) * 10) / 10) : "–";
    this.#figure("per-hour", perHour, "");
    this.#figure("in-window", String(sum(s => s.batch.readInWindow)), fill(this.w("OfReads"), reads));
    this.#figure("discarded", String(sum(s => s.batch.discarded)), "");
    this.#figure("urgent", String(sum(s => s.batch.urgentWaiting)), "");
    this.#figure("late", String(sum(s => s.batch.lateNow)), "");
  }

  /**
   * @param {string} name
   * @param {string} number
   * @param {string} of
   */
  #figure(name, number, of) {
    const figure = find(this.root, `[data-figure="${name}"]`);
    setText(find(figure, ".figure-number"), number);
    setText(find(figure, ".figure-of"), of);
    figure.dataset.zero = String(number === "0");
  }
}
