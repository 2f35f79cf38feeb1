// The screen shakes with its sounds, where it can.

/** @import { PlannedSound } from "./soundplan.js" */
import { BURSTS } from "./soundplan.js";

export class Buzzer {
  constructor() {
    this.timer = 0;
  }

  /**
   * Shakes with the next of these sounds; what was planned before is forgotten.
   * @param {PlannedSound[]} sounds In order.
   */
  plan(sounds) {
    clearTimeout(this.timer);
    const [next, ...rest] = sounds;
    if (!next || !("vibrate" in navigator)) return;
    const set = performance.now();
    this.timer = setTimeout(() => {
      // Browsers allow it only after a touch, and complain otherwise.
      if (navigator.userActivation?.hasBeenActive !== false) navigator.vibrate(patternOf(next.kind));
      this.plan(rest.map(s => ({ ...s, inMs: s.inMs - (performance.now() - set) })));
    }, Math.max(0, next.inMs));
  }

  end() {
    clearTimeout(this.timer);
  }
}

/**
 * On and off in turn, in milliseconds.
 * @param {keyof typeof BURSTS} kind
 */
export function patternOf(kind) {
  const { pulses } = BURSTS[kind];
  return pulses.flatMap(([start, seconds], i) => {
    const off = i + 1 < pulses.length ? [Math.round((pulses[i + 1][0] - start - seconds) * 1000)] : [];
    return [Math.round(seconds * 1000), ...off];
  });
}
