// Rack intake: what the tubes are for is chosen once, then scan after scan, then all of them are added by one press.
// The browser takes each scan by itself; the server is asked beside it, and nothing waits for it.

/** @import { RackLine } from "./racklist.js" */
/** @import { RackAnswer, RackDoubt, RackSheet } from "./racksend.js" */
import { ServerClock } from "./clock.js";
import { fill } from "./format.js";
import { isBox, isLabel } from "./labels.js";
import { RackList } from "./racklist.js";
import { commentsOf, leftOut, sourcesOf } from "./rackorders.js";
import { add, askDoubts, askSheet } from "./racksend.js";
import { tubesOf, undone } from "./racktubes.js";
import { RackView } from "./rackview.js";
import { newId } from "./reports.js";

/** What is scanned quickly is asked about together. */
const CHECK_AFTER_MS = 150;
/** A list that got no answer is sent again after so long. */
const AGAIN_MS = 2000;
/** So often an open sheet asks what there is: a panel, a lot, a count may be another meanwhile. */
const SHEET_AFTER_MS = 5000;

/** What is said, and whether that is over. @typedef {{text: string, isGood: boolean, isOver: () => boolean}} Said */
/** @typedef {{doubt: RackDoubt, of: string}} Refused */
/** @type {Said} */
const NOTHING_SAID = { text: "", isGood: true, isOver: () => false };

export class Rack {
  /**
   * @param {string} bench
   * @param {(key: string) => string} w
   * @param {(rack: Rack) => RackView} [show] Makes what is seen of it.
   */
  constructor(bench, w, show = rack => new RackView(rack)) {
    this.bench = bench;
    this.w = w;
    this.list = new RackList(bench, localStorage, newId);
    this.clock = new ServerClock();
    /** @type {RackSheet|null} */
    this.sheet = null;
    /** @type {RackDoubt[]} */
    this.doubts = [];
    /** What only adding finds wrong, with the line as it was: it stays so until that is changed. @type {Refused[]} */
    this.refused = [];
    this.isOffline = false;
    this.isSending = false;
    /** What was added last: its labels can be printed. @type {string[]} */
    this.added = [];
    this.said = NOTHING_SAID;
    this.checking = false;
    this.following = false;
    /** Grows with every change: an answer about an older list is asked for anew. */
    this.changes = 0;
    /** The line that was scanned last: what is asked about it is said aloud. */
    this.last = "";
    this.view = show(this);
  }

  get isOpen() {
    return this.view.isOpen;
  }

  /** @param {{scanned?: string, urgent?: boolean, isCut?: boolean}} [first] */
  open(first = {}) {
    this.view.open();
    if (first.urgent) this.list.urgent = true;
    if (first.scanned) this.take(first.scanned);
    if (first.isCut) this.cut();
    void this.#follow();
    if (this.list.sending) void this.#send();
    this.changed();
  }

  /** What the sheet is made with, as it is now and as it becomes while the sheet is open. */
  async #follow() {
    await this.load();
    if (this.following) return;
    this.following = true;
    while (this.isOpen) {
      await new Promise(done => setTimeout(done, SHEET_AFTER_MS));
      if (this.isOpen) await this.load({ isAsked: false });
    }
    this.following = false;
  }

  /**
   * The assays, their lots and the panels, as they are now.
   * @param {{isAsked?: boolean}} [how] Whether somebody waits for it: else it is not said why there is none.
   */
  async load({ isAsked = true } = {}) {
    const sent = performance.now();
    const { sheet, sentence, isOffline } = await askSheet(this.bench);
    this.isOffline = isOffline;
    if (sentence && isAsked) this.say(sentence, false);
    if (sheet) {
      this.sheet = sheet;
      this.clock.sample(Date.parse(sheet.serverTime), sheet.rate, sent, performance.now());
      this.#keepTiles();
      for (const [lot, next] of this.list.keepLots(sheet.assays)) this.say(fill(this.w("LotGone"), lot, next), false);
    }
    this.view.render();
  }

  /**
   * A tube was scanned or typed.
   * @param {string} scanned
   */
  take(scanned) {
    const { w } = this;
    const text = scanned.trim();
    if (isLabel(text) || isBox(text))
      return this.say(w(isLabel(text) ? "NotATubeLabel" : "NotATubeBox"), false);
    const { taken, line } = this.list.take(text);
    this.last = line?.id ?? "";
    const what = line ? this.#whatOf(line) : "";
    switch (taken) {
      case "taken":
        this.say(line?.assays.length ? fill(w("Taken"), text, what) : fill(w("TakenForNothing"), text), true,
          () => !line?.assays.length && !this.list.unchosen.some(one => one.id === line?.id));
        break;
      case "more": this.say(fill(w("TakenMore"), text, what), true); break;
      case "again": this.say(fill(w("TakenAgain"), text), false); break;
      case "long": this.say(fill(w("TooLong"), text.length), false); break;
      case "full": this.say(fill(w("Full"), tubesOf(this.list.lines)), false); break;
      case "empty": return;
    }
    this.changed();
  }

  /** What a tube is for, in words, and whether it goes first. @param {RackLine} line */
  #whatOf(line) {
    return [this.view.assaysOf(line), line.urgent ? this.w("Urgent") : ""].filter(Boolean).join(" · ");
  }

  /** @param {string} key */
  tile(key) {
    const tiles = new Set(this.tiles);
    if (!tiles.delete(key)) tiles.add(key);
    this.list.choose(this.#assaysOf(tiles), tiles);
    this.changed();
  }

  /** Tiles that are chosen, by their key. */
  get tiles() {
    return this.list.tiles;
  }

  /** @param {Set<string>} tiles */
  #assaysOf(tiles) {
    return [...new Set([...tiles].flatMap(key => this.view.assaysOfTile(key)))];
  }

  /** A panel that is chosen may be for others now, or gone: what comes next is for what its tile says. */
  #keepTiles() {
    const tiles = new Set([...this.tiles].filter(key => this.view.assaysOfTile(key).length > 0));
    const now = this.#assaysOf(tiles);
    if (now.join() === this.list.chosen.join()) this.list.tiles = tiles;
    else {
      this.list.choose(now, tiles, false);
      this.changed();
    }
  }

  /**
   * What is asked about a line is meant so. That a lot does not last is asked of each tube that goes without, and
   * answered once for those that stand there.
   * @param {RackDoubt} doubt
   */
  settle({ line, code }) {
    this.list.settle(!code.startsWith("short:") ? [line]
      : this.doubts.filter(one => one.code === code).map(one => one.line), code);
    this.changed();
  }

  out() {
    const at = this.list.takenOut === null ? new Date(this.clock.now()).toISOString() : null;
    this.list.out(at);
    this.say(this.w(at ? "OutSaid" : "OutNotSaid"), true);
    this.changed();
  }

  /** The last thing that was done, whatever it was; what it was is said. */
  undo() {
    const { lines, tiles, chosen, urgent, takenOut } = this.list;
    const stays = this.list.undo();
    // What is doubtful of the tube stands in its row again: it is not said in the place of what was undone.
    this.last = "";
    const { word, tube, tubes } = undone({ lines, tiles, chosen, urgent, takenOut }, this.list);
    if (stays) this.say(fill(this.w("UndoneRejected"), stays), false);
    else this.sayUntilTile(fill(this.w(word), tube ?? tubes ?? this.view.assaysOf({ assays: this.list.chosen })));
    this.changed();
  }

  /** Said of what was just done: the next tile is something else. @param {string} text */
  sayUntilTile(text) {
    const { tiles } = this.list;
    this.say(text, true, () => this.list.tiles !== tiles);
  }

  /** A scan came in two parts: the second alone would be another tube's number. */
  cut() {
    this.say(this.w("ScanCut"), false);
  }

  /**
   * What is said beside the sound.
   * @param {string} text
   * @param {boolean} isGood
   * @param {() => boolean} [isOver] Whether it is so no more, asked at each change.
   */
  say(text, isGood, isOver = NOTHING_SAID.isOver) {
    this.said = { text, isGood, isOver };
    this.view.tone(isGood);
    this.view.render();
  }

  /** The list is another: it is shown at once, and what is doubtful is asked for. */
  changed() {
    this.changes++;
    const there = new Set(this.list.lines.map(line => line.id));
    this.doubts = this.doubts.filter(doubt =>
      there.has(doubt.line) && !this.list.lines.some(line => line.id === doubt.line
        && doubt.settle !== null && line.settled.includes(doubt.code)));
    this.hush();
    if (!this.checking) void this.#check();
  }

  /** What was said is gone with what it was about. */
  hush() {
    if (this.said.isOver()) this.said = NOTHING_SAID;
    this.view.render();
  }

  async #check() {
    this.checking = true;
    try {
      while (this.isOpen && this.list.lines.length > 0) {
        await new Promise(done => setTimeout(done, CHECK_AFTER_MS));
        const of = this.changes;
        const { doubts, orders, isOffline } = await askDoubts(this.bench, this.list.asItIs());
        this.isOffline = isOffline;
        if (this.#ordered(this.list.takeOrders(orders))) continue;
        if (doubts && of === this.changes) return this.#asked(doubts);
        this.view.render();
        if (!doubts) await new Promise(done => setTimeout(done, AGAIN_MS));
      }
    } finally {
      this.checking = false;
    }
  }

  /**
   * Tubes turned out to be ordered: what for is said of the one that was scanned last.
   * @param {RackLine[]} lines
   * @returns {boolean} Whether there were any.
   */
  #ordered(lines) {
    if (lines.length === 0) return false;
    this.changes++;
    const line = lines.find(one => one.id === this.last);
    if (line) {
      const what = fill(this.w("TakenOrdered"), line.specimen, this.#whatOf(line), sourcesOf(line).join(", "));
      const left = leftOut(line);
      this.say([what, ...(left.length > 0 ? [fill(this.w("LeftOut"), this.view.assaysOf({ assays: left }))] : []),
        ...commentsOf(line)].join(" · "), true, () => left.length > 0 && !this.#leavesOut(line.id));
      if (left.length > 0) this.view.seek(line.id);
    } else this.view.render();
    return true;
  }

  /** Whether a line is without something that a tile asked for. @param {string} id */
  #leavesOut(id) {
    return this.list.lines.some(line => line.id === id && leftOut(line).length > 0);
  }

  /** @param {RackDoubt[]} found */
  #asked(found) {
    const still = this.refused.filter(({ doubt, of }) => this.#lineOf(doubt) === of
      && !found.some(one => one.line === doubt.line && one.code === doubt.code)).map(({ doubt }) => doubt);
    const doubts = [...found, ...still];
    const isNew = (/** @type {RackDoubt} */ doubt) =>
      !this.doubts.some(old => old.line === doubt.line && old.code === doubt.code);
    const said = doubts.find(doubt => doubt.line === this.last && isNew(doubt) && doubt.code !== "fault");
    this.doubts = doubts;
    if (!said) return this.hush();
    this.say(said.sentence, false, () =>
      !this.doubts.some(doubt => doubt.line === said.line && doubt.code === said.code));
    this.view.seek(said.line);
  }

  /** A line as it is now. @param {RackDoubt} doubt */
  #lineOf(doubt) {
    return JSON.stringify(this.list.lines.find(line => line.id === doubt.line));
  }

  /** All that is on the list, once. */
  addAll() {
    const left = this.view.unfinished();
    // Said and not sent: what somebody is at would be lost with its line, or left behind.
    if (left) return this.say(left, false, () => this.view.unfinished() !== left);
    if (this.list.send()) void this.#send();
    this.changed();
  }

  /** Until the server says what became of it; by the same name every time. */
  async #send() {
    if (this.isSending) return;
    this.isSending = true;
    try {
      while (this.list.sending) {
        this.view.render();
        const { sending } = this.list;
        const answer = await add(this.bench, sending);
        this.isOffline = answer.isLater === true && !answer.sentence;
        if (!answer.isLater) this.#answered(answer, tubesOf(sending.lines));
        else if (answer.sentence) this.say(answer.sentence, false);
        if (answer.isSignIn) return;
        if (answer.isLater) await new Promise(done => setTimeout(done, AGAIN_MS));
      }
    } finally {
      this.isSending = false;
      this.view.render();
    }
  }

  /**
   * @param {RackAnswer} answer
   * @param {number} tubes
   */
  #answered(answer, tubes) {
    if (answer.added) {
      this.list.sent();
      [this.doubts, this.refused] = [[], []];
      this.added = answer.requests ?? [];
      this.say(fill(this.w(tubes === 1 ? "AddedOne" : "AddedMany"), tubes), true);
      void this.load();
    } else {
      this.list.refused();
      this.doubts = answer.doubts;
      this.refused = answer.doubts.filter(doubt => doubt.settle === null)
        .map(doubt => ({ doubt, of: this.#lineOf(doubt) }));
      // What is still asked stands at the lines, and how much above them.
      this.say(answer.sentence ?? fill(this.w("AskedFirst"), answer.doubts.length), false,
        () => this.doubts.length < answer.doubts.length);
    }
    this.changed();
    if (answer.doubts[0]) this.view.seek(answer.doubts[0].line);
  }
}
