// The intakes of a page: each opens by its button, by a scan, or where its list is still on its way.

import { closeFirst } from "./dialogs.js";
import { Rack } from "./rack.js";
import { isOnItsWay } from "./racklist.js";
import { onScan } from "./wedge.js";

/** The intakes of this page, by their bench. @type {Map<string, Rack>} */
const racks = new Map();

/**
 * Opens a bench's intake.
 * @param {string} bench
 * @param {{scanned?: string, urgent?: boolean, isCut?: boolean}} [first] What was scanned, and how it goes.
 */
export function openRack(bench, first) {
  rackOf(bench)?.open(first);
}

/** @param {string} bench */
function rackOf(bench) {
  const button = document.querySelector("[data-rack]");
  if (!(button instanceof HTMLElement) || button.dataset.rack !== bench) return null;
  if (!racks.has(bench)) {
    /** @type {Record<string, string>} */
    const words = JSON.parse(button.dataset.words ?? "{}");
    racks.set(bench, new Rack(bench, key => words[key] ?? key));
  }
  return racks.get(bench) ?? null;
}

/** @returns {string|null} The bench whose intake this page offers. */
function benchHere() {
  const button = document.querySelector("[data-rack]");
  return button instanceof HTMLElement ? (button.dataset.rack ?? null) : null;
}

let isListening = false;

/** Makes a page's intake ready: it opens by its button, and where nothing else hears scans by the first of them. */
export function mountRack() {
  const bench = benchHere();
  for (const rack of racks.values()) if (rack.isOpen && rack.bench !== bench) rack.view.close();
  if (bench !== null && isOnItsWay(bench, localStorage)) openRack(bench);
  if (isListening) return;
  isListening = true;
  document.addEventListener("click", event => {
    const button = event.target instanceof Element ? event.target.closest("[data-rack]") : null;
    if (button instanceof HTMLElement) openRack(button.dataset.rack ?? "", { urgent: "urgent" in button.dataset });
  });
  const open = () => [...racks.values()].find(rack => rack.isOpen) ?? null;
  onScan(text => {
    const rack = open();
    const here = benchHere();
    if (rack) rack.take(text);
    else if (here !== null) openRack(here, { scanned: text });
  }, () => {
    const rack = open();
    const here = benchHere();
    if (rack) rack.cut();
    else if (here !== null) openRack(here, { isCut: true });
  }, {
    isEverywhere: () => open() !== null,
    // The bench page hears scans by itself: a label may be of a cartridge there.
    isOthers: () => open() === null && (benchHere() === null || document.querySelector("[data-screen]") !== null),
    unwanted: dialog => closeFirst(dialog, rackOf(benchHere() ?? "")?.w("ScanCloseFirst") ?? ""),
  });
}

/** Whether scans belong to an intake that is open. */
export function isRackOpen() {
  return [...racks.values()].some(rack => rack.isOpen);
}
