// What a scan of the check code says of how the scanner is set up. Pure.

import { Burst } from "./wedge.js";

/** Stands for the separator of GS1 codes, as wedge.js has it. */
export const SEPARATOR = "␝";
/**
 * What the check code says, the separator shown. It begins and ends with letters that stand in the same place on the
 * usual Latin keyboards, so that it is found behind a prefix; between them is what layouts move (common practice).
 */
export const CHECK = `CHECKyzYZaqAQwmWM0123456789-_/+:;.${SEPARATOR}END`;

const FIRST = "CHECK";
const LAST = "END";
/** After the last key of a scan nothing comes for so long. */
export const REST_MS = 150;
/** A code's kind, as scanners may send it ahead: "]Q1", "]C0" (ISO/IEC 15424; from memory). */
const KIND = /^\][A-Za-z][0-9]$/;

/** @typedef {{key: string, at: number}} Key A key as wedge.js names it, the separator as its sign. */
/** @typedef {{isGood: boolean, word: string, things: string[]}} Finding A word of the page, and what stands in it. */

/**
 * @param {Key[]} keys All keys of a scan, in order.
 * @returns {Finding[]} What was found, the first first; all good where the scanner is set up right.
 */
export function judgeScan(keys) {
  const end = suffixOf(keys);
  const text = keys.filter(one => one.key.length === 1).map(one => one.key).join("");
  const start = text.toUpperCase().indexOf(FIRST);
  if (start < 0) return [bad("NotTheCode", text.slice(0, 40))];
  const body = end.isSeparator && text.endsWith(SEPARATOR) ? text.slice(start, -1) : text.slice(start);
  return [prefixOf(text.slice(0, start)), speedOf(keys), end.finding, separatorOf(body), lettersOf(body)];
}

/** @param {Key[]} keys */
function suffixOf(keys) {
  const isEnd = (/** @type {Key|undefined} */ one) => one?.key === "Enter" || one?.key === "Tab";
  const last = keys.at(-1);
  if (isEnd(last) && isEnd(keys.at(-2))) return { isSeparator: false, finding: bad("SuffixTwice") };
  if (last?.key === "Enter") return { isSeparator: false, finding: good("SuffixEnter") };
  if (last?.key === "Tab") return { isSeparator: false, finding: good("SuffixTab") };
  return last?.key === SEPARATOR
    ? { isSeparator: true, finding: good("SuffixSeparator") }
    : { isSeparator: false, finding: bad("SuffixNone") };
}

/** @param {string} before */
function prefixOf(before) {
  if (before === "") return good("PrefixNone");
  return KIND.test(before) ? bad("PrefixKind", before) : bad("Prefix", before);
}

/** Whether wedge.js takes it for a scan. @param {Key[]} keys */
function speedOf(keys) {
  const burst = new Burst();
  let isHeard = false;
  for (const { key, at } of keys) if (burst.key(key, at).scanned !== null) isHeard = true;
  const last = keys.at(-1);
  if (last && burst.rest(last.at + REST_MS).scanned !== null) isHeard = true;
  const longest = Math.round(Math.max(0, ...keys.slice(1).map((one, i) => one.at - keys[i].at)));
  // Without an end nothing is heard, however quickly it came.
  if (isHeard || suffixOf(keys).finding.word === "SuffixNone") return good("SpeedGood");
  return bad("SpeedSlow", String(longest));
}

/** @param {string} body */
function separatorOf(body) {
  const at = CHECK.indexOf(SEPARATOR);
  if (body[at] === SEPARATOR) return good("SeparatorGood");
  if (!body.toUpperCase().endsWith(LAST)) return bad("SeparatorCut");
  return body.length === CHECK.length ? bad("SeparatorOther", body[at]) : bad("SeparatorNone");
}

/** @param {string} body */
function lettersOf(body) {
  const wanted = CHECK.slice(0, CHECK.indexOf(SEPARATOR));
  const moved = [...wanted].map((letter, i) => [letter, body[i] ?? ""]).filter(([one, came]) => one !== came);
  if (moved.length === 0) return good("LettersGood");
  const isLetter = (/** @type {string} */ one) => /[A-Za-z]/.test(one);
  if ([...wanted].filter(isLetter).length === moved.length && moved.every(([one, came]) =>
    isLetter(one) && came !== one && came.toLowerCase() === one.toLowerCase())) return bad("LettersCaps");
  const shown = moved.slice(0, 6).map(([one, came]) => `${one} → ${came || "–"}`).join(", ");
  return bad("LettersMoved", shown);
}

/** @param {string} word @param {...string} things @returns {Finding} */
function good(word, ...things) {
  return { isGood: true, word, things };
}

/** @param {string} word @param {...string} things @returns {Finding} */
function bad(word, ...things) {
  return { isGood: false, word, things };
}
