// Which benches a wall screen shows: its share of them, a page at a time, and a little moved now and then so that
// nothing burns into the panel.

/** So many benches can be read from across the room on one screen. */
export const BENCHES_ON_A_PAGE = 4;
export const PAGE_MS = 15_000;
const SHIFT_EVERY_MS = 60_000;

/** Where the picture stands, in units of the screen, minute by minute: a small square, walked along its edge. */
const SHIFTS = [[0, 0], [1, 0], [2, 0], [2, 1], [2, 2], [1, 2], [0, 2], [0, 1]];

/**
 * The share of a screen: "2/3" is the second of three; anything else is all.
 * @param {string|null} said
 * @returns {{screen: number, of: number}|null}
 */
export function readShare(said) {
  const parts = /^([1-9])\/([1-9])$/.exec(said ?? "");
  const [screen, of] = parts ? [Number(parts[1]), Number(parts[2])] : [1, 1];
  return of > 1 && screen <= of ? { screen, of } : null;
}

/**
 * The benches of a share: runs of neighbours, as equal as can be.
 * @template T
 * @param {T[]} all In order.
 * @param {{screen: number, of: number}|null} share
 * @returns {T[]}
 */
export function shareOf(all, share) {
  if (!share) return all;
  const from = Math.round((all.length * (share.screen - 1)) / share.of);
  return all.slice(from, Math.round((all.length * share.screen) / share.of));
}

/**
 * The page that is shown at an instant, in real milliseconds: each as long as the others, all screens in step.
 * @param {number} count How many benches there are.
 * @param {number} at
 */
export function pageAt(count, at) {
  const pages = Math.max(1, Math.ceil(count / BENCHES_ON_A_PAGE));
  // Pages are as full as can be, so that no bench is left alone on the last.
  const size = Math.ceil(count / pages);
  const page = Math.floor(at / PAGE_MS) % pages;
  return { page, pages, from: page * size, to: Math.min(count, (page + 1) * size) };
}

/**
 * How far the picture is moved at an instant, in units of the screen.
 * @param {number} at
 */
export function shiftAt(at) {
  return SHIFTS[Math.floor(at / SHIFT_EVERY_MS) % SHIFTS.length];
}
