// A pasted list or a file: shown before anything of it is on the list, each fault by line and column; then all or none.

/** @import { Rack } from "./rack.js" */
/** @import { ListFault } from "./racksend.js" */
import { el, setText } from "./dom.js";
import { fill } from "./format.js";
import { readText } from "./racksend.js";
import { tubesOf } from "./racktubes.js";

const TEMPLATE = "specimen-list.csv";
/** So many lines and faults are shown. */
const MOST_SHOWN = 12;
/** The byte-order mark of UTF-16 in either order, as its first two bytes. */
const UTF_16 = new Map([["fffe", "utf-16le"], ["feff", "utf-16be"]]);

/**
 * The text of a file; null where it is in no encoding that can be told.
 * @param {ArrayBuffer} bytes
 */
function textOf(bytes) {
  const first = [...new Uint8Array(bytes.slice(0, 2))].map(one => one.toString(16).padStart(2, "0")).join("");
  try {
    return new TextDecoder(UTF_16.get(first) ?? "utf-8", { fatal: true }).decode(bytes);
  } catch {
    return null;
  }
}

/**
 * A fault with where it is: its line, and its column as spreadsheets count them, by what the first line calls it.
 * @param {(key: string) => string} w
 * @param {ListFault} fault
 */
export function faultOf(w, { line, column, heading, sentence }) {
  return heading ? fill(w("FaultUnder"), line, column, heading, sentence) : fill(w("FaultAt"), line, column, sentence);
}

/**
 * Where a list is pasted, or a file of it chosen.
 * @param {string} id Begins the ids of both fields.
 * @param {(text: string, isStill: () => boolean) => Promise<void>} read Reads the list; told whether it is still the
 *   list that is in front of the person: of two lists the answer to the first may come last.
 * @param {() => void} unreadable Says that a file is in no encoding that can be told.
 */
export function listFields(id, read, unreadable) {
  const area = /** @type {HTMLTextAreaElement} */ (el("textarea", {
    id: `${id}-text`, rows: 5, spellcheck: false, autocomplete: "off",
  }));
  const file = /** @type {HTMLInputElement} */ (el("input", {
    type: "file", id: `${id}-file`, accept: ".csv,.txt,.tsv,text/csv,text/plain",
  }));
  let reads = 0;
  const readNow = () => {
    const of = ++reads;
    return read(area.value, () => of === reads);
  };
  area.addEventListener("input", () => void readNow());
  file.addEventListener("change", async () => {
    const chosen = file.files?.[0];
    const text = chosen ? textOf(await chosen.arrayBuffer()) : "";
    area.value = text ?? "";
    await readNow();
    if (text === null) unreadable();
  });
  return { area, file };
}

/**
 * The part of the sheet in which a list is pasted.
 * @param {Rack} rack
 * @param {() => void} close
 */
export function pastePart(rack, close) {
  const { w } = rack;
  const says = el("p", { className: "rack-read-says", role: "status" });
  const seen = el("ol", { className: "rack-read" });
  const put = /** @type {HTMLButtonElement} */ (el("button", {
    type: "button", className: "rack-button rack-save", disabled: true,
  }, w("PutAllNone")));
  const read = async (/** @type {string} */ list, /** @type {() => boolean} */ isStill) => {
    put.disabled = true;
    const found = list.trim() === "" ? null : await readText(rack.bench, list);
    if (!isStill()) return;
    seen.replaceChildren();
    if (!found) return setText(says, list.trim() === "" ? "" : w("ReadOffline"));
    const { faults, lines, report } = found;
    const shown = faults.length > 0
      ? faults.map(fault => faultOf(w, fault))
      : lines.map(line => [line.specimen, rack.view.assaysOf(line), line.urgent ? w("Urgent") : "",
        ...Object.values(line.lots ?? {}), line.bench ? fill(w("OnBench"), line.bench) : ""]
        .filter(Boolean).join(" · "));
    seen.replaceChildren(...shown.slice(0, MOST_SHOWN).map(text => el("li", {}, text)));
    if (shown.length > MOST_SHOWN) seen.append(el("li", {}, fill(w("AndMore"), shown.length - MOST_SHOWN)));
    const tubes = tubesOf(lines);
    setText(says, faults.length > 0 ? fill(w("ReadFaults"), faults.length)
      : fill(w(tubes < lines.length ? "ReadGoodTubes" : "ReadGood"), lines.length, tubes));
    setText(put, faults.length > 0 ? w("PutAllNone") : fill(w("PutAll"), tubes));
    put.disabled = faults.length > 0;
    put.onclick = () => {
      rack.list.takeAll(lines, report);
      rack.sayUntilTile(fill(w(tubes === 1 ? "PutOneSaid" : "PutAllSaid"), tubes));
      rack.changed();
      close();
    };
  };
  const { area, file } = listFields("rack", read, () => setText(says, w("ReadEncoding")));
  return el(
    "div",
    { className: "rack-paste" },
    el("label", { htmlFor: "rack-text" }, w("PasteHere")),
    area,
    el("label", { htmlFor: "rack-file" }, w("OrFile")),
    file,
    says,
    seen,
    el("p", { className: "rack-form-acts" }, put,
      el("a", { href: TEMPLATE, className: "rack-template", "download": TEMPLATE }, w("Template")),
      el("button", { type: "button", className: "rack-button", onclick: close }, w("Cancel"))),
  );
}
