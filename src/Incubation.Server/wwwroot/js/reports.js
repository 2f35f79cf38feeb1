// What a tap says: commands made from what is offered. Pure.

/** @import { AlarmSnapshot, OfferSnapshot, ScreenCommand } from "./types.js" */

/** What says that something has happened; every other kind wants something to happen. */
const REPORT_KINDS = [
  "mixed", "loaded", "read-started", "cleared", "card-changed", "card-seen", "discarded", "temperature", "not-begun",
  "result", "several",
];

const DEVICE_KEY = "incubation.device";

/** Whether a command is a report: a fact, which is never dropped. @param {ScreenCommand} said */
export function isReport(said) {
  return REPORT_KINDS.includes(said.kind);
}

/** This screen's own name, kept in its storage. */
export function deviceName() {
  let name = localStorage.getItem(DEVICE_KEY);
  if (!name) {
    name = `tablet-${newId().slice(0, 8)}`;
    localStorage.setItem(DEVICE_KEY, name);
  }
  return name;
}

/** A name for a command. Plain HTTP pages beyond this machine have no randomUUID. */
export function newId() {
  if (crypto.randomUUID) return crypto.randomUUID();
  const bytes = crypto.getRandomValues(new Uint8Array(16));
  return [...bytes].map(b => b.toString(16).padStart(2, "0")).join("");
}

/**
 * A command with everything that it does not say left empty.
 * @param {string} kind
 * @param {{at: number, stated?: boolean}} when The first touch, or the stated time, in the server's time.
 * @param {Partial<ScreenCommand>} [says]
 * @returns {ScreenCommand}
 */
export function command(kind, when, says = {}) {
  return {
    id: newId(),
    kind,
    at: new Date(Math.round(when.at)).toISOString(),
    stated: when.stated ?? false,
    device: deviceName(),
    request: null,
    slot: null,
    reader: null,
    lot: null,
    hands: null,
    reason: null,
    words: null,
    value: null,
    noValue: null,
    inTime: null,
    alarm: null,
    of: null,
    ...says,
  };
}

/**
 * The report that an offer's button records.
 * @param {OfferSnapshot} offer
 * @param {{at: number, stated?: boolean}} when
 * @returns {ScreenCommand}
 */
export function reportOf(offer, when) {
  const { request, slot, reader, lot } = offer;
  switch (offer.kind) {
    case "mix": return command("mixed", when, { request });
    case "load": return command("loaded", when, slot ? { request, slot } : { request, reader });
    case "move": return command("read-started", when, { request, reader });
    case "clear": return command("cleared", when, { request, reader });
    case "card-change": return command("card-changed", when, { reader, lot });
    case "discard": return command("discarded", when, { request, reason: offer.reason ?? "window-closed" });
    default: throw new Error(`No report for ${offer.kind}.`);
  }
}

/**
 * How many last characters tell a lot from all others: at least three, or all of a shorter one.
 * @param {string} lot
 * @param {string[]} lots
 */
export function leastOf(lot, lots) {
  const wanted = lot.toUpperCase();
  const others = lots.map(l => l.toUpperCase()).filter(l => l !== wanted);
  let least = Math.min(3, wanted.length);
  while (least < wanted.length && others.some(l => l.endsWith(wanted.slice(-least)))) least++;
  return least;
}

/**
 * Whether what was typed or scanned names a lot: as many last characters as tell it from the others, the whole of it,
 * or a scanned element string that holds it after its lot prefix (10).
 * @param {string} typed
 * @param {string} lot
 * @param {string[]} lots
 */
export function namesLot(typed, lot, lots) {
  const said = typed.trim().toUpperCase();
  const wanted = lot.toUpperCase();
  if (said === wanted) return true;
  if (said.length >= leastOf(lot, lots) && wanted.endsWith(said)) return true;
  const scan = said.replace(/[()]/g, "");
  const at = scan.indexOf(`10${wanted}`);
  return at > 0 && (at + 2 + wanted.length === scan.length || scan[at + 2 + wanted.length] === "\u001d");
}
