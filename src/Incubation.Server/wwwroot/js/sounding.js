// What a bench screen sounds: set ahead from the snapshot, paused and armed by its buttons, and told to the server,
// which must know whether anybody can see and hear this bench.

/** @import { BenchContext } from "./context.js" */
/** @import { Pause } from "./pause.js" */
import { Buzzer } from "./buzz.js";
import { find, setText } from "./dom.js";
import { fill, length } from "./format.js";
import { Hearing } from "./hearing.js";
import { pauseEnds, pauseFrom } from "./pause.js";
import { Sounder } from "./sound.js";
import { planSounds, standing } from "./soundplan.js";

const PLAN_EVERY_MS = 20_000;
const AHEAD_MS = 150_000;
const ATTEND_EVERY_MS = 3000;
const PAUSE_KEY = "incubation.pause";

export class Sounding {
  /** @param {BenchContext} screen */
  constructor(screen) {
    this.screen = screen;
    this.w = screen.w;
    this.sounder = new Sounder();
    this.hearing = new Hearing(this.sounder, this.w);
    this.buzzer = new Buzzer();
    this.button = find(screen.root, ".bench-sound");
    this.meant = this.button.dataset.state;
    this.sounder.onChange = () => this.#changed();
    // The touch itself arms: what the button said before it is what was meant.
    for (const touch of ["pointerdown", "keydown"])
      this.button.addEventListener(touch, () => (this.meant = this.button.dataset.state));
    this.button.addEventListener("click", () => void this.#tapped(this.meant));
    this.onVisible = () => this.attend();
    addEventListener("visibilitychange", this.onVisible);
    this.planner = setInterval(() => this.plan(), PLAN_EVERY_MS);
    this.attender = setInterval(() => this.attend(), ATTEND_EVERY_MS);
  }

  end() {
    clearInterval(this.planner);
    clearInterval(this.attender);
    removeEventListener("visibilitychange", this.onVisible);
    this.buzzer.end();
    this.sounder.silence();
  }

  /** Tells the server whether this screen is in view and can sound. */
  attend() {
    this.screen.live.attend(this.screen.bench, document.visibilityState === "visible", this.hearing.isHeard);
  }

  /** Sets the sounds of the time ahead. */
  plan() {
    const { screen } = this;
    if (!screen.snapshot) return this.sounder.silence();
    const silenced = new Set([...screen.taps.seen, ...screen.taps.tapped.keys()]);
    const ahead = { ...screen.snapshot, offers: screen.offers(), alarms: screen.alarmsNow() };
    const sounds = planSounds(ahead, screen.clock.now(), screen.clock.rate, AHEAD_MS, silenced, this.#quietUntil());
    this.sounder.schedule(sounds);
    this.buzzer.plan(sounds);
  }

  /**
   * The one button of everything that sounds: it arms, pauses while an alarm sounds, ends a pause, and else tries the
   * sound.
   * @param {number} now
   */
  numerals(now) {
    const state = this.#state(now);
    const words = {
      off: this.sounder.audio ? "SoundOff" : "NoSound",
      silent: "NotHeard",
      paused: "SoundPaused",
      sounding: "PauseSound",
      on: "SoundOn",
    };
    this.button.dataset.state = state;
    setText(this.button, fill(this.w(words[state]), length(this.#quietUntil() - now)));
  }

  /**
   * @param {number} now
   * @returns {"off"|"silent"|"paused"|"sounding"|"on"}
   */
  #state(now) {
    if (!this.sounder.isArmed) return "off";
    if (!this.hearing.isHeard) return "silent";
    if (this.#quietUntil() > 0) return "paused";
    return this.#sounds(now) ? "sounding" : "on";
  }

  /**
   * Whether an alarm stands that sounds here.
   * @param {number} now
   */
  #sounds(now) {
    const { seen } = this.screen.taps;
    return standing(this.screen.alarmsNow(), now).some(a => !a.acknowledged && !a.passed && !seen.has(a.id));
  }

  /** Until when alarms are silent here; zero where they are not. */
  #quietUntil() {
    /** @type {Pause|null} */
    const pause = JSON.parse(sessionStorage.getItem(PAUSE_KEY) ?? "null");
    const ends = pause ? pauseEnds(pause, this.screen.alarmsNow()) : 0;
    return ends > this.screen.clock.now() ? ends : 0;
  }

  /** @param {string|undefined} meant */
  async #tapped(meant) {
    const { screen } = this;
    const now = screen.clock.now();
    const state = meant === "off" ? meant : this.#state(now);
    if (state === "off") await this.sounder.arm();
    else if (state === "paused") sessionStorage.removeItem(PAUSE_KEY);
    else if (state === "sounding") {
      sessionStorage.setItem(
        PAUSE_KEY,
        JSON.stringify(pauseFrom(standing(screen.alarmsNow(), now), now, screen.clock.rate)),
      );
      this.sounder.silence();
    } else await this.hearing.ask({ go: this.w("HearYes"), without: this.w("HearLeave"), runSheet: null });
    this.#changed();
  }

  #changed() {
    this.attend();
    this.screen.render();
  }
}
