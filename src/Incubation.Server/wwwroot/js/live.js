// The screen's own line to the server: a hub connection that never gives up, the plain snapshot over HTTP beside it,
// and the commands that wait to be sent.

/** @import { LineState } from "./context.js" */
/** @import { BenchSnapshot, CommandAnswer, ScreenCommand, WhoSnapshot } from "./types.js" */
/** @import { ServerClock } from "./clock.js" */
/** @import { Waiting } from "./outbox.js" */
import "../lib/signalr/signalr.min.js";
import { probe } from "./clock.js";
import { ANSWER_PATIENCE_MS, byHttp, byHub, nothingAfter } from "./deliver.js";
import { formOf, reads } from "./form.js";
import { Outbox } from "./outbox.js";

const RETRY_MS = [0, 300, 700, 1500, 3000];
const PROBE_EVERY_MS = 10_000;
const FIRST_PROBES = 4;

const { signalR } = globalThis;

/**
 * A bench that this screen watches.
 * @typedef {object} Watched
 * @property {BenchSnapshot|null} snapshot
 * @property {Outbox} outbox
 * @property {{command: ScreenCommand, revision: number}[]} sent Recorded, and younger than the snapshot: no snapshot
 * here knows of them yet.
 * @property {string|null} refused
 */

export class Live {
  /**
   * @param {ServerClock} clock
   * @param {string} layout
   */
  constructor(clock, layout) {
    this.clock = clock;
    this.layout = layout;
    /** @type {Map<string, Watched>} */
    this.benches = new Map();
    /** The form of the server's snapshots, where this page cannot read it. @type {number|null} */
    this.otherForm = null;
    /** @type {LineState} */
    this.line = { state: "connecting", since: null };
    this.ended = false;
    /** @type {(snapshot: BenchSnapshot) => void} */
    this.onSnapshot = () => {};
    /** @type {(line: LineState) => void} */
    this.onLine = () => {};
    /** @type {(bench: string, command: ScreenCommand, answer: CommandAnswer) => void} */
    this.onAnswer = () => {};
    /** @type {(bench: string, sentence: string) => void} */
    this.onRefused = () => {};
    /** Who is in front of this screen, as the server last said. @type {WhoSnapshot|null} */
    this.who = null;
    /** @type {string|null} Who was last signed in here. */
    this.lastPerson = null;
    /** Whether the server answers, and knows nobody here any more. */
    this.signedOut = false;
    this.onWho = () => {};
    /** The server says "not now" to what waits, or does so no longer. */
    this.onHeld = () => {};

    this.hub = new signalR.HubConnectionBuilder()
      .withUrl("hub/bench")
      .withAutomaticReconnect({
        nextRetryDelayInMilliseconds: (/** @type {{previousRetryCount: number}} */ c) =>
          retryAfter(c.previousRetryCount),
      })
      .configureLogging(signalR.LogLevel.None)
      .build();
    this.hub.on("Who", (/** @type {WhoSnapshot} */ who) => this.take(who));
    this.hub.on("Snapshot", (/** @type {BenchSnapshot} */ s) => this.#take(s, false));
    this.hub.onreconnecting(() => this.#setLine("alone"));
    this.hub.onreconnected(() => void this.#connected());
    // Reached only where the client gives up after all: begin again.
    this.hub.onclose(() => {
      this.#setLine("alone");
      void this.#start();
    });
    addEventListener("offline", () => this.#setLine("alone"));
    addEventListener("online", () => void this.#check());
    addEventListener("visibilitychange", () => void this.#check());
    this.prober = setInterval(() => void this.#check(), PROBE_EVERY_MS);
  }

  /**
   * Watches benches from now on. Returns when the first try to reach the server is over; tries go on.
   * @param {string[]} benches
   */
  async watch(benches) {
    for (const bench of benches)
      if (!this.benches.has(bench))
        this.benches.set(bench, {
          snapshot: null, refused: null, sent: [],
          outbox: new Outbox(
            bench, c => this.#deliver(bench, c), (c, a) => this.#answered(bench, c, a), () => this.onHeld()),
        });
    if (this.hub.state === signalR.HubConnectionState.Connected) await this.#watchAll();
    else if (this.hub.state === signalR.HubConnectionState.Disconnected) void this.#start();
    await this.#fetchAll();
  }

  /**
   * Watches in another layout: the screen was turned.
   * @param {string} layout
   */
  async relayout(layout) {
    if (layout === this.layout) return;
    const before = this.layout;
    this.layout = layout;
    if (this.hub.state === signalR.HubConnectionState.Connected)
      for (const bench of this.benches.keys()) await this.hub.invoke("Leave", bench, before).catch(() => {});
    await this.#watchAll();
    if (this.line.state !== "connected") await this.#fetchAll();
  }

  /**
   * Says something to a bench: now, or as soon as the server can be reached. False where too much waits for that.
   * @param {string} bench
   * @param {ScreenCommand} command
   */
  send(bench, command) {
    // Who is there now: others may have signed in when it arrives.
    const { who, lastPerson } = this;
    const tapped = new Date(this.clock.now()).toISOString();
    const said = { ...command, person: who?.person ?? lastPerson, locked: who?.kind === "tablet", tapped };
    return this.benches.get(bench)?.outbox.add(said) ?? false;
  }

  /** @param {WhoSnapshot} who */
  take(who) {
    if (who.person) this.lastPerson = who.person;
    const isOther = this.signedOut || who.person !== this.who?.person;
    this.who = who;
    this.signedOut = false;
    this.onWho();
    // What waited for somebody who may say it.
    if (isOther) for (const { outbox } of this.benches.values()) void outbox.flush(true);
  }

  /**
   * Goes on with what was kept, until the server is there.
   * @param {import("./keep.js").Kept} kept
   */
  resume(kept) {
    const bench = this.benches.get(kept.snapshot.bench);
    if (!bench || bench.snapshot) return;
    this.clock.resume(kept.server, kept.wall, kept.snapshot.rate);
    bench.snapshot = kept.snapshot;
    bench.sent = kept.sent ?? [];
    this.who ??= kept.who;
    this.lastPerson ??= kept.lastPerson;
    this.line = { state: "alone", since: kept.since ?? kept.server };
  }

  /** Says that somebody has touched the screen. */
  here() {
    if (this.hub.state === signalR.HubConnectionState.Connected)
      void this.hub.invoke("Here").then((/** @type {WhoSnapshot} */ who) => this.take(who), () => {});
  }

  /**
   * Says whether this screen of a bench can be seen and heard.
   * @param {string} bench
   * @param {boolean} visible
   * @param {boolean} sound
   */
  attend(bench, visible, sound) {
    if (this.hub.state === signalR.HubConnectionState.Connected)
      void this.hub.invoke("Attend", bench, visible, sound).catch(() => {});
  }

  /**
   * What a scanned box means for the cartridge that is due; null where it is none, or where nobody answers.
   * @param {string} bench
   * @param {string|null} due
   * @param {string} scanned
   * @returns {Promise<{isRight: boolean, sentence: string}|null>}
   */
  async judgeBox(bench, due, scanned) {
    if (this.hub.state !== signalR.HubConnectionState.Connected) return null;
    return Promise.race([this.hub.invoke("JudgeBox", bench, due, scanned), nothingAfter(ANSWER_PATIENCE_MS)]).catch(
      () => null,
    );
  }

  /** The server knows nobody here any more: it is told once, and what is tapped is kept. */
  async #noticeSignedOut() {
    const answer = await fetch("api/v1/who", {
      cache: "no-store",
      signal: AbortSignal.timeout(ANSWER_PATIENCE_MS),
    }).catch(() => null);
    if (answer?.ok) return this.take(await answer.json());
    if (answer?.status !== 401 || this.signedOut) return;
    this.signedOut = true;
    this.onWho();
  }

  /**
   * Commands that wait for the server.
   * @param {string} bench
   */
  waiting(bench) {
    return this.benches.get(bench)?.outbox.waiting() ?? [];
  }

  /** Nothing of a bench is known here any more. @param {string} bench */
  forget(bench) {
    const kept = this.benches.get(bench);
    if (kept) kept.snapshot = null;
  }

  /**
   * What the server said last, where it does not take now what waits; null where it does.
   * @param {string} bench
   */
  held(bench) {
    const { outbox } = this.benches.get(bench) ?? {};
    return outbox && outbox.waiting().length > 0 ? outbox.held : null;
  }

  /**
   * Commands that the snapshot on this screen knows nothing of: those that wait, and those recorded of which no
   * snapshot has come yet. The server may be lost before it comes. What was told
   * together stands one by one.
   * @param {string} bench
   */
  untold(bench) {
    return [...this.sent(bench).map(one => one.command), ...this.waiting(bench)].flatMap((/** @type {Waiting} */ one) =>
      one.told?.map(part => ({ ...part, tapped: one.tapped })) ?? one);
  }

  /** Commands recorded, and younger than the snapshot. @param {string} bench */
  sent(bench) {
    return this.benches.get(bench)?.sent ?? [];
  }

  /**
   * @param {string} bench
   * @param {ScreenCommand} command
   * @param {CommandAnswer} answer
   */
  #answered(bench, command, answer) {
    const kept = this.benches.get(bench);
    if (answer.recorded && kept && !(answer.revision <= (kept.snapshot?.revision ?? -1)))
      kept.sent.push({ command, revision: answer.revision });
    this.onAnswer(bench, command, answer);
  }

  async end() {
    this.ended = true;
    clearInterval(this.prober);
    for (const { outbox } of this.benches.values()) outbox.end();
    await this.hub.stop().catch(() => {});
  }

  async #start() {
    for (let tries = 0; !this.ended && this.hub.state === signalR.HubConnectionState.Disconnected; tries++) {
      try {
        await this.hub.start();
        await this.#connected();
        return;
      } catch {
        void this.#noticeSignedOut();
        if (this.line.state === "connecting" && tries > 1) this.#setLine("alone");
        await new Promise(done => setTimeout(done, retryAfter(tries)));
      }
    }
  }

  async #connected() {
    for (let i = 0; i < FIRST_PROBES; i++) await probe(this.clock);
    await this.hub.invoke("WhoIsHere").then((/** @type {WhoSnapshot} */ who) => this.take(who), () => {});
    // What waits is told first: until then the server plans, and shows, what it does not know to be done.
    for (const { outbox } of this.benches.values()) await outbox.flush(true);
    await this.#watchAll();
    this.#setLine("connected");
  }

  async #watchAll() {
    if (this.hub.state !== signalR.HubConnectionState.Connected) return;
    for (const [bench, kept] of this.benches) {
      try {
        this.#take(await this.hub.invoke("Watch", bench, this.layout), true);
        kept.refused = null;
      } catch (fault) {
        this.#refuse(bench, fault);
      }
    }
  }

  /**
   * @param {string} bench
   * @param {unknown} fault
   */
  #refuse(bench, fault) {
    const said = /HubException: (.*)$/s.exec(String(fault))?.[1];
    if (said) this.onRefused(bench, said);
  }

  async #fetchAll() {
    for (const bench of this.benches.keys()) {
      try {
        const answer = await fetch(`api/v1/benches/${encodeURIComponent(bench)}?layout=${this.layout}`, {
          cache: "no-store", signal: AbortSignal.timeout(ANSWER_PATIENCE_MS),
        });
        if (answer.ok) this.#take(await answer.json(), true);
      } catch {
        // No server: the next check asks again.
      }
    }
  }

  /** Asks for the time: keeps the clock true and notices a line that died without a word. */
  async #check() {
    if (this.ended || document.hidden) return;
    this.clock.noticeSleep();
    const answered = await probe(this.clock);
    const connected = this.hub.state === signalR.HubConnectionState.Connected;
    if (!answered) {
      this.#setLine("alone");
      void this.#noticeSignedOut();
    }
    else if (connected && this.line.state !== "connected") await this.#connected();
    else if (!connected) {
      // The plain way works where the hub's does not.
      for (const { outbox } of this.benches.values()) await outbox.flush();
      await this.#fetchAll();
    }
  }

  /**
   * @param {string} bench
   * @param {ScreenCommand} command
   * @returns {Promise<CommandAnswer|null>}
   */
  async #deliver(bench, command) {
    const answer = this.hub.state === signalR.HubConnectionState.Connected
      ? await byHub(this.hub, bench, command) : await byHttp(bench, command);
    if (answer?.signIn) void this.#noticeSignedOut();
    return answer;
  }

  /**
   * @param {BenchSnapshot} snapshot
   * @param {boolean} asked Whether this screen asked for it just now.
   */
  #take(snapshot, asked) {
    if (!this.#canRead(snapshot)) return;
    const kept = this.benches.get(snapshot.bench);
    if (!kept) return;
    const [old, time] = [kept.snapshot, Date.parse(snapshot.serverTime)];
    const isAnew = old !== null && snapshot.revision < old.revision;
    if (old) {
      const newer = time > Date.parse(old.serverTime);
      // A server that was set up anew counts from the start again: what it says when asked is believed if it is later.
      if (snapshot.revision < old.revision && !(asked && newer)) return;
      if (snapshot.revision === old.revision && !newer && snapshot.lanes === old.lanes) return;
    }
    this.clock.floor(time, snapshot.rate);
    kept.snapshot = snapshot;
    kept.sent = kept.sent.filter(one => !isAnew && one.revision > snapshot.revision);
    this.onSnapshot(snapshot);
  }

  /** A snapshot of another form is as good as none: this screen goes on alone. @param {BenchSnapshot} snapshot */
  #canRead(snapshot) {
    const readable = reads(snapshot, sessionStorage);
    this.otherForm = readable ? null : formOf(snapshot);
    if (!readable) this.#setLine("alone");
    return readable;
  }

  /** @param {LineState["state"]} wanted */
  #setLine(wanted) {
    const state = wanted === "connected" && this.otherForm !== null ? "alone" : wanted;
    if (this.ended || state === this.line.state) return;
    this.line = { state, since: state === "alone" ? this.clock.now() : null };
    this.onLine(this.line);
  }
}

/** @param {number} tries */
function retryAfter(tries) {
  return RETRY_MS[Math.min(tries, RETRY_MS.length - 1)];
}
