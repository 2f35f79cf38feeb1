// Where a list is pasted, or a file of it chosen. What can be no list is told before a field or the server has it: a
// field breaks a text of millions of letters into lines for a minute.

import { el } from "./dom.js";
import { fill } from "./format.js";

/** The server takes so many bytes at once (LargestBodyAttribute.Large). */
export const LARGEST = 1024 * 1024;
const BYTES_OF_MB = 1024 * 1024;
/** No line of a list has so many letters: eleven columns, each a name or a short sentence. */
export const LONGEST_LINE = 4000;
/** What is typed is read once it has rested so long; longer than the keys of a scan may halt (wedge.js). */
export const REST_MS = 500;
const TOO_MANY = 429;
const TOO_LARGE = 413;
const AGAIN_MS = 2000;
/** The byte-order mark of UTF-16 in either order, as its first two bytes. */
const UTF_16 = new Map([["fffe", "utf-16le"], ["feff", "utf-16be"]]);
/** So many bytes are looked at for what a list has none of. */
const LOOKED_AT = 256;

/** @typedef {"TooLarge"|"LongLine"|"Empty"|"Encoding"|"Busy"|"NotNow"|"Offline"} Refusal */
/** @typedef {{status: number, body: any}} Answer */
/** @typedef {() => boolean} IsStill */

/**
 * UTF-16 without its mark: every second byte of usual letters is zero, and no other encoding of a list has any.
 * @param {Uint8Array} bytes
 */
function unmarked(bytes) {
  const zeros = [0, 0];
  bytes.slice(0, LOOKED_AT).forEach((one, at) => {
    if (one === 0) zeros[at % 2]++;
  });
  return zeros[0] === zeros[1] ? "utf-8" : zeros[0] > zeros[1] ? "utf-16be" : "utf-16le";
}

/**
 * The text of a file; null where it is in no encoding that can be told.
 * @param {ArrayBuffer} bytes
 */
export function textOf(bytes) {
  const all = new Uint8Array(bytes);
  const first = [...all.slice(0, 2)].map(one => one.toString(16).padStart(2, "0")).join("");
  try {
    return new TextDecoder(UTF_16.get(first) ?? unmarked(all), { fatal: true }).decode(bytes);
  } catch {
    return null;
  }
}

/**
 * Why a text can be no list; null where it may be one.
 * @param {string} text
 * @returns {Refusal|null}
 */
export function refusedText(text) {
  if (text.length > LARGEST || new TextEncoder().encode(JSON.stringify({ text })).length > LARGEST) return "TooLarge";
  return text.split(/[\r\n]/).some(line => line.length > LONGEST_LINE) ? "LongLine" : null;
}

/**
 * @param {(why: Refusal) => string} w What is said of each.
 * @param {Refusal} why
 */
export function refusalIn(w, why) {
  return fill(w(why), why === "LongLine" ? LONGEST_LINE : LARGEST / BYTES_OF_MB);
}

/**
 * Asks for what a list says, again where it is asked for too often at once.
 * @param {() => Promise<Answer>} ask
 * @param {IsStill} isStill
 * @param {() => void} busy Says that it is asked again.
 */
export async function askReading(ask, isStill, busy) {
  for (;;) {
    const answer = await ask();
    if (answer.status !== TOO_MANY || !isStill()) return answer;
    busy();
    await new Promise(done => setTimeout(done, AGAIN_MS));
    if (!isStill()) return answer;
  }
}

/**
 * Why a list was not read, in a sentence.
 * @param {(why: Refusal) => string} w What is said of each.
 * @param {Answer} answer Status 0 where none came.
 */
export function whyUnread(w, { status, body }) {
  if (status === 0) return refusalIn(w, "Offline");
  if (status === TOO_LARGE) return refusalIn(w, "TooLarge");
  return body?.detail ?? refusalIn(w, "NotNow");
}

/**
 * The fields.
 * @param {string} id Begins the ids of both.
 * @param {object} does
 * @param {() => void} does.changed What was read before is not what stands there now.
 * @param {(text: string, isStill: IsStill) => Promise<void>} does.read Reads the list; told whether it is still the
 *   list that is in front of the person: of two lists the answer to the first may come last.
 * @param {(why: Refusal) => void} does.refused Says why nothing was taken.
 */
export function listFields(id, { changed, read, refused }) {
  const area = /** @type {HTMLTextAreaElement} */ (el("textarea", {
    id: `${id}-text`, rows: 5, spellcheck: false, autocomplete: "off",
  }));
  const file = /** @type {HTMLInputElement} */ (el("input", {
    type: "file", id: `${id}-file`, accept: ".csv,.txt,.tsv,text/csv,text/plain",
  }));
  let reads = 0;
  /** @type {ReturnType<typeof setTimeout>|undefined} */
  let resting;
  const begin = () => {
    clearTimeout(resting);
    changed();
    return ++reads;
  };
  const readNow = async (/** @type {number} */ of) => {
    const why = refusedText(area.value);
    if (why) refused(why);
    else await read(area.value, () => of === reads);
  };
  area.addEventListener("input", () => {
    const of = begin();
    resting = setTimeout(() => void readNow(of), REST_MS);
  });
  const brought = (/** @type {Event} */ event, /** @type {DataTransfer|null} */ data) => {
    const why = refusedText(data?.getData("text/plain") ?? "");
    if (!why) return;
    event.preventDefault();
    refused(why);
  };
  area.addEventListener("paste", event => brought(event, event.clipboardData));
  area.addEventListener("drop", event => brought(event, event.dataTransfer));
  file.addEventListener("change", async () => {
    const of = begin();
    const chosen = file.files?.[0];
    area.value = "";
    if (!chosen) return;
    if (chosen.size > LARGEST) return refused("TooLarge");
    const text = textOf(await chosen.arrayBuffer());
    if (of !== reads) return;
    if (text === null) return refused("Encoding");
    if (text.trim() === "") return refused("Empty");
    const why = refusedText(text);
    if (why) return refused(why);
    area.value = text;
    await readNow(of);
  });
  return { area, file };
}
