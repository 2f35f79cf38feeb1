// What a scanned label means for the step that is due. Pure.

/** @import { BenchSnapshot, LabelSnapshot, OfferSnapshot } from "./types.js" */
import { fill } from "./format.js";

/** What the code of every cartridge's label begins with. */
const PREFIX = "CR.";

/** Whether a scan is a cartridge's label. @param {string} scanned */
export function isLabel(scanned) {
  return scanned.trim().toUpperCase().startsWith(PREFIX);
}

/**
 * What a box's code begins with: the sign of its symbology, the separator between its fields, or an item number with
 * its check digit and a field behind it (GS1 General Specifications: (01), 14 digits; as Gs1Reader takes them).
 */
const BOX = /^\](?:C1|e[012]|d2|Q3)|\u241d|\u001d|^\(?01\)?(\d{14})(?=\(?(?:10|11|15|17|21)\)?.)/;

/** Whether a scan is the code of a box, never of a tube. @param {string} scanned */
export function isBox(scanned) {
  const found = BOX.exec(scanned.trim());
  return found !== null && (found[1] === undefined || hasCheckDigit(found[1]));
}

/** The last digit makes the sum a multiple of ten, every second one weighing three. @param {string} digits */
function hasCheckDigit(digits) {
  return [...digits].reverse().reduce((sum, digit, at) => sum + Number(digit) * (at % 2 === 0 ? 1 : 3), 0) % 10 === 0;
}

/** Whether a scan may be a specimen that nothing here knows yet. @param {string} scanned */
export function isSpecimen(scanned) {
  return !isLabel(scanned) && /^[!-~]{1,64}$/.test(scanned.trim());
}

/**
 * The label of this batch that was scanned.
 * @param {BenchSnapshot} snapshot
 * @param {string} scanned
 * @returns {LabelSnapshot|undefined}
 */
export function labelOf(snapshot, scanned) {
  const text = scanned.trim().toUpperCase();
  return snapshot.labels.find(label => label.code.toUpperCase() === text);
}

/**
 * A cartridge by its specimen; by where it is, or with its assay, where another is of the same specimen.
 * @param {(key: string) => string} w
 * @param {BenchSnapshot} snapshot
 * @param {string} request
 * @param {string|null} other From which it must be told.
 */
export function nameOf(w, snapshot, request, other) {
  const of = (/** @type {string|null} */ one) => snapshot.labels.find(label => label.request === one)?.specimen;
  const name = of(request);
  return name !== undefined && name !== of(other) ? name : whose(w, snapshot, request);
}

/**
 * Holds a scan against what is due.
 * @param {(key: string) => string} w
 * @param {BenchSnapshot} snapshot
 * @param {OfferSnapshot[]} offers What each pair of hands may do next.
 * @param {OfferSnapshot|null} due What the card shows.
 * @param {string} scanned
 * @returns {{offer: OfferSnapshot|null, sentence: string}} The offer of the cartridge that was scanned, or null where
 * it is not due; and what to say.
 */
export function judgeLabel(w, snapshot, offers, due, scanned) {
  const text = scanned.trim();
  const no = (/** @type {string} */ sentence) => ({ offer: null, sentence });
  const label = labelOf(snapshot, text);
  if (!label) {
    const shown = text.length > 40 ? `${text.slice(0, 40)}…` : text;
    if (!isLabel(text)) {
      const of = snapshot.labels.filter(one => !one.over && one.specimen.toUpperCase() === text.toUpperCase());
      return no(of.length === 0 ? fill(w("LabelNone"), shown)
        : fill(w("LabelTube"), shown, of.map(one => whose(w, snapshot, one.request)).join(", ")));
    }
    const isHere = text.toUpperCase().startsWith(`${PREFIX}${snapshot.bench}.`.toUpperCase());
    return no(isHere ? fill(w("LabelEarlier"), shown) : fill(w("LabelOtherBench"), shown));
  }
  if (label.over) return no(fill(w("LabelOver"), label.specimen));
  const offer = offers.find(o => o.request === label.request);
  if (offer) return { offer, sentence: fill(w("LabelRight"), label.specimen, offer.title) };
  const scannedIs = whose(w, snapshot, label.request);
  if (!due) return no(fill(w("LabelNothingDue"), scannedIs));
  if (!due.request) return no(fill(w("LabelCardDue"), scannedIs, due.title));
  return no(fill(w("LabelWrong"), scannedIs, whose(w, snapshot, due.request)));
}

/**
 * A cartridge, as a person points at it: by its slot, the reader, or its specimen and assay.
 * @param {(key: string) => string} w
 * @param {BenchSnapshot} snapshot
 * @param {string} request
 */
function whose(w, snapshot, request) {
  const slot = snapshot.slots.find(s => s.request === request);
  if (slot) return fill(w("LabelOfSlot"), slot.slot);
  const reader = snapshot.readers.find(r => r.request === request);
  if (reader) return fill(w("LabelOfReader"), reader.reader);
  const label = snapshot.labels.find(l => l.request === request);
  return fill(w("LabelOfSpecimen"), label?.specimen ?? request, label?.assay ?? "");
}
