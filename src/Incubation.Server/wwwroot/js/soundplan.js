// What sounds when: worked out ahead from a snapshot alone, so that it sounds without a server. Pure.
// Modelled on the burst figures of IEC 60601-1-8:2006 + A1:2012 + A2:2020; Conditions.md of the bench says which of
// them are unverified. This is not the equipment that the standard covers.

/** @import { AlarmSnapshot, BenchSnapshot } from "./types.js" */
import { at, ms } from "./format.js";

/** Real milliseconds between the beginnings of two bursts; a note sounds once. */
export const REPEAT_MS = { high: 6000, medium: 12000, low: Infinity };

/** @typedef {{tone: number, gain: number, soft: boolean, pulses: [number, number][]}} Burst */

/**
 * When each pulse of a burst begins, and how long it is, in seconds. High: three and two, played twice; medium: three;
 * low: two. A prompt is one soft tone. The tones are those of a rising chord, so that they are told apart by pitch as
 * well.
 * @type {Record<"prompt"|"low"|"medium"|"high", Burst>}
 */
export const BURSTS = {
  high: {
    tone: 660,
    gain: 0.5,
    soft: false,
    pulses: [0, 0.25, 0.5, 1, 1.25, 1.9, 2.15, 2.4, 2.9, 3.15].map(s => [s, 0.15]),
  },
  medium: { tone: 523, gain: 0.4, soft: false, pulses: [0, 0.4, 0.8].map(s => [s, 0.2]) },
  low: { tone: 392, gain: 0.25, soft: false, pulses: [0, 0.4].map(s => [s, 0.2]) },
  prompt: { tone: 587, gain: 0.25, soft: true, pulses: [[0, 0.45]] },
};

/** How loud the harmonics of a tone are, beginning with the first, which is the tone itself: all within 15 dB of it. */
export const HARMONICS = [1, 0.6, 0.45, 0.3, 0.2];

/** A pulse rises, and falls, in this part of its length. */
export const RISE = 0.15;

/** Real milliseconds that a burst takes: nothing else sounds meanwhile. */
export const BURST_MS = {
  high: burstMs("high"),
  medium: burstMs("medium"),
  low: burstMs("low"),
  prompt: burstMs("prompt"),
};

export const RANK = { low: 1, medium: 2, high: 3 };

/** @param {keyof typeof BURSTS} kind */
function burstMs(kind) {
  const [start, seconds] = BURSTS[kind].pulses[BURSTS[kind].pulses.length - 1];
  return Math.round((start + seconds) * 1000);
}

/**
 * @typedef {object} PlannedSound
 * @property {string} id The same sound keeps its id from plan to plan.
 * @property {"prompt"|"low"|"medium"|"high"} kind
 * @property {number} inMs Real milliseconds from now.
 */

/**
 * The alarm that matters most among those that stand at an instant: the highest priority, then the nearest deadline.
 * @param {AlarmSnapshot[]} alarms
 * @param {number} instant
 */
export function standing(alarms, instant) {
  return alarms
    .filter(a => at(a.from) <= instant && instant < (ms(a.until) ?? Infinity))
    .sort(
      (a, b) =>
        RANK[b.priority] - RANK[a.priority] ||
        (ms(a.deadline) ?? Infinity) - (ms(b.deadline) ?? Infinity) ||
        at(a.from) - at(b.from),
    );
}

/**
 * The sounds of the time ahead.
 * @param {BenchSnapshot} snapshot
 * @param {number} now The server's time.
 * @param {number} rate
 * @param {number} horizonMs Real milliseconds to look ahead.
 * @param {Set<string>} silenced Keys of offers already reported and ids of alarms already acknowledged here.
 * @param {number} [quietUntil] Alarms are silent until this instant.
 * @returns {PlannedSound[]}
 */
export function planSounds(snapshot, now, rate, horizonMs, silenced, quietUntil = 0) {
  const end = now + horizonMs * rate;
  const alarms = snapshot.alarms.filter(a => !a.acknowledged && !a.passed && !silenced.has(a.id));
  const sounds = alarmSounds(alarms, now, end, rate).filter(s => now + s.inMs * rate >= quietUntil);
  for (const offer of snapshot.offers) {
    if (silenced.has(offer.key)) continue;
    for (const [what, instant] of /** @type {const} */ ([
      ["prompt", at(offer.promptAt)],
      ["begin", at(offer.mayBegin)],
    ]))
      if (instant >= now && instant <= end)
        sounds.push({ id: `${what}/${offer.key}/${instant}`, kind: "prompt", inMs: (instant - now) / rate });
  }
  return oneAtATime(sounds);
}

/**
 * Bursts keep the rhythm that their alarm began with, whatever snapshots come in between.
 * @param {AlarmSnapshot[]} alarms
 * @param {number} now
 * @param {number} end
 * @param {number} rate
 * @returns {PlannedSound[]}
 */
function alarmSounds(alarms, now, end, rate) {
  /** @type {PlannedSound[]} */
  const sounds = [];
  for (const alarm of alarms) {
    const from = at(alarm.from);
    const until = Math.min(ms(alarm.until) ?? Infinity, end);
    const step = REPEAT_MS[alarm.priority] * rate;
    for (let burst = Math.max(0, Math.ceil((now - from) / step)); burst === 0 || from + burst * step < until; burst++) {
      const instant = burst === 0 ? from : from + burst * step;
      if (instant < now || instant >= until) break;
      // Only the most urgent sounds; where it falls silent the next takes over at its own beat.
      if (standing(alarms, instant)[0] === alarm)
        sounds.push({
          id: `${alarm.id}/${alarm.priority}/${from}/${burst}`,
          kind: alarm.priority,
          inMs: (instant - now) / rate,
        });
    }
  }
  return sounds;
}

/**
 * One sound at a time, the more urgent first; a prompt that meets an alarm is left out: the screen shows it.
 * @param {PlannedSound[]} sounds
 */
function oneAtATime(sounds) {
  const rank = { prompt: 0, ...RANK };
  /** @type {PlannedSound[]} */
  const kept = [];
  for (const sound of sounds.sort((a, b) => rank[b.kind] - rank[a.kind] || a.inMs - b.inMs)) {
    const clash = kept.some(k => sound.inMs < k.inMs + BURST_MS[k.kind] && k.inMs < sound.inMs + BURST_MS[sound.kind]);
    if (!clash) kept.push(sound);
  }
  return kept.sort((a, b) => a.inMs - b.inMs);
}

/**
 * The alarms that the wall shows and sounds: those that nobody has acknowledged in time, from then on.
 * @param {AlarmSnapshot[]} alarms
 */
export function gonePastTheBench(alarms) {
  return alarms.filter(a => !a.acknowledged && !a.passed).map(a => ({ ...a, from: a.escalatesAt }));
}
