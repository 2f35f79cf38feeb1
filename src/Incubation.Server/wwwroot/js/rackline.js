// One tube on a rack's list: what it is for, what is asked about it, and what can be done with it.

/** @import { Rack } from "./rack.js" */
/** @import { RackLine } from "./racklist.js" */
/** @import { RackDoubt } from "./racksend.js" */
import { byHttp } from "./deliver.js";
import { el } from "./dom.js";
import { fill } from "./format.js";
import { editForm } from "./rackedit.js";
import { commentsOf, leftOut, sourcesOf } from "./rackorders.js";
import { command } from "./reports.js";

/**
 * @param {Rack} rack
 * @param {RackLine} line
 * @param {RackDoubt[]} doubts
 * @param {"edit"|"reject"|null} doing What is being done with it.
 */
export function lineItem(rack, line, doubts, doing) {
  const { w, view } = rack;
  const act = (/** @type {string} */ text, /** @type {string} */ of, /** @type {() => void} */ onclick) =>
    el("button", { type: "button", className: "rack-button", "aria-label": fill(of, line.specimen), onclick }, text);
  const from = sourcesOf(line);
  const facts = [view.assaysOf(line), line.identifier, line.specimenType, line.takenOut ? w("OutOfStorage") : "",
    line.bench ? fill(w("OnBench"), line.bench) : "", lotsOf(line),
    from.length > 0 ? fill(w("OrderedBy"), from.join(", ")) : ""];
  return el(
    "li",
    { className: doubts.length > 0 ? "rack-row rack-row-asked" : "rack-row" },
    el(
      "div",
      { className: "rack-row-head" },
      el("span", { className: "rack-specimen" }, line.specimen),
      ...(line.urgent ? [el("span", { className: "rack-urgent-mark" }, `! ${w("Urgent")}`)] : []),
      el("span", { className: "rack-facts" }, facts.filter(Boolean).join(" · ")),
    ),
    ...commentsOf(line).map(comment => el("p", { className: "rack-comment" }, comment)),
    ...(leftOut(line).length > 0 ? [leftOutItem(rack, line)] : []),
    ...doubts.map(doubt => doubtItem(rack, line, doubt)),
    ...(doing === "edit" ? [editForm(rack, line)] : doing === "reject" ? [rejectForm(rack, line)] : [el(
      "div",
      { className: "rack-row-acts" },
      act(w("Edit"), w("EditOf"), () => view.work(line.id)),
      act(w("Remove"), w("RemoveOf"), () => remove(rack, line)),
      ...(doubts.length > 0 ? [act(w("Reject"), w("RejectOf"), () => view.work(line.id, "reject"))] : []),
    )]),
  );
}

/** The lots that were chosen for it, or that a file names. @param {RackLine} line */
function lotsOf(line) {
  return Object.values(line.lots ?? {}).join(", ");
}

/** @param {Rack} rack @param {RackLine} line */
function remove(rack, line) {
  rack.list.remove(line.id);
  rack.say(fill(rack.w("Removed"), line.specimen), true);
  rack.changed();
}

/**
 * What the tiles asked for beside an order, and one press that says it.
 * @param {Rack} rack
 * @param {RackLine} line
 */
function leftOutItem(rack, line) {
  const { w, view } = rack;
  const assays = leftOut(line);
  const names = view.assaysOf({ assays });
  return el(
    "div",
    { className: "rack-doubt" },
    el("p", {}, fill(w("LeftOut"), names)),
    el("button", {
      type: "button", className: "rack-button", "aria-label": fill(w("AddTooOf"), names, line.specimen),
      onclick: () => {
        rack.list.edit(line.id, { assays: [...line.assays, ...assays] });
        rack.changed();
      },
    }, fill(w("AddToo"), names)),
  );
}

/**
 * What of a tube that is for more can be left out to settle a question: the assay that stands for it elsewhere already;
 * null where that is not what is asked.
 * @param {Pick<RackLine, "assays">} line
 * @param {Pick<RackDoubt, "code">} doubt
 */
export function spareOf(line, { code }) {
  const assay = ["there:", "twice:"].flatMap(kind => code.startsWith(kind) ? [code.slice(kind.length)] : [])[0] ?? null;
  return assay !== null && line.assays.length > 1 && line.assays.includes(assay) ? assay : null;
}

/**
 * What is asked, with one press for each answer.
 * @param {Rack} rack
 * @param {RackLine} line
 * @param {RackDoubt} doubt
 */
function doubtItem(rack, line, doubt) {
  const { w } = rack;
  const answer = (/** @type {string} */ text, /** @type {() => void} */ act) => el("button", {
    type: "button", className: "rack-button",
    onclick: act,
  }, text);
  const spare = spareOf(line, doubt);
  return el(
    "div",
    { className: "rack-doubt" },
    el("p", {}, doubt.sentence),
    ...(spare ? [answer(fill(w("LeaveOut"), rack.view.assaysOf({ assays: [spare] })), () => {
      rack.list.edit(line.id, { assays: line.assays.filter(assay => assay !== spare) });
      rack.changed();
    })] : []),
    ...(doubt.instead ? [answer(fill(w("IsThat"), doubt.instead), () => {
      rack.list.become(line.id, doubt.instead ?? line.specimen);
      rack.changed();
    })] : []),
    ...(doubt.settle ? [answer(doubt.settle, () => rack.settle(doubt))] : []),
  );
}

/** @param {Rack} rack @param {RackLine} line */
function rejectForm(rack, line) {
  const { w, view } = rack;
  const wrong = el("p", { className: "rack-wrong", role: "alert", id: "rack-why-wrong" });
  const why = /** @type {HTMLInputElement} */ (el("input", {
    type: "text", id: "rack-why", autocomplete: "off", "aria-describedby": "rack-why-wrong",
  }));
  const form = el(
    "form",
    { className: "rack-form" },
    el("p", {}, fill(w("RejectText"), line.specimen)),
    el("p", {}, el("label", { htmlFor: "rack-why" }, w("RejectWhy")), why),
    wrong,
    el("p", { className: "rack-form-acts" },
      el("button", { type: "submit", className: "rack-button rack-save" }, w("RejectNow")),
      el("button", { type: "button", className: "rack-button", onclick: () => view.work(null) }, w("Cancel"))),
  );
  form.addEventListener("submit", event => {
    event.preventDefault();
    void reject(rack, line, why.value.trim(), sentence => {
      wrong.textContent = sentence;
      why.focus();
    });
  });
  return form;
}

/**
 * A specimen is rejected for each assay that it was scanned for; it leaves the list only where all of that stands in
 * the log.
 * @param {Rack} rack
 * @param {RackLine} line
 * @param {string} why
 * @param {(sentence: string) => void} refused
 */
async function reject(rack, line, why, refused) {
  const { w, view } = rack;
  if (why === "") return refused(w("RejectWhyMissing"));
  for (const assay of line.assays) {
    const said = command("reject-specimen", { at: rack.clock.now() }, { shown: line.specimen, assay, words: why });
    // Named by line and assay: pressed again after a lost answer it is said once.
    const answer = await byHttp(rack.bench, { ...said, id: `${line.id}-${line.assays.indexOf(assay)}` });
    if (!answer?.recorded) return refused(answer?.sentence ?? w("RejectOffline"));
  }
  view.at = null;
  rack.list.drop(line);
  rack.say(fill(w("Rejected"), line.specimen), true);
  rack.changed();
}
