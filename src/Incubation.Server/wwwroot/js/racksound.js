// Two short sounds beside what a rack intake says: taken, and look at the screen. Neither is like an alarm's: one soft
// tone, never a burst of several.

const TAKEN = { tone: 1320, seconds: 0.06, gain: 0.15 };
const LOOK = { tone: 220, seconds: 0.3, gain: 0.3 };

/** @type {AudioContext|null} */
let audio = null;

/** @param {boolean} isGood */
export function blip(isGood) {
  try {
    audio ??= new AudioContext();
    if (audio.state !== "running") void audio.resume().catch(() => {});
    const { tone, seconds, gain } = isGood ? TAKEN : LOOK;
    const now = audio.currentTime;
    const volume = audio.createGain();
    volume.gain.setValueAtTime(gain, now);
    volume.gain.exponentialRampToValueAtTime(0.001, now + seconds);
    volume.connect(audio.destination);
    const source = audio.createOscillator();
    source.type = "triangle";
    source.frequency.value = tone;
    source.connect(volume);
    source.start(now);
    source.stop(now + seconds);
    source.onended = () => volume.disconnect();
  } catch {
    // A browser without sound: the sentence says the same.
  }
}
