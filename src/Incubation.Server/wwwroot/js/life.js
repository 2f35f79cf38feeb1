// What a person at the bench says when life differs from the plan: one menu, and a few short questions behind each
// line.

/** @import { BenchContext } from "./context.js" */
/** @import { ReportSnapshot, ScreenCommand } from "./types.js" */
import { askLot, askNumber, askWords, choose } from "./dialogs.js";
import { at, clockTime, fill } from "./format.js";
import { openRack } from "./rackopen.js";
import { command } from "./reports.js";
import { askWhen } from "./times.js";

/** For how many minutes something may be out of use, or a person away. */
const AWAY = [2, 5, 10, 15, 30];
const OUT = [5, 15, 30, 60, 120];
const LATER = [5, 10, 20, 30, 60];
const MINUTE_MS = 60_000;
const LEAST_DEGREES = -20;
const MOST_DEGREES = 99;

export class Life {
  /**
   * @param {BenchContext} screen
   * @param {(said: ScreenCommand) => void} send
   */
  constructor(screen, send) {
    this.screen = screen;
    this.send = send;
    this.w = screen.w;
  }

  get snapshot() {
    return this.screen.shown;
  }

  /** The lines of the menu for what this bench has. */
  lines() {
    const { snapshot, w } = this;
    const lines = [{ label: w("LifeElse"), act: () => this.somethingElse() }];
    lines.push({ label: w("LifeUrgent"), act: async () => this.addUrgent("") });
    if (snapshot.reports.length > 0) lines.push({ label: w("LifeCorrect"), act: () => this.correct() });
    if (this.#waiting().length > 0)
      lines.push(
        { label: w("LifeNotReady"), act: () => this.notReady() },
        { label: w("LifeWithdraw"), act: () => this.withdraw() },
      );
    lines.push(
      { label: w("LifeAway"), act: () => this.away() }, { label: w("LifeOut"), act: () => this.outOfUse() },
      { label: w("LifeCard"), act: () => this.cardSeen() }, { label: w("LifeMeans"), act: () => this.means() });
    return lines;
  }

  /**
   * Something urgent is taken in beside the card, with every guard that the intake has.
   * @param {string} specimen As it was scanned, or nothing.
   */
  addUrgent(specimen) {
    openRack(this.screen.bench, { scanned: specimen, urgent: true });
  }

  /** Reports are facts: they may differ from what was offered, in their order and in their place. */
  async somethingElse() {
    const { w, snapshot } = this;
    const done = await choose(w, w("ElseTitle"), null, this.#facts());
    if (!done) return;
    const says = { ...done.says };
    let { label } = done;
    if (done.kind === "loaded") {
      /** @type {{label: string, value: {slot: number|null, reader: number|null}}[]} */
      const places = [
        ...snapshot.slots.map(s => ({ label: fill(w("SlotNumber"), s.slot), value: { slot: s.slot, reader: null } })),
        ...snapshot.readers.map(r => ({
          label: fill(w("ReaderNumber"), r.reader),
          value: { slot: null, reader: r.reader },
        })),
      ];
      const specimen = this.#specimenOf(done.says.request);
      const place = await choose(w, w("ElseLoadedWhere"), specimen, places);
      if (!place) return;
      Object.assign(says, place);
      label = `${specimen} · ${places.find(p => p.value === place)?.label}`;
    }
    if (done.kind === "card-changed") {
      const lot = await askLot(w, null, snapshot.lots);
      if (lot === null) return;
      says.lot = lot;
    }
    const said = await askWhen(this.screen, w("EarlierTitle"), label, true);
    if (said !== null) this.send(command(done.kind, { at: said.at, stated: !said.isNow }, says));
  }

  /** @param {string|null|undefined} request */
  #specimenOf(request) {
    return this.snapshot.labels.find(l => l.request === request)?.specimen ?? request ?? "";
  }

  /** @returns {{label: string, value: {kind: string, label: string, says: Partial<ScreenCommand>}}[]} */
  #facts() {
    const { w, snapshot } = this;
    const several = snapshot.readers.length > 1;
    /** @param {string} label @param {string} kind @param {Partial<ScreenCommand>} says */
    const fact = (label, kind, says) => ({ label, value: { kind, label, says } });
    const steps = [...snapshot.offers, ...snapshot.upcoming].filter(s => s.request);
    /** @param {string} kind */
    const planned = kind => [...new Map(steps.filter(s => s.kind === kind).map(s => [s.request, s])).values()];
    return [
      ...planned("mix").map(s => fact(fill(w("ElseMixed"), s.title), "mixed", { request: s.request })),
      ...planned("load").map(s => fact(fill(w("ElseLoaded"), s.title), "loaded", { request: s.request })),
      ...snapshot.slots
        .filter(s => s.request)
        .flatMap(s =>
          snapshot.readers.map(r =>
            fact(
              fill(w("ElseMoved"), fill(w("InSlot"), s.slot, s.specimen ?? "")) + (several ? ` (${r.reader})` : ""),
              "read-started",
              { request: s.request, reader: r.reader },
            ),
          ),
        ),
      ...snapshot.readers
        .filter(r => r.request)
        .map(r =>
          fact(fill(w("ElseCleared"), fill(w("InReader"), r.reader, r.specimen ?? "")), "cleared", {
            request: r.request,
            reader: r.reader,
          }),
        ),
      ...snapshot.readers.map(r =>
        fact(several ? fill(w("ElseCardOf"), r.reader) : w("ElseCard"), "card-changed", { reader: r.reader }),
      ),
    ];
  }

  /** The record keeps what was said at first, and what is said now. */
  async correct() {
    const { w, snapshot } = this;
    const report = await choose(w, w("CorrectTitle"), w("CorrectText"), snapshot.reports.slice(0, 12).map(r => ({
      label: `${clockTime(at(r.at), snapshot.zone, true)} · ${r.text}`, value: r,
    })));
    if (!report) return;
    const own = report.device === this.screen.live.who?.device;
    const undo = snapshot.undos.find(u => u.report === report.report && u.device === this.screen.live.who?.device);
    const lines = [{ label: w("CorrectTime"), value: "time" }];
    if (report.kind === "loaded") lines.push({ label: w("CorrectPlace"), value: "place" });
    if (report.kind === "card-changed") lines.push({ label: w("CorrectCard"), value: "card" });
    if (undo) lines.push({ label: w("CorrectNever"), value: "never" });
    const what = await choose(w, report.text, null, lines);
    if (what === "never") return void this.undo();
    /** @type {Partial<ScreenCommand>|null} */
    const says =
      what === "time"
        ? await this.#otherTime(report)
        : what === "place"
          ? await this.#otherPlace(report)
          : what === "card"
            ? await this.#otherCard()
            : null;
    if (!says) return;
    if (!own || this.screen.clock.now() > at(report.reasonFrom)) {
      const words = await askWords(w, w("CorrectWhy"), w("CorrectWhyText"));
      if (words === null) return;
      says.words = words;
    }
    this.send(command("correct", { at: this.screen.clock.now() }, { of: report.report, ...says }));
  }

  /** @param {ReportSnapshot} report */
  async #otherTime(report) {
    const said = await askWhen(this.screen, this.w("EarlierTitle"), report.text, false);
    return said === null ? null : { then: new Date(Math.round(said.at)).toISOString() };
  }

  /** @param {ReportSnapshot} report */
  async #otherPlace(report) {
    const others = this.snapshot.slots.filter(s => s.slot !== report.slot);
    const slot = await choose(
      this.w,
      this.w("WhichSlot"),
      report.text,
      others.map(s => ({ label: fill(this.w("SlotNumber"), s.slot), value: s.slot })),
    );
    return slot === null ? null : { slot };
  }

  async #otherCard() {
    const lot = await askLot(this.w, null, this.snapshot.lots);
    return lot === null ? null : { lot };
  }

  /** "This was never so": with the later reports that rest on it, which are listed first. */
  async undo() {
    const { w } = this;
    const undo = this.snapshot.undos.find(u => u.device === this.screen.live.who?.device);
    if (!undo) return;
    if (undo.with.length > 0) {
      const sure = await choose(w, undo.text, `${w("UndoWith")} ${undo.with.map(r => r.text).join("; ")}`, [
        { label: fill(w("UndoAll"), undo.with.length + 1), value: true },
      ]);
      if (!sure) return;
    }
    this.screen.taps.undone.add(undo.report);
    this.send(
      command("undo", { at: this.screen.clock.now() }, { of: undo.report, with: undo.with.map(r => r.report) }),
    );
  }

  /** Requests that nobody has begun, as the plan names them. */
  #waiting() {
    const steps = [...this.snapshot.offers, ...this.snapshot.upcoming].filter(s => s.kind === "mix" && s.request);
    const named = [...new Map(steps.map(s => [s.request, s.title])).entries()];
    return [
      ...named.map(([request, label]) => ({ label, value: String(request) })),
      ...this.snapshot.notPlanned.map(n => ({ label: n.specimen, value: n.request })),
    ];
  }

  async notReady() {
    const { w } = this;
    const request = await choose(w, w("NotReadyWhich"), null, this.#waiting());
    if (!request) return;
    const { clock } = this.screen;
    const { zone } = this.snapshot;
    const when = await choose(w, w("NotReadyWhen"), this.#specimenOf(request), [
      { label: w("ReadyNow"), value: 0 },
      ...LATER.map(m => ({
        label: () => fill(w("InMinutes"), m, clockTime(clock.now() + m * MINUTE_MS, zone)), value: m,
      })),
      { label: w("NotReadyUnknown"), value: -1 },
    ]);
    if (when === null) return;
    const now = clock.now();
    const then = when < 0 ? {} : { then: new Date(Math.round(now + when * MINUTE_MS)).toISOString() };
    this.send(command("ready", { at: now }, { request, ...then }));
  }

  async withdraw() {
    const { w } = this;
    const request = await choose(w, w("WithdrawWhich"), w("WithdrawText"), this.#waiting());
    if (request) this.send(command("withdraw", { at: this.screen.clock.now() }, { request }));
  }

  async away() {
    const { w, snapshot } = this;
    const hands = snapshot.means.hands === 1 ? 1 : await this.#which(snapshot.means.hands, w("AwayWho"), "HandsNumber");
    if (hands === null) return;
    const minutes = await choose(
      w,
      w("AwayTitle"),
      w("AwayText"),
      AWAY.map(m => ({ label: fill(w("Minutes"), m), value: m })),
    );
    if (minutes !== null)
      this.send(command("out-of-use", { at: this.screen.clock.now() }, { resource: "hands", number: hands, minutes }));
  }

  async outOfUse() {
    const { w, snapshot } = this;
    const out = snapshot.means.outOfUse;
    const isOut = (/** @type {string} */ r, /** @type {number|null} */ n) =>
      out.some(o => o.resource === r && o.number === n);
    const all = [
      ...snapshot.slots.map(s => ({ resource: "slot", number: /** @type {number|null} */ (s.slot) })),
      { resource: "incubator", number: null },
      ...snapshot.readers.map(r => ({ resource: "reader", number: /** @type {number|null} */ (r.reader) })),
    ];
    const chosen = await choose(w, w("OutTitle"), null, [
      ...out.map(o => ({
        label: fill(w("BackInUse"), this.nameOf(o.resource, o.number)),
        value: { ...o, back: true },
      })),
      ...all
        .filter(a => !isOut(a.resource, a.number))
        .map(a => ({ label: fill(w("OutOfUse"), this.nameOf(a.resource, a.number)), value: { ...a, back: false } })),
    ]);
    if (!chosen) return;
    const which = { resource: chosen.resource, number: chosen.number };
    if (chosen.back) return void this.send(command("in-use", { at: this.screen.clock.now() }, which));
    const minutes = await choose(
      w,
      fill(w("OutOfUse"), this.nameOf(chosen.resource, chosen.number)),
      w("OutForHowLong"),
      [{ label: w("OutUntilBack"), value: 0 }, ...OUT.map(m => ({ label: fill(w("Minutes"), m), value: m }))],
    );
    if (minutes === null) return;
    const words = await askWords(w, w("OutWhy"), this.nameOf(chosen.resource, chosen.number), true);
    if (words !== null)
      this.send(
        command(
          "out-of-use",
          { at: this.screen.clock.now() },
          { ...which, minutes: minutes || null, words: words || null },
        ),
      );
  }

  /**
   * @param {string} resource
   * @param {number|null} number
   */
  nameOf(resource, number) {
    const word =
      { hands: "HandsNumber", slot: "SlotNumber", reader: "ReaderNumber", incubator: "TheIncubator" }[resource] ?? "";
    return fill(this.w(word), number ?? "");
  }

  async cardSeen() {
    const { w, snapshot } = this;
    const reader =
      snapshot.readers.length === 1
        ? snapshot.readers[0].reader
        : await this.#which(snapshot.readers.length, w("CardOfWhich"), "ReaderNumber");
    if (reader === null) return;
    const lot = await askLot(w, null, snapshot.lots);
    if (lot !== null) this.send(command("card-seen", { at: this.screen.clock.now() }, { reader, lot }));
  }

  /** Hands, the incubator's temperature, and whether requests are taken in. */
  async means() {
    const { w, snapshot } = this;
    const { hands, intakePaused, incubator } = snapshot.means;
    const shows = incubator?.shows ?? null;
    const lines = [
      {
        label: w("MeansTemperature") + (shows === null ? "" : ` (${fill(w("MeansLast"), shows)})`),
        value: "temperature",
      },
      { label: fill(w("MeansJoins"), hands + 1), value: "join" },
      ...(hands > 1 ? [{ label: fill(w("MeansLeaves"), hands - 1), value: "leave" }] : []),
      { label: w(intakePaused ? "MeansResume" : "MeansPause"), value: "intake" },
    ];
    const what = await choose(w, w("LifeMeans"), null, lines);
    const when = { at: this.screen.clock.now() };
    if (what === "join") this.send(command("hands", when, { hands: hands + 1 }));
    else if (what === "leave") this.send(command("hands", when, { hands: hands - 1 }));
    else if (what === "intake") this.send(command(intakePaused ? "resume-intake" : "pause-intake", when));
    else if (what === "temperature") {
      const celsius = await askNumber(w, w("TemperatureTitle"), w("TemperatureLabel"), LEAST_DEGREES, MOST_DEGREES);
      if (celsius !== null) this.send(command("temperature", when, { celsius }));
    }
  }

  /**
   * One of several of a kind, by its number.
   * @param {number} count
   * @param {string} title
   * @param {string} word
   */
  #which(count, title, word) {
    return choose(
      this.w,
      title,
      null,
      Array.from({ length: count }, (_, i) => ({ label: fill(this.w(word), i + 1), value: i + 1 })),
    );
  }
}
