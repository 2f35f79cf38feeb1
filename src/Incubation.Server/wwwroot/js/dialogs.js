// Questions that a tap can raise. Each is a native dialog that is not modal: it stands beside the alarm and never over
// it, and the rest of the page stays in reach. Escape and "Cancel" leave everything as it was, and the focus goes back
// to where it came from. One stands at a time.

import { fill } from "./format.js";
import { el, setText } from "./dom.js";
import { blip } from "./racksound.js";
import { leastOf, namesLot } from "./reports.js";

/** @import { BenchSnapshot } from "./types.js" */

/** How often what counts on is written anew. */
const TICK_MS = 250;
/** What gives way to the next dialog. @type {HTMLDialogElement|null} */
let standing = null;

export const FORM = "dialog-form";

/** @typedef {(key: string) => string} Words */

/**
 * Opens a dialog and gives back what was chosen, or null.
 * @template T
 * @param {Words} w
 * @param {string} title
 * @param {(done: (value: T) => void) => {body: (Node|string)[], record?: string, tick?: () => void}} build What is
 * asked; where it is a form, the words of the button that records it; what brings its times up to now.
 * @returns {Promise<T|null>}
 */
export function open(w, title, build) {
  return new Promise(resolve => {
    /** @type {T|null} */
    let chosen = null;
    const done = (/** @type {T} */ value) => {
      chosen = value;
      dialog.close();
    };
    const heading = el("h2", { id: `dialog-title-${Date.now()}`, className: "dialog-title" }, title);
    const cancel = el(
      "button",
      { type: "button", className: "side dialog-cancel", onclick: () => dialog.close() },
      w("Cancel"),
    );
    const dialog = /** @type {HTMLDialogElement} */ (
      el("dialog", { className: "screen-dialog", "aria-labelledby": heading.id }, heading)
    );
    const { body, record, tick } = build(done);
    const main = record ? [el("button", { type: "submit", className: "big dialog-main", "form": FORM }, record)] : [];
    // The foot stays in view, however long the question is.
    dialog.append(
      el("div", { className: "dialog-body" }, ...body),
      el("div", { className: "dialog-foot" }, cancel, ...main),
    );
    const ticker = tick ? setInterval(tick, TICK_MS) : undefined;
    dialog.addEventListener("close", () => {
      clearInterval(ticker);
      if (standing === dialog) standing = null;
      dialog.remove();
      resolve(chosen);
    });
    dialog.addEventListener("keydown", event => {
      if (event.key === "Escape") dialog.close();
    });
    standing?.close();
    standing = dialog;
    (document.querySelector(".bench-aside") ?? document.body).append(dialog);
    dialog.show();
    dialog.scrollIntoView?.({ block: "nearest" });
  });
}

/**
 * A scan came while a dialog asks for something else: it presses nothing there, and is to be made again.
 * @param {HTMLDialogElement} dialog
 * @param {string} sentence
 */
export function closeFirst(dialog, sentence) {
  blip(false);
  const said = dialog.querySelector(".dialog-no-scan");
  if (said) return setText(said, sentence);
  const foot = dialog.querySelector(".dialog-foot");
  const says = el("p", { className: `${foot ? "dialog-wrong" : "field-fault"} dialog-no-scan`, role: "alert" },
    sentence);
  // In view, however long the question is.
  if (foot) foot.prepend(says);
  else dialog.append(says);
}

/**
 * One of several answers.
 * @template T
 * @param {Words} w
 * @param {string} title
 * @param {string|null} text
 * @param {{label: string|(() => string), value: T, now?: () => T}[]} choices What counts on is a function: the words,
 * and the value as it is when it is pressed.
 * @returns {Promise<T|null>}
 */
export function choose(w, title, text, choices) {
  return open(w, title, done => {
    const wordsOf = (/** @type {string|(() => string)} */ label) => (typeof label === "string" ? label : label());
    const buttons = choices.map(c => el(
      "button",
      { type: "button", className: "side", onclick: () => done(c.now ? c.now() : c.value) },
      wordsOf(c.label),
    ));
    const counts = choices.some(c => typeof c.label !== "string");
    return {
      body: [
        ...(text ? [el("p", { className: "dialog-text" }, text)] : []),
        el(
          "div",
          { className: choices.length > 4 ? "dialog-choices dialog-choices-two" : "dialog-choices" },
          ...buttons,
        ),
      ],
      ...(counts ? { tick: () => choices.forEach((c, i) => setText(buttons[i], wordsOf(c.label))) } : {}),
    };
  });
}

/**
 * The lot of the card that is in: typed or scanned, compared with what is wanted where that is known.
 * @param {Words} w
 * @param {string|null} lot
 * @param {string[]} lots All lots that it could be mistaken for.
 * @returns {Promise<string|null>} The lot.
 */
export function askLot(w, lot, lots) {
  return open(w, w("LotTitle"), done => {
    const least = lot ? leastOf(lot, lots) : 1;
    const wrong = el("p", { className: "dialog-wrong", role: "alert", id: "lot-wrong" });
    const input = /** @type {HTMLInputElement} */ (
      el("input", {
        type: "text",
        className: "dialog-input",
        autocomplete: "off",
        autocapitalize: "characters",
        spellcheck: false,
        "data-takes-scan": "",
        "aria-describedby": "lot-wrong",
      })
    );
    const check = () => {
      const typed = input.value.trim();
      if (lot ? namesLot(typed, lot, lots) : typed.length > 0) done(lot ?? typed);
      else {
        wrong.textContent =
          !lot || typed === ""
            ? w("LotText")
            : lot.toUpperCase().endsWith(typed.toUpperCase())
              ? fill(w("LotMore"), least)
              : fill(w("LotWrong"), lot);
        input.setAttribute("aria-invalid", "true");
        input.select();
      }
    };
    const form = el("form", { method: "dialog", id: FORM },
      el("p", { className: "dialog-text" }, w("LotText")),
      el("label", { className: "dialog-label" }, fill(w("LotLabel"), least), input), wrong);
    form.addEventListener("submit", event => {
      event.preventDefault();
      check();
    });
    return { body: [form], record: w("LotRecord") };
  });
}

/**
 * A few words; empty only where they may be left out. Null where it was cancelled.
 * @param {Words} w
 * @param {string} title
 * @param {string|null} text
 * @param {boolean} [optional]
 * @returns {Promise<string|null>}
 */
export function askWords(w, title, text, optional = false) {
  return open(w, title, done => typed(w, text, w(optional ? "WordsOptional" : "WordsLabel"), { maxLength: 200 }, said =>
    said !== "" || optional ? { value: said } : { wrong: w("DiscardWordsNeeded") }, done));
}

/**
 * A number within limits.
 * @param {Words} w
 * @param {string} title
 * @param {string} label
 * @param {number} least
 * @param {number} most
 * @returns {Promise<number|null>}
 */
export function askNumber(w, title, label, least, most) {
  return open(w, title, done => typed(w, null, label, { inputMode: "decimal" }, said => {
    const number = Number(said.replace(",", "."));
    return said !== "" && number >= least && number <= most
      ? { value: number }
      : { wrong: fill(w("NumberWrong"), least, most) };
  }, done));
}

/**
 * A form with one input. What was typed is read when it is recorded.
 * @template T
 * @param {Words} w
 * @param {string|null} text
 * @param {string} label
 * @param {Record<string, unknown>} props
 * @param {(said: string) => {value: T}|{wrong: string}} read
 * @param {(value: T) => void} done
 * @param {string} [record] The words of the button that records it.
 */
export function typed(w, text, label, props, read, done, record = w("Record")) {
  const wrong = el("p", { className: "dialog-wrong", role: "alert", id: "typed-wrong" });
  const input = /** @type {HTMLInputElement} */ (
    el("input", {
      type: "text",
      className: "dialog-input",
      autocomplete: "off",
      "aria-describedby": "typed-wrong",
      ...props,
    })
  );
  const form = el(
    "form",
    { method: "dialog", id: FORM },
    ...(text ? [el("p", { className: "dialog-text" }, text)] : []),
    el("label", { className: "dialog-label" }, label, input),
    wrong,
  );
  form.addEventListener("submit", event => {
    event.preventDefault();
    const found = read(input.value.trim());
    if ("value" in found) return done(found.value);
    wrong.textContent = found.wrong;
    input.setAttribute("aria-invalid", "true");
    input.select();
  });
  return { body: [form], record };
}

const REASONS = [
  ["window-closed", "ReasonWindowClosed"],
  ["mixture-too-old", "ReasonMixtureTooOld"],
  ["well-overfilled", "ReasonWellOverfilled"],
  ["bubbles", "ReasonBubbles"],
  ["dropped", "ReasonDropped"],
  ["reader-fault", "ReasonReaderFault"],
  ["temperature", "ReasonTemperature"],
  ["power-cut", "ReasonPowerCut"],
  ["controls-failed", "ReasonControlsFailed"],
  ["withdrawn", "ReasonWithdrawn"],
  ["found-gone", "ReasonFoundGone"],
  ["other", "ReasonOther"],
];

/**
 * Which cartridge is thrown away, and why.
 * @param {Words} w
 * @param {{request: string, label: string}[]} cartridges
 * @param {string|null} request Chosen at first.
 * @param {string|null} reason Chosen at first.
 * @returns {Promise<{request: string, reason: string, words: string|null}|null>}
 */
export function askDiscard(w, cartridges, request, reason) {
  if (cartridges.length === 0) return choose(w, w("DiscardTitle"), w("DiscardNone"), []);
  return open(w, w("DiscardTitle"), done => {
    const wrong = el("p", { className: "dialog-wrong", role: "alert", id: "words-wrong" });
    const words = /** @type {HTMLInputElement} */ (
      el("input", { type: "text", className: "dialog-input", maxLength: 200, "aria-describedby": "words-wrong" })
    );
    const form = /** @type {HTMLFormElement} */ (el("form", { method: "dialog", id: FORM },
      radios(w("DiscardWhich"), "request", cartridges.map(c => [c.request, c.label]), request ?? cartridges[0].request),
      radios(w("DiscardWhy"), "reason", REASONS.map(([value, key]) => [value, w(key)]), reason ?? "dropped"),
      el("label", { className: "dialog-label" }, w("DiscardWords"), words), wrong,
      el("p", { className: "dialog-caution" }, w("DiscardCaution"))));
    form.addEventListener("submit", event => {
      event.preventDefault();
      const chosen = new FormData(form);
      const said = words.value.trim();
      if (chosen.get("reason") === "other" && said === "") {
        wrong.textContent = w("DiscardWordsNeeded");
        words.setAttribute("aria-invalid", "true");
        words.focus();
        return;
      }
      done({
        request: String(chosen.get("request")),
        reason: String(chosen.get("reason")),
        words: said === "" ? null : said,
      });
    });
    return { body: [form], record: w("DiscardRecord") };
  });
}

/**
 * @param {string} legend
 * @param {string} name
 * @param {string[][]} options
 * @param {string} chosen
 */
function radios(legend, name, options, chosen) {
  return el("fieldset", { className: "dialog-radios" }, el("legend", {}, legend),
    ...options.map(([value, label]) => el("label", { className: "dialog-radio" },
      el("input", { type: "radio", name, value, checked: value === chosen, required: true }), el("span", {}, label))));
}

/**
 * Cartridges that can be thrown away, as the bench believes them to lie.
 * @param {Words} w
 * @param {BenchSnapshot} snapshot
 */
export function cartridgesOf(w, snapshot) {
  const list = [
    ...snapshot.slots
      .filter(s => s.request)
      .map(s => ({ request: String(s.request), label: fill(w("InSlot"), s.slot, s.specimen ?? "") })),
    ...snapshot.readers
      .filter(r => r.request)
      .map(r => ({ request: String(r.request), label: fill(w("InReader"), r.reader, r.specimen ?? "") })),
  ];
  const known = new Set(list.map(c => c.request));
  for (const offer of snapshot.offers)
    if ((offer.kind === "load" || offer.kind === "discard") && offer.request && !known.has(offer.request))
      list.push({ request: offer.request, label: fill(w("Mixture"), offer.specimen ?? offer.request) });
  for (const alarm of snapshot.alarms)
    if (!list.some(c => c.request === alarm.request) && alarm.actions.includes("discard"))
      list.push({ request: alarm.request, label: alarm.title });
  return list;
}

