// A pasted list or a file: shown before anything of it is on the list, each fault by line and column; then all or none.

/** @import { Rack } from "./rack.js" */
/** @import { Refusal } from "./listfields.js" */
/** @import { ListFault, RackRead } from "./racksend.js" */
import { el, setText } from "./dom.js";
import { fill } from "./format.js";
import { askReading, listFields, refusalIn, whyUnread } from "./listfields.js";
import { readText } from "./racksend.js";
import { tubesOf } from "./racktubes.js";

const TEMPLATE = "specimen-list.csv";
/** So many lines and faults are shown. */
const MOST_SHOWN = 12;
const OK = 200;
/** What is said where a list is not read. @type {Record<Refusal, string>} */
const REFUSALS = {
  TooLarge: "ReadTooLarge", LongLine: "ReadLongLine", Empty: "ReadEmpty", Encoding: "ReadEncoding", Busy: "ReadBusy",
  NotNow: "ReadNotNow", Offline: "ReadOffline",
};

/**
 * A fault with where it is: its line, and its column as spreadsheets count them, by what the first line calls it.
 * @param {(key: string) => string} w
 * @param {ListFault} fault
 */
export function faultOf(w, { line, column, heading, sentence }) {
  return heading ? fill(w("FaultUnder"), line, column, heading, sentence) : fill(w("FaultAt"), line, column, sentence);
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
  const ofLists = (/** @type {Refusal} */ why) => w(REFUSALS[why]);
  const refused = (/** @type {Refusal} */ why) => {
    setText(says, refusalIn(ofLists, why));
    // What was read before stays where it is still there to be put on the list.
    if (put.disabled) seen.replaceChildren();
  };
  const read = async (/** @type {string} */ list, /** @type {() => boolean} */ isStill) => {
    const isEmpty = list.trim() === "";
    const answer = isEmpty ? null
      : await askReading(() => readText(rack.bench, list), isStill, () => refused("Busy"));
    if (!isStill()) return;
    seen.replaceChildren();
    if (answer?.status !== OK) return setText(says, answer ? whyUnread(ofLists, answer) : "");
    const { faults, lines, report } = /** @type {RackRead} */ (answer.body);
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
  const { area, file } = listFields("rack", {
    changed: () => {
      put.disabled = true;
      setText(put, w("PutAllNone"));
    },
    read,
    refused,
  });
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
