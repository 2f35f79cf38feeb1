// The wall: every bench at a glance, live by the same line and clock as the bench screen.

/** @import { BenchSnapshot, DaySnapshot } from "./types.js" */
import { ServerClock } from "./clock.js";
import { alarmShape, el, find, setText, show } from "./dom.js";
import { loadsAgain } from "./form.js";
import { at, clockTime, fill, finishOf, lastFinish, length, ms } from "./format.js";
import { Lanes } from "./lanes.js";
import { Live } from "./live.js";
import { keepAwake } from "./screen.js";
import { Sounder } from "./sound.js";
import { gonePastTheBench, planSounds, standing } from "./soundplan.js";
import { pageAt, readShare, shareOf, shiftAt } from "./wallpages.js";
import { readWords } from "./words.js";

const TICK_MS = 250;
const LOOK_FOR_BENCHES_MS = 15_000;
const LOOK_AT_DAY_MS = 5000;
const RETRY_MS = 2000;
const MOST_COMING = 3;
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
    this.ended = false;
    this.shown = "";
    /** @type {DaySnapshot|null} */
    this.day = null;
    this.share = readShare(new URLSearchParams(location.search).get("screen"));
    this.live.onSnapshot = s => this.#take(s);
    this.live.onLine = () => this.render();
    this.letSleep = keepAwake();
    this.sounder = new Sounder();
    this.sounder.onChange = () => this.#sounds();
    this.arm = find(root, ".wall-sound");
    this.arm.addEventListener("click", () => void this.sounder.arm());
    this.choice = /** @type {HTMLSelectElement} */ (find(root, ".wall-share select"));
    this.choice.value = this.share ? `${this.share.screen}/${this.share.of}` : "";
    this.choice.addEventListener("change", () => {
      location.search = this.choice.value ? `?screen=${this.choice.value}` : "";
    });
    this.planner = setInterval(() => this.#sounds(), SOUND_EVERY_MS);
    this.ticker = setInterval(() => this.render(), TICK_MS);
    void this.#lookForBenches();
    void this.#lookAtDay();
  }

  alarmStands() {
    return false;
  }

  end() {
    clearInterval(this.ticker);
    clearInterval(this.planner);
    clearTimeout(this.looking);
    clearTimeout(this.lookingAtDay);
    this.ended = true;
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
        const mine = shareOf(benches.map(b => b.id), this.share);
        if (mine.length === 0)
          setText(find(this.root, ".wall-line"), this.w(benches.length === 0 ? "WallNone" : "WallNoShare"));
        else await this.live.watch(mine);
        wait = LOOK_FOR_BENCHES_MS;
      }
    } catch {
      // No server: asked again.
    }
    if (!this.ended) this.looking = setTimeout(() => void this.#lookForBenches(), wait);
  }

  /** The day's numbers are asked for: they change by time as well as by what happens. */
  async #lookAtDay() {
    try {
      const answer = await fetch("api/v1/day", { cache: "no-store" });
      if (answer.ok) {
        this.day = /** @type {DaySnapshot} */ (await answer.json());
        this.#figures(this.day);
      }
    } catch {
      // No server: the numbers stay, and the line above them says since when.
    }
    if (!this.ended) this.lookingAtDay = setTimeout(() => void this.#lookAtDay(), LOOK_AT_DAY_MS);
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
    this.sounder.schedule(
      planSounds({ ...snapshots[0], offers: [], alarms }, this.clock.now(), this.clock.rate, SOUND_AHEAD_MS, new Set()),
    );
  }

  /** @param {BenchSnapshot} snapshot */
  #newCard(snapshot) {
    const template = /** @type {HTMLTemplateElement} */ (this.root.querySelector(".wall-card-template"));
    const card = /** @type {HTMLElement} */ (template.content.firstElementChild?.cloneNode(true));
    const kept = { card, lanes: new Lanes(find(card, ".lanes-frame"), this.clock), snapshot };
    this.cards.set(snapshot.bench, kept);
    const inOrder = this.#inOrder();
    find(this.root, ".wall-benches").replaceChildren(...inOrder.map(k => k.card));
    this.shown = "";
    return kept;
  }

  #inOrder() {
    return [...this.cards.values()].sort((a, b) =>
      a.snapshot.name.localeCompare(b.snapshot.name, undefined, { numeric: true }),
    );
  }

  /**
   * Turns to the page of this instant; what is not on it stays away, but for the alarms of its benches.
   * @param {number} now
   */
  #page(now) {
    const all = this.#inOrder();
    const { page, pages, from, to } = pageAt(all.length, Date.now());
    const key = `${all.length}/${page}`;
    if (this.shown !== key) {
      this.shown = key;
      all.forEach((kept, i) => {
        kept.lanes.isShown = i >= from && i < to;
        show(kept.card, kept.lanes.isShown);
      });
      find(this.root, ".wall-benches").dataset.count = String(to - from);
      const line = find(this.root, ".wall-page");
      show(line, pages > 1);
      setText(line, fill(this.w("WallPageOf"), page + 1, pages));
    }

    const elsewhere = all.filter(kept => !kept.lanes.isShown).flatMap(kept => {
      const alarm = standing(gonePastTheBench(kept.snapshot.alarms), now)[0];
      return alarm ? [`${kept.snapshot.name} · ${alarm.word}: ${alarm.title}`] : [];
    });
    const list = find(this.root, ".wall-elsewhere");
    show(list, elsewhere.length > 0);
    while (list.children.length > elsewhere.length) list.lastElementChild?.remove();
    while (list.children.length < elsewhere.length) list.append(el("li", {}));
    elsewhere.forEach((text, i) => setText(list.children[i], text));
  }

  /**
   * A wall that cannot read what the server sends is loaded again, once no high alarm stands.
   * @param {number} form
   * @param {BenchSnapshot[]} snapshots
   * @param {number} now
   */
  #renew(form, snapshots, now) {
    const page = { waiting: 0, alarms: snapshots.flatMap(s => s.alarms), now, busy: false };
    if (loadsAgain(form, page, sessionStorage)) location.reload();
  }

  render() {
    const now = this.clock.now();
    const snapshots = [...this.cards.values()].map(k => k.snapshot);
    if (this.live.otherForm !== null) this.#renew(this.live.otherForm, snapshots, now);
    this.#page(now);
    const [x, y] = shiftAt(Date.now());
    if (this.root.dataset.shift !== `${x} ${y}`) {
      this.root.dataset.shift = `${x} ${y}`;
      this.root.style.setProperty("--shift-x", String(x));
      this.root.style.setProperty("--shift-y", String(y));
    }
    const zone = snapshots[0]?.zone ?? "UTC";
    const { state, since } = this.live.line;
    if (snapshots.length > 0) {
      setText(find(this.root, ".clock-text"), clockTime(now, zone));
      const count = snapshots.length === 1 ? this.w("WallSummaryOne") : fill(this.w("WallSummary"), snapshots.length);
      setText(
        find(this.root, ".wall-line"),
        state === "alone" && since !== null ? fill(this.w("WallAlone"), clockTime(since, zone, true)) : count,
      );
    }
    this.root.dataset.line = state;
    for (const kept of this.cards.values())
      if (kept.lanes.isShown) this.#card(kept, now, state === "alone" ? since : null);
    // Not before a bench has said in which zone; and the same instant as its card says.
    const finish = snapshots.length === 0 ? null
      : lastFinish(snapshots.map(one => one.batch), this.share ? (this.day?.finish ?? null) : null, now);
    this.#figure("finish", finish === null ? "–" : clockTime(finish, zone), "");
    const urgent = ms(this.day?.urgentSince ?? null);
    if (urgent !== null)
      setText(
        find(this.root, '[data-figure="urgent"] .figure-of'),
        fill(this.w("UrgentLongest"), length(now - urgent)),
      );
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
    const finish = finishOf(batch, now);
    setText(
      find(card, ".wall-finish"),
      batch.phase === "preparing"
        ? this.w("NotRunning")
        : finish === null
          ? ""
          : fill(this.w("Finish"), clockTime(finish, zone)),
    );
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
      setText(
        find(card, ".wall-what"),
        batch.phase === "finished" ? this.w("AllDone") : (batch.idle?.title ?? this.w("NothingDue")),
      );
    }
    this.#alarm(card, alarm);
    this.#urgent(card, batch, now);
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
      list.append(
        el("li", {}, el("span", { className: "wall-coming-in" }), el("span", { className: "wall-coming-what" })),
      );
    steps.forEach((step, i) => {
      const [when, what] = list.children[i].children;
      // Before its batch begins a step has a place and no time: that counts from when somebody starts the batch.
      show(/** @type {HTMLElement} */ (when), snapshot.batch.phase !== "preparing");
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
    if (card.dataset.priority !== alarm.priority)
      find(line, ".alarm-shape").replaceChildren(alarmShape(alarm.priority));
    card.dataset.priority = alarm.priority;
    setText(find(line, ".wall-alarm-text"), `${alarm.word}: ${alarm.title}`);
  }

  /**
   * @param {HTMLElement} card
   * @param {BenchSnapshot["batch"]} batch
   * @param {number} now
   */
  #urgent(card, batch, now) {
    const line = find(card, ".wall-urgent");
    const since = ms(batch.urgentSince);
    show(line, since !== null);
    if (since === null) return;
    const waited = length(now - since);
    setText(
      line,
      batch.urgentWaiting === 1
        ? fill(this.w("WallUrgentOne"), waited)
        : fill(this.w("WallUrgent"), batch.urgentWaiting, waited),
    );
  }

  /** @param {DaySnapshot} day */
  #figures(day) {
    const [median, ninetieth] = [day.medianToResult, day.ninetiethToResult];
    this.#figure("per-hour", String(day.clearedLastHour), fill(this.w("OfPlanned"), day.plannedLastHour));
    this.#figure(
      "to-result",
      median === null ? "–" : length(median * 1000),
      ninetieth === null ? "" : fill(this.w("ToResultOf"), length(ninetieth * 1000)),
    );
    this.#figure("in-window", String(day.readInWindow), fill(this.w("OfReads"), day.reads));
    this.#figure("discarded", String(day.discarded), "");
    this.#figure("urgent", String(day.urgentWaiting), "");
    this.#figure("late", String(day.late), "");
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
