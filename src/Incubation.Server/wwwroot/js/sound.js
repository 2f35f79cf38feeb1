// Sounds on the audio clock, set ahead: a hidden or busy page still sounds on time.

/** @import { PlannedSound } from "./soundplan.js" */

import { BURSTS, HARMONICS, RISE } from "./soundplan.js";

// A wave begins with its steady part, of which there is none.
const WAVE = [0, ...HARMONICS];

export class Sounder {
  constructor() {
    /** @type {AudioContext|null} */
    this.audio = null;
    /** @type {Map<string, {begins: number, stop: () => void}>} */
    this.set = new Map();
    /** @type {() => void} */
    this.onChange = () => {};
    try {
      this.audio = new AudioContext();
      this.audio.addEventListener("statechange", () => this.onChange());
    } catch {
      // A browser without sound: the screen says so.
    }
    for (const touch of ["pointerdown", "keydown"]) addEventListener(touch, () => void this.arm(), { capture: true });
  }

  /** Whether sounds are heard. Browsers keep a page silent until it was touched. */
  get isArmed() {
    return this.audio?.state === "running";
  }

  async arm() {
    if (this.audio && this.audio.state !== "running") await this.audio.resume().catch(() => {});
  }

  /**
   * Sets these sounds and takes back all others that were set.
   * @param {PlannedSound[]} sounds
   */
  schedule(sounds) {
    const audio = this.audio;
    if (!audio || audio.state !== "running") {
      this.silence();
      return;
    }
    const wanted = new Set(sounds.map(s => s.id));
    for (const [id, one] of this.set) {
      // What sounds at this moment is part of no plan of the time ahead; it ends by itself unless it has no reason any
      // more.
      const sounding = one.begins <= audio.currentTime;
      if (!wanted.has(id) && !sounding) {
        one.stop();
        this.set.delete(id);
      }
    }
    for (const sound of sounds)
      if (!this.set.has(sound.id)) this.set.set(sound.id, this.#play(audio, sound));
  }

  /**
   * Sounds once, now, in place of everything else; false where this browser is silent.
   * @param {PlannedSound["kind"]} kind
   */
  async sample(kind) {
    await this.arm();
    if (!this.audio || this.audio.state !== "running") return false;
    this.silence();
    const sound = { id: "sample", kind, inMs: 0 };
    this.set.set(sound.id, this.#play(this.audio, sound));
    return true;
  }

  /** Takes back everything, also what sounds now. */
  silence() {
    for (const one of this.set.values()) one.stop();
    this.set.clear();
  }

  /**
   * @param {AudioContext} audio
   * @param {PlannedSound} sound
   */
  #play(audio, sound) {
    const burst = BURSTS[sound.kind];
    const begins = audio.currentTime + Math.max(0, sound.inMs / 1000);
    const volume = audio.createGain();
    volume.gain.value = 0;
    volume.connect(audio.destination);
    const tone = audio.createOscillator();
    tone.frequency.value = burst.tone;
    if (!burst.soft)
      tone.setPeriodicWave(audio.createPeriodicWave(new Float32Array(WAVE.length), new Float32Array(WAVE)));
    tone.connect(volume);
    let ends = begins;
    for (const [start, seconds] of burst.pulses) {
      const from = begins + start;
      ends = from + seconds;
      const rise = seconds * RISE;
      volume.gain.setValueAtTime(0, from);
      volume.gain.linearRampToValueAtTime(burst.gain, from + rise);
      if (burst.soft) volume.gain.exponentialRampToValueAtTime(0.001, ends);
      else {
        volume.gain.setValueAtTime(burst.gain, ends - rise);
        volume.gain.linearRampToValueAtTime(0, ends);
      }
    }
    tone.start(begins);
    tone.stop(ends + 0.05);
    tone.onended = () => {
      volume.disconnect();
      this.set.delete(sound.id);
    };
    return {
      begins,
      stop: () => {
        tone.onended = null;
        volume.disconnect();
        try {
          tone.stop();
        } catch {
          // Already ended.
        }
      },
    };
  }
}
