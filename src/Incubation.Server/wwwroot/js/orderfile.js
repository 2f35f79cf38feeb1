// A list or a file of orders for the worklist: shown before anything of it is taken, each fault by line and column;
// then all or none. The same list again is the same orders.

import { el, setText, show } from "./dom.js";
import { fill } from "./format.js";
import { askReading, listFields, refusalIn, whyUnread } from "./listfields.js";
import { faultOf } from "./rackpaste.js";

const ADDRESS = "api/v1/worklist";
const TEMPLATE = "order-list.csv";
const PATIENCE_MS = 20_000;
/** So many lines and faults are shown. */
const MOST_SHOWN = 12;
const OK = 200;
const CREATED = 201;
/** What is said where a list is not read. @type {Record<Refusal, string>} */
const REFUSALS = {
  TooLarge: "FileTooLarge", LongLine: "FileLongLine", Empty: "FileEmpty", Encoding: "FileEncoding", Busy: "FileBusy",
  NotNow: "FileNotNow", Offline: "FileOffline",
};
/** What a person may read of an answer that is no success. */
const FAULTS_SHOWN = 5;

/** @import { Refusal } from "./listfields.js" */
/** @import { ListFault } from "./racksend.js" */
/** @typedef {{number: string, specimen: string, assays: string[], priority: string|null}} OrderIn */

/**
 * @param {string} path
 * @param {unknown} said
 * @returns {Promise<{status: number, body: any}>} Status 0 where no answer comes.
 */
async function post(path, said) {
  try {
    const answer = await fetch(ADDRESS + path, {
      method: "POST", headers: { "Content-Type": "application/json" }, body: JSON.stringify(said),
      signal: AbortSignal.timeout(PATIENCE_MS),
    });
    return { status: answer.status, body: await answer.json().catch(() => null) };
  } catch {
    return { status: 0, body: null };
  }
}

/**
 * What is read, in lines for people.
 * @param {(key: string) => string} w
 * @param {{orders: OrderIn[], faults: ListFault[]}} read
 */
export function shownOf(w, { orders, faults }) {
  const lines = faults.length > 0
    ? faults.map(fault => faultOf(w, fault))
    : orders.map(order => [order.specimen, order.assays.join(", "), order.priority === "urgent" ? w("Urgent") : "",
      order.number].filter(Boolean).join(" · "));
  const more = lines.length - MOST_SHOWN;
  return [...lines.slice(0, MOST_SHOWN), ...(more > 0 ? [fill(w("FileMore"), more)] : [])];
}

/**
 * Why orders were not taken, in a sentence.
 * @param {(key: string) => string} w
 * @param {any} body
 */
export function refusalOf(w, body) {
  const faults = Object.values(body?.errors ?? {}).flat().slice(0, FAULTS_SHOWN);
  return faults.length > 0 ? faults.join(" ") : (body?.detail ?? w("FileOffline"));
}

/**
 * Makes the sheet in which a list is pasted.
 * @param {(key: string) => string} w
 */
function build(w) {
  const says = el("p", { className: "rack-read-says", role: "status" });
  const seen = el("ol", { className: "rack-read", hidden: true });
  const put = /** @type {HTMLButtonElement} */ (el("button", {
    type: "button", className: "rack-button rack-save", disabled: true,
  }, w("FilePutNone")));
  /** @type {OrderIn[]} */
  let orders = [];
  const ofLists = (/** @type {Refusal} */ why) => w(REFUSALS[why]);
  const refused = (/** @type {Refusal} */ why) => {
    setText(says, refusalIn(ofLists, why));
    if (put.disabled) show(seen, false);
  };
  const read = async (/** @type {string} */ list, /** @type {() => boolean} */ isStill) => {
    const answer = list.trim() === "" ? null
      : await askReading(() => post("/read", { text: list }), isStill, () => refused("Busy"));
    if (!isStill()) return;
    const found = answer?.status === OK ? answer.body : null;
    orders = found?.orders ?? [];
    const lines = found ? shownOf(w, found) : [];
    seen.replaceChildren(...lines.map(text => el("li", {}, text)));
    show(seen, lines.length > 0);
    setText(says, !answer ? "" : !found ? whyUnread(ofLists, answer)
      : fill(w(found.faults.length > 0 ? "FileFaults" : "FileGood"), found.faults.length || orders.length));
    setText(put, orders.length > 0 ? fill(w("FilePut"), orders.length) : w("FilePutNone"));
    put.disabled = orders.length === 0;
  };
  const { area, file } = listFields("order", {
    changed: () => {
      [put.disabled, orders] = [true, []];
      setText(put, w("FilePutNone"));
    },
    read,
    refused,
  });
  put.addEventListener("click", async () => {
    put.disabled = true;
    const { status, body } = await post("", { source: w("FileSource"), orders });
    const isTaken = status === CREATED;
    const fresh = isTaken ? body.orders.filter((/** @type {{isNew: boolean}} */ one) => one.isNew).length : 0;
    setText(says, isTaken ? fill(w("FileTaken"), fresh, body.orders.length - fresh) : refusalOf(w, body));
    put.disabled = isTaken;
    if (!isTaken) return;
    [area.value, file.value, orders] = ["", "", []];
    show(seen, false);
    setText(put, w("FilePutNone"));
  });
  const dialog = /** @type {HTMLDialogElement} */ (el(
    "dialog",
    { className: "rack", "aria-labelledby": "order-file-title" },
    el(
      "div",
      { className: "rack-body" },
      el("header", { className: "rack-head" },
        el("h2", { id: "order-file-title", tabIndex: -1 }, w("FileTitle")),
        el("button", { type: "button", className: "rack-button rack-close", onclick: () => dialog.close() },
          w("FileClose"))),
      el("p", {}, w("FileText")),
      el("div", { className: "rack-paste" },
        el("label", { htmlFor: "order-text" }, w("FilePaste")), area,
        el("label", { htmlFor: "order-file" }, w("FileChoose")), file,
        says, seen,
        el("p", { className: "rack-form-acts" }, put,
          el("a", { href: TEMPLATE, className: "rack-template", "download": TEMPLATE }, w("FileTemplate")))),
    ),
  ));
  dialog.addEventListener("close", () => dialog.remove());
  return dialog;
}

let isListening = false;

/** Makes the page's button ready; once, however often it is asked. */
export function mountOrderFile() {
  if (isListening) return;
  isListening = true;
  document.addEventListener("click", event => {
    const button = event.target instanceof Element ? event.target.closest("[data-order-file]") : null;
    if (!(button instanceof HTMLElement)) return;
    /** @type {Record<string, string>} */
    const words = JSON.parse(button.dataset.words ?? "{}");
    const dialog = build(key => words[key] ?? key);
    document.body.append(dialog);
    dialog.showModal();
    dialog.querySelector("h2")?.focus();
  });
}
